"""Which site a command is about."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.cli.site_argument import NoSiteError, site_directory


def test_the_named_directory_is_taken(tmp_path: Path) -> None:
    """Where it has a site."""
    (tmp_path / "site.yaml").touch()
    assert site_directory(tmp_path) == tmp_path


def test_config_is_the_first_choice(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the directory one stands in."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "config").mkdir()
    (tmp_path / "config" / "site.yaml").touch()
    assert site_directory(None) == Path("config")


@pytest.mark.parametrize("name", ["nowhere", "a\0b", "x" * 5000])
def test_a_directory_without_a_site_is_said_to_be_one(tmp_path: Path, name: str) -> None:
    """Whatever it is called."""
    with pytest.raises(NoSiteError, match=r"there is no .*site\.yaml; name the directory"):
        site_directory(tmp_path / name)


def test_without_any_both_places_are_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where one stands first, then where a service keeps its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(
        "bridge.cli.site_argument.DEFAULTS", (Path("config"), tmp_path / "lampwright")
    )
    with pytest.raises(NoSiteError, match=r"no config/site\.yaml nor .*/lampwright/site\.yaml; "):
        site_directory(None)
    (tmp_path / "lampwright").mkdir()
    (tmp_path / "lampwright" / "site.yaml").touch()
    assert site_directory(None) == tmp_path / "lampwright"
