"""Where daemon and commands meet."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from bridge.service.socket_path import (
    NotPrivateError,
    check_private,
    make_private,
    private_folder,
    socket_path,
    socket_places,
)

FOLDERS = [
    ({"RUNTIME_DIRECTORY": "/run/lampwright"}, "/run/lampwright"),
    ({"RUNTIME_DIRECTORY": "/run/a:/run/b", "XDG_RUNTIME_DIR": "/run/user/7"}, "/run/a"),
    ({"XDG_RUNTIME_DIR": "/run/user/7"}, "/run/user/7"),
    ({"XDG_RUNTIME_DIR": "", "RUNTIME_DIRECTORY": ""}, str(private_folder())),
    ({}, str(private_folder())),
]


@pytest.mark.parametrize(("environment", "folder"), FOLDERS)
def test_a_daemon_listens_in_its_own_directory(
    environment: dict[str, str], folder: str, tmp_path: Path
) -> None:
    """The service's, else the user's, else a private one in the temporary directory."""
    assert str(socket_path(tmp_path, environment).parent) == folder


def test_a_command_looks_where_the_unit_listens_too(tmp_path: Path) -> None:
    """A person has not the unit's environment, and each place is looked at once."""
    unit, user = {"RUNTIME_DIRECTORY": "/run/lampwright"}, {"XDG_RUNTIME_DIR": "/run/user/7"}
    assert socket_path(tmp_path, unit) in socket_places(tmp_path, user)
    assert socket_path(tmp_path, {}) in socket_places(tmp_path, user)
    assert len(socket_places(tmp_path, user)) == 3
    assert len(socket_places(tmp_path, unit)) == len(socket_places(tmp_path, {})) == 2


def test_a_site_is_the_same_by_every_way_to_it(tmp_path: Path) -> None:
    """And no other is."""
    site, other = tmp_path / "club", tmp_path / "loft"
    site.mkdir()
    (tmp_path / "way").symlink_to(site)
    ways = {socket_path(way, {}) for way in (site, tmp_path / "way", site / ".." / "club")}
    assert ways == {socket_path(site, {})} != {socket_path(other, {})}
    relative = Path(os.path.relpath(site))
    assert socket_path(relative, {}) == socket_path(site, {})


def test_its_name_is_short_enough_for_a_socket(tmp_path: Path) -> None:
    """unix(7): 108 bytes, of which a runtime directory has some twenty."""
    assert len(socket_path(tmp_path, {}).name) < 64


def test_a_private_folder_is_made_private(tmp_path: Path) -> None:
    """And one that is there already is left as it is."""
    folder = tmp_path / "own"
    make_private(folder)
    make_private(folder)
    assert folder.stat().st_mode & 0o777 == 0o700


def test_a_folder_that_others_can_open_is_refused(tmp_path: Path) -> None:
    """Somebody may have made it first."""
    folder = tmp_path / "open"
    folder.mkdir()
    folder.chmod(0o750)
    with pytest.raises(NotPrivateError, match=r"open: is open to others: .* remove it, or name"):
        make_private(folder)


def test_a_way_to_somewhere_else_is_refused(tmp_path: Path) -> None:
    """Nor may it lead away, nor be a file."""
    (tmp_path / "own").mkdir(mode=0o700)
    (tmp_path / "way").symlink_to(tmp_path / "own")
    (tmp_path / "file").touch(mode=0o600)
    for name in ("way", "file"):
        with pytest.raises(NotPrivateError, match="is no directory"):
            check_private(tmp_path / name)


def test_a_folder_of_somebody_else_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever its mode."""
    folder = tmp_path / "own"
    make_private(folder)
    user = os.getuid()
    monkeypatch.setattr("os.getuid", lambda: user + 1)
    with pytest.raises(NotPrivateError, match=f"belongs to user {user}"):
        check_private(folder)
