"""Records a running site: what goes into the core, and a digest of what comes out.

Nothing here waits for the disk: events are handed to a thread, which writes them once a second. A
recording that cannot go on ends, with one line in the log, and the lights do not notice.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from queue import SimpleQueue
from typing import Final

from bridge import __version__
from bridge.engine.actions import Action, Note
from bridge.engine.events import Event
from bridge.facts.moment import Moment
from bridge.service.recording_file import USUAL_BYTES, Happened, RecordingFile

#: A disk that is behind by so many events does not write any more.
MOST_WAITING: Final = 20_000
#: How often is written, in seconds.
_PAUSE_S: Final = 1.0
_END_WITHIN_S: Final = 5.0


class Recorder:
    """Records to ``path``; raises ``RecordingFileError`` where that cannot be begun."""

    def __init__(
        self, path: Path, note: Callable[[Note], None], limit_bytes: int = USUAL_BYTES
    ) -> None:
        self._path, self._note = path, note
        self._file = RecordingFile(path, limit_bytes, __version__)
        self._waiting: SimpleQueue[Happened] = SimpleQueue()
        self._closing = threading.Event()
        #: Why the recording ended; set by the thread.
        self._why = ""
        self._is_on = True
        # A disk that hangs must not keep the process from ending.
        self._thread = threading.Thread(target=self._work, name="recorder", daemon=True)
        self._thread.start()

    def event(self, event: Event, moment: Moment, actions: Iterable[Action]) -> None:
        """An event that the core was handed, and the actions that came of it."""
        if not self._is_on:
            return
        if not self._why and self._waiting.qsize() >= MOST_WAITING:
            self._why = "the disk does not keep up"
        if self._why:
            self._end()
        else:
            self._waiting.put(Happened(event, moment, tuple(actions)))

    def close(self) -> None:
        """Write what waits, and end; a disk that does not answer is not waited for."""
        self._closing.set()
        self._thread.join(_END_WITHIN_S)
        if not self._is_on:
            return
        if self._thread.is_alive():
            self._why = "the disk does not answer"
        if self._why:
            self._end()
        self._is_on = False

    def _end(self) -> None:
        self._is_on = False
        self._closing.set()
        fields = {"file": str(self._path), "why": self._why, "meanwhile": "lights go on"}
        self._note(Note("error", "the recording ended", fields))

    # In the thread

    def _work(self) -> None:
        try:
            closing = False
            while not closing:
                closing = self._closing.wait(_PAUSE_S)
                self._file.write(self._waited())
            self._file.close()
        except OSError as error:
            self._why = (error.strerror or str(error)).lower()
            with suppress(OSError):
                self._file.close()

    def _waited(self) -> Iterator[Happened]:
        while not self._waiting.empty():
            yield self._waiting.get_nowait()
            # The loop need not wait for more than one event to be put into words.
            time.sleep(0)
