"""Where a site's daemon is reached on its own machine; the daemon and the commands ask here.

The name is made of the site's place, so that two sites never meet. The first place is where a
daemon listens; a command looks in each, because a person does not have the service's environment.
"""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from bridge.errors import LampwrightError

#: Where the unit's RuntimeDirectory= lies, which only the unit is told of.
OF_THE_UNIT: Final = Path("/run/lampwright")
#: Within this a user without a runtime directory has one of their own.
SHARED: Final = Path("/tmp")  # noqa: S108 - what is made there is private, and looked at first


class NotPrivateError(LampwrightError):
    """A directory that ought to be the user's own is not."""

    def __init__(self, folder: Path, why: str) -> None:
        super().__init__(
            f"{folder}: {why}: whoever can write there could pose as the daemon; remove it, or "
            "name a directory of your own in RUNTIME_DIRECTORY"
        )


def socket_path(directory: Path, environment: Mapping[str, str]) -> Path:
    """Where a daemon with this environment listens for the site in ``directory``."""
    return socket_places(directory, environment)[0]


def socket_places(directory: Path, environment: Mapping[str, str]) -> tuple[Path, ...]:
    """Where its daemon may listen: that of this environment first, then the unit's."""
    digest = hashlib.sha256(os.fsencode(directory.resolve())).hexdigest()[:12]
    name = f"lampwright-{digest}.sock"
    # systemd.exec(5): several directories of a unit are separated by colons.
    runtime = environment.get("RUNTIME_DIRECTORY", "").partition(":")[0]
    own = runtime or environment.get("XDG_RUNTIME_DIR", "")
    folder = Path(own) if own else private_folder()
    return tuple(dict.fromkeys((folder / name, OF_THE_UNIT / name, private_folder() / name)))


def private_folder() -> Path:
    """The user's own within a directory that everybody shares."""
    return SHARED / f"lampwright-{os.getuid()}"


def make_private(folder: Path) -> None:
    """Make the user's own folder where it is missing; raises ``NotPrivateError`` or ``OSError``."""
    folder.mkdir(mode=0o700, exist_ok=True)
    check_private(folder)


def check_private(folder: Path) -> None:
    """Raise ``NotPrivateError`` where somebody else could have put something there."""
    found = folder.lstat()
    if not stat.S_ISDIR(found.st_mode):
        raise NotPrivateError(folder, "is no directory")
    if found.st_uid != os.getuid():
        raise NotPrivateError(folder, f"belongs to user {found.st_uid}")
    if found.st_mode & 0o077:
        raise NotPrivateError(folder, "is open to others")
