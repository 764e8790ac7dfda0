"""One daemon a site: two would fight over the same lights.

A site is locked by its own directory, which every process that runs it can open whatever its user
and environment, and which need not be writable. The system lets go however the process ends.
"""

from __future__ import annotations

import fcntl
import os
import time
from pathlib import Path
from typing import Final

from bridge.errors import LampwrightError

#: A dry run that looks whether a daemon runs holds the lock for an instant; a daemon outwaits it.
_TRIES: Final = 6
_PAUSE_S: Final = 0.02

_DIRECTORY: Final = os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC
_FILE: Final = os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW


class AlreadyRunningError(LampwrightError):
    """Another process holds the lock of this site."""

    def __init__(self, directory: Path, process: str) -> None:
        by = f"process {process}" if process else "another process"
        super().__init__(
            f"{directory}: this site is already run by {by}; "
            "stop that one first, or look with: lampwright run --dry-run"
        )


class CannotLockError(LampwrightError):
    """It cannot be locked, so nobody can know who else runs this site."""

    def __init__(self, path: Path, error: OSError) -> None:
        why = (error.strerror or str(error)).lower()
        super().__init__(
            f"{path}: cannot be locked: {why}; a site must be in a directory that its user can "
            "read, on a file system that has locks"
        )


class Lock:
    """A directory or a file that one process holds. Make one with ``site_lock``, ``file_lock``."""

    def __init__(self, path: Path, flags: int) -> None:
        self._path = path
        self._flags = flags
        self._descriptor = -1

    def take(self) -> None:
        """Take the lock, or raise ``AlreadyRunningError`` or ``CannotLockError``."""
        try:
            descriptor = os.open(self._path, self._flags, 0o600)
        except OSError as error:
            raise CannotLockError(self._path, error) from None
        try:
            is_ours = _locked(descriptor)
        except OSError as error:
            os.close(descriptor)
            raise CannotLockError(self._path, error) from None
        if not is_ours:
            holder = _holder(os.fstat(descriptor))
            os.close(descriptor)
            raise AlreadyRunningError(self._path, holder)
        self._descriptor = descriptor

    def held_elsewhere(self) -> bool:
        """Whether a process holds it now; a lock that we may not look at counts as held."""
        try:
            descriptor = os.open(self._path, os.O_RDONLY | os.O_CLOEXEC)
        except FileNotFoundError:
            return False
        except OSError:
            # Whoever may look at it may be running, and a look that polls would be one too many.
            return True
        try:
            fcntl.flock(descriptor, fcntl.LOCK_SH | fcntl.LOCK_NB)
        except OSError:
            return True
        finally:
            os.close(descriptor)
        return False

    def release(self) -> None:
        """Let go."""
        if self._descriptor >= 0:
            os.close(self._descriptor)
            self._descriptor = -1


def site_lock(directory: Path) -> Lock:
    """The lock of a site: its directory. Nothing is written there."""
    return Lock(directory, _DIRECTORY)


def file_lock(path: Path) -> Lock:
    """The lock of what lies beside other things in its directory: a file of its own."""
    return Lock(path, _FILE)


def _locked(descriptor: int) -> bool:
    for tries in range(_TRIES):
        if tries:
            time.sleep(_PAUSE_S)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            continue
        return True
    return False


def _holder(locked: os.stat_result) -> str:
    """The number of the process that holds it, or nothing where the system does not tell."""
    try:
        lines = Path("/proc/locks").read_text("ascii").splitlines()
    except (OSError, UnicodeDecodeError):
        return ""
    # proc_locks(5): "1: FLOCK  ADVISORY  WRITE 4711 fe:00:1234 0 EOF", the device in hexadecimal.
    # Some file systems number their devices otherwise there; the process is then not told.
    device = f"{os.major(locked.st_dev):02x}:{os.minor(locked.st_dev):02x}:{locked.st_ino}"
    for line in lines:
        words = line.split()
        if "FLOCK" in words and "WRITE" in words and device in words and "->" not in words:
            number = words[words.index(device) - 1]
            return number if number.isdecimal() and number != "0" else ""
    return ""
