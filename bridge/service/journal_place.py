"""Where a site's journal lies."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Mapping
from pathlib import Path

#: In the directory that systemd gives a unit for its state.
OF_THE_SERVICE = "lampwright.db"


def journal_path(directory: Path, environment: Mapping[str, str]) -> Path:
    """The journal of the site in ``directory``: the service's own, else one in the user's state.

    systemd.exec(5), ``StateDirectory=``: several are separated by colons. XDG Base Directory
    Specification: a path there that is not absolute is to be ignored.
    """
    of_service = environment.get("STATE_DIRECTORY", "").partition(":")[0]
    if of_service:
        return Path(of_service) / OF_THE_SERVICE
    of_user = environment.get("XDG_STATE_HOME", "")
    folder = Path(of_user) if Path(of_user).is_absolute() else _home(environment) / ".local/state"
    name = hashlib.sha256(os.fsencode(directory.resolve())).hexdigest()[:12]
    return folder / "lampwright" / f"{name}.db"


def _home(environment: Mapping[str, str]) -> Path:
    return Path(environment.get("HOME") or "/nonexistent")
