"""A file that a command writes: what it may be called, and what happens where it cannot be."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from bridge.errors import LampwrightError


class EndingError(LampwrightError):
    """The file's name does not say what it should be."""

    def __init__(self, path: Path, endings: Sequence[str]) -> None:
        *others, last = endings
        super().__init__(f"{path}: expected a name that ends in {', '.join(others)} or {last}")


class CannotWriteError(LampwrightError):
    """The file could not be written."""

    def __init__(self, path: Path, error: OSError) -> None:
        why = (error.strerror or str(error)).lower()
        super().__init__(f"{error.filename or path}: cannot be written: {why}")


def ending_of(path: Path, endings: Sequence[str]) -> str:
    """The one of these in which the name ends, in capitals or not."""
    ending = path.suffix.lower()
    if ending not in endings:
        raise EndingError(path, endings)
    return ending


def write(path: Path, content: bytes) -> None:
    """Write it, over what is there."""
    try:
        path.write_bytes(content)
    except OSError as error:
        raise CannotWriteError(path, error) from error
