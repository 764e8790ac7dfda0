"""One daemon a site: two would fight over the same lights."""

from __future__ import annotations

import fcntl
import hashlib
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from bridge.errors import LampwrightError


class AlreadyRunningError(LampwrightError):
    """Another process runs this site."""

    def __init__(self, directory: Path, process: str) -> None:
        super().__init__(
            f"{directory}: this site is already run by process {process or '?'}; "
            "stop that one first, or look with: lampwright run --dry-run"
        )


class CannotLockError(LampwrightError):
    """The lock's file cannot be made, so nobody can know who else runs this site."""

    def __init__(self, path: Path, error: OSError) -> None:
        why = (error.strerror or str(error)).lower()
        super().__init__(
            f"{path}: cannot be locked: {why}; name a directory that can be written "
            "in RUNTIME_DIRECTORY"
        )


def lock_path(directory: Path, environment: Mapping[str, str]) -> Path:
    """A site's lock: in the service's runtime directory, else in the temporary one."""
    name = hashlib.sha256(os.fsencode(directory.resolve())).hexdigest()[:12]
    runtime = environment.get("RUNTIME_DIRECTORY") or environment.get("XDG_RUNTIME_DIR")
    # systemd.exec(5): several directories of a unit are separated by colons.
    runtime = runtime.partition(":")[0] if runtime else None
    folder = Path(runtime or tempfile.gettempdir())
    return folder / f"lampwright-{os.getuid()}-{name}.lock"


class SiteLock:
    """Held while a site runs; the system lets go of it however the process ends."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._descriptor = -1

    def take(self, directory: Path) -> None:
        """Take the lock, or raise ``AlreadyRunningError`` or ``CannotLockError``."""
        flags = os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW
        try:
            descriptor = os.open(self._path, flags, 0o600)
        except OSError as error:
            raise CannotLockError(self._path, error) from None
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            process = os.read(descriptor, 32).decode("ascii", "replace").strip()
            os.close(descriptor)
            raise AlreadyRunningError(directory, process) from None
        os.ftruncate(descriptor, 0)
        os.write(descriptor, str(os.getpid()).encode())
        self._descriptor = descriptor

    def held_elsewhere(self) -> bool:
        """Whether a daemon runs the site now; a lock that we may not look at counts as held."""
        try:
            descriptor = os.open(self._path, os.O_RDONLY | os.O_CLOEXEC | os.O_NOFOLLOW)
        except FileNotFoundError:
            return False
        except OSError:
            # Whoever made it may be running, and a look that polls would be one too many.
            return True
        try:
            fcntl.flock(descriptor, fcntl.LOCK_SH | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
        finally:
            os.close(descriptor)
        return False

    def release(self) -> None:
        """Let go."""
        if self._descriptor >= 0:
            os.close(self._descriptor)
            self._descriptor = -1
