"""Copies of the good site with a mistake in them."""

from __future__ import annotations

import shutil
from pathlib import Path

from bridge.engine.site import Site
from bridge.settings.load import load_site
from bridge.settings.problems import SettingsError

HERE = Path(__file__).parent
GOOD = HERE / "good"
BAD = HERE / "bad"
EXPECTED = "expected.txt"

#: A file of the good site, a text in it, and what stands there instead.
Edit = tuple[str, str, str]


def copy_of_good(folder: Path) -> Path:
    """A copy of the good site within a folder."""
    site = folder / "site"
    shutil.copytree(GOOD, site)
    return site


def overlaid(folder: Path, name: str) -> Path:
    """The good site with the files of a bad one over it."""
    site = copy_of_good(folder)
    shutil.copytree(BAD / name, site, dirs_exist_ok=True, ignore=shutil.ignore_patterns(EXPECTED))
    return site


def edited(folder: Path, *edits: Edit) -> Path:
    """The good site with some texts replaced."""
    site = copy_of_good(folder)
    for file, old, new in edits:
        path = site / file
        text = path.read_text("utf-8")
        assert text.count(old) >= 1, f"{old!r} is not in {file}"
        path.write_text(text.replace(old, new, 1), "utf-8")
    return site


def load_edited(folder: Path, *edits: Edit) -> Site:
    """The good site, loaded with some texts replaced."""
    return load_site(edited(folder, *edits))


def lines_of(site: Path) -> list[str]:
    """The problems of a site, its own path left out."""
    try:
        load_site(site)
    except SettingsError as error:
        return [line.replace(f"{site}/", "SITE/") for line in error.lines()]
    return []


def wrong(folder: Path, *edits: Edit) -> list[str]:
    """The problems of the good site with some texts replaced."""
    return lines_of(edited(folder, *edits))
