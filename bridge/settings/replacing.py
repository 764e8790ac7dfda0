"""A file of a site replaced by a new text, whole or not at all."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Final

#: What some editors put in front; it stays.
_MARK: Final = "\ufeff"


def replace_text(path: Path, before: str, after: str) -> bool:
    """Put ``after`` in place of ``before``; false where the file has another text by now.

    Owner and rights stay, a link leads to the same file, and a power cut leaves one of the two
    texts. Raises ``OSError``.
    """
    path = path.resolve()
    text = path.read_bytes().decode("utf-8", "replace")
    if text.removeprefix(_MARK) != before:
        return False
    mark = _MARK if text.startswith(_MARK) else ""
    _replace(path, (mark + after).encode())
    return True


def _replace(path: Path, data: bytes) -> None:
    # No file of a site ends so: what a power cut leaves is not read as one.
    handle, name = tempfile.mkstemp(prefix=f".{path.stem}-", suffix=".new", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            _as_before(file.fileno(), path.stat())
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(path)
    except OSError:
        with suppress(OSError):
            Path(name).unlink()
        raise
    _sync_folder(path.parent)


def _as_before(handle: int, before: os.stat_result) -> None:
    """The service must still be able to read it, whoever wrote it."""
    made = os.fstat(handle)
    if (made.st_uid, made.st_gid) != (before.st_uid, before.st_gid):
        os.fchown(handle, before.st_uid, before.st_gid)
    os.fchmod(handle, before.st_mode & 0o7777)


def _sync_folder(folder: Path) -> None:
    """Else the new name may not survive a power cut."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
