"""The SITE argument that most commands take."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from bridge.errors import LampwrightError

DEFAULTS: Final = (Path("config"), Path("/etc/lampwright"))


class NoSiteError(LampwrightError):
    """There is no site where one was expected."""

    def __init__(self, tried: tuple[Path, ...]) -> None:
        places = " nor ".join(f"{path}/site.yaml" for path in tried)
        super().__init__(
            f"no site: there is no {places}; name the directory that has site.yaml, "
            "as SITE or, where other words are bare, as --site SITE"
        )


def add_site(parser: argparse.ArgumentParser) -> None:
    """Add the argument."""
    parser.add_argument(
        "site",
        metavar="SITE",
        nargs="?",
        type=Path,
        help="the site's directory (default: config here, then /etc/lampwright)",
    )


def site_directory(given: Path | None) -> Path:
    """The directory meant, or ``NoSiteError``."""
    tried = DEFAULTS if given is None else (given,)
    for path in tried:
        if _has_site(path):
            return path
    raise NoSiteError(tried)


def _has_site(directory: Path) -> bool:
    try:
        return (directory / "site.yaml").is_file()
    except OSError:  # not ours to look into, or a name that no directory can have
        return False
