"""The files of a recording: ``FILE``, and before it ``FILE.1``, each with half the limit."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

from bridge.engine.actions import Action
from bridge.engine.events import Event, Settings
from bridge.errors import LampwrightError
from bridge.facts.moment import Moment
from bridge.recording.beginning import Beginning
from bridge.recording.canonical import event_text
from bridge.recording.lines import MARK_EVERY, ActionsDigest, Head, line_of

#: Beneath this a part would hold little more than its own beginning.
LEAST_BYTES: Final = 1_000_000
USUAL_BYTES: Final = 50_000_000
#: What every first line of a recording begins with.
_FIRST: Final = b'{"begins":'
#: A part holds at least so many times its beginning.
_BEGINNINGS: Final = 4
#: What is repeated of what was said takes at most this part of the limit.
_ROOM: Final = 20


class RecordingFileError(LampwrightError):
    """A recording cannot be written there."""


@dataclass(frozen=True, slots=True)
class Happened:
    """An event, its moment and what came of it."""

    event: Event
    moment: Moment
    actions: tuple[Action, ...]


class RecordingFile:
    """A recording that is written to ``path``. Everything here may wait for the disk.

    What is there already becomes ``FILE.1``; a file that is no recording is left alone. Raises
    ``RecordingFileError``; writing raises ``OSError``.
    """

    def __init__(self, path: Path, limit_bytes: int, written_by: str) -> None:
        self._path, self._half, self._written_by = path, limit_bytes // 2, written_by
        self._older = path.with_name(f"{path.name}.1")
        self._part = 0
        self._bytes = self._begin_bytes = 0
        self._begins = Beginning(limit_bytes // _ROOM)
        self._digest = ActionsDigest()
        self._at_mark = False
        for each in (self._older, path):
            _check_replaceable(each)
        try:
            self._file = self._next_file()
        except OSError as error:
            raise RecordingFileError(f"{path}: cannot be written: {_said(error)}") from None

    def write(self, batch: Iterable[Happened]) -> None:
        """Write these, and hand them to the system."""
        for each in batch:
            self._write(each)
        self._file.flush()

    def close(self) -> None:
        """The last mark, and the end."""
        try:
            if self._part and not self._at_mark:
                self._mark()
        finally:
            self._file.close()

    def _write(self, each: Happened) -> None:
        if not self._part:
            self._begin(each)
        elif self._bytes >= max(self._half, _BEGINNINGS * self._begin_bytes):
            self._mark()
            self._file.close()
            self._file = self._next_file()
            self._begin(each)
        self._line(event_text(each.event, each.moment))
        self._digest.take(each.actions)
        self._begins.take(each.event, each.moment, each.actions)
        self._at_mark = False
        if isinstance(each.event, Settings) or self._digest.events % MARK_EVERY == 0:
            self._mark()

    def _begin(self, first: Happened) -> None:
        self._part += 1
        begun = self._begins.events(self._part, first.moment) if self._part > 1 else []
        if self._part == 1:
            self._begins.take(first.event, first.moment, ())
        head = Head.of(self._begins.seed, self._part, len(begun), self._written_by)
        self._line(line_of(head))
        for each in begun:
            self._line(event_text(each.event, each.moment))
        self._begin_bytes = self._bytes

    def _mark(self) -> None:
        self._line(line_of(self._digest.mark()))
        self._at_mark = True

    def _line(self, text: str) -> None:
        self._bytes += self._file.write(text.encode("ascii") + b"\n")

    def _next_file(self) -> BinaryIO:
        if self._path.exists():
            self._path.replace(self._older)
        self._bytes = 0
        # What printers say, names of jobs above all, is nobody else's business.
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC
        return os.fdopen(os.open(self._path, flags, 0o600), "wb", buffering=1 << 16)


def _check_replaceable(path: Path) -> None:
    try:
        if not path.exists():
            return
        if not path.is_file():
            raise RecordingFileError(f"{path}: is no file, name one that may be replaced")
        with path.open("rb") as file:
            first = file.read(len(_FIRST))
    except OSError as error:
        raise RecordingFileError(f"{path}: cannot be read: {_said(error)}") from None
    if first and first != _FIRST:
        raise RecordingFileError(f"{path}: is no recording, and is not replaced by one")


def _said(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
