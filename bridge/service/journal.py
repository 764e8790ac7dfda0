"""The journal as the loop sees it: records go in, ``Recorded`` and ``NotRecorded`` come out.

Nothing here waits for the disk; a thread of its own does. What waits goes into one transaction
(group commit): a durable record at once, with everything that is waiting; what is not durable with
the next durable one, or after ``Pace.batch_s``. Where the disk fails, is full or does not answer,
memory is off: every record is answered as not recorded without delay, the last state under each
key is kept here, and writing is tried again with growing pauses.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final, TypeAlias

from bridge.engine.actions import Note, Record, Scalar
from bridge.engine.events import Event, NotRecorded, Recorded, Restored
from bridge.engine.records import Happening, StateRecord, key_of
from bridge.facts.moment import Moment
from bridge.service.journal_file import JournalError, JournalFile, Opened
from bridge.service.journal_store import Batch
from bridge.service.journal_thread import DiskThread

Feed: TypeAlias = Callable[[Event, Moment], None]

#: History that cannot be written waits up to so many lines; the oldest are dropped first.
MOST_WAITING: Final = 1000


@dataclass(frozen=True, slots=True)
class Pace:
    """How long what takes, in seconds.

    Until when all was heard is written once in ``heartbeat_s``, and only beside something else.
    """

    batch_s: float = 60.0
    heartbeat_s: float = 300.0
    answer_s: float = 4.0
    retry_s: float = 1.0
    retry_most_s: float = 300.0


@dataclass(frozen=True, slots=True)
class _Flight:
    """A transaction that is under way, and the numbers that wait for its end."""

    batch: Batch
    numbers: list[int]
    #: The highest number that any record of it or before it has.
    newest: int
    result: asyncio.Future[Opened | None]


class Journal:
    """A site's journal at ``path``. ``feed`` takes its events, ``now`` reads the clocks."""

    def __init__(
        self,
        path: Path,
        *,
        note: Callable[[Note], None],
        feed: Feed,
        now: Callable[[], Moment],
        pace: Pace = Pace(),
    ) -> None:
        self._path, self._note, self._feed, self._now, self._pace = path, note, feed, now, pace
        self._file = JournalFile(path, lambda: now().wall_ms)
        self._thread = DiskThread("journal")
        self._states: dict[tuple[str, str, str], StateRecord] = {}
        self._history: deque[Happening] = deque()
        self._dropped = 0
        #: Numbers that wait for an answer, and the highest that was ever given.
        self._numbers: list[int] = []
        self._newest = 0
        self._wake = asyncio.Event()
        #: When the next transaction is due, on the monotonic clock.
        self._due_ms: int | None = None
        self._heartbeat_ms: int | None = None
        #: Whether the file's states are those that this start knows of.
        self._is_restored = False
        #: Empty while memory is on.
        self._why_off = ""
        self._retry_s = pace.retry_s
        self._flight: _Flight | None = None

    async def open(self) -> Restored:
        """What an earlier start left; whatever is wrong is noted, and writing is tried again."""
        opening = self._thread.do(self._file.open)
        done, _ = await asyncio.wait([opening], timeout=self._pace.answer_s)
        if not done:
            # What is read later is not restored any more: the start went on without.
            opening.add_done_callback(lambda late: self._tell_of(late.result()))
            self._off(_SILENT)
            return Restored(())
        opened = opening.result()
        self._tell_of(opened)
        if opened.why_off:
            self._off(opened.why_off)
        self._is_restored = opened.kept is not None
        if opened.kept is None:
            return Restored(())
        return Restored(opened.kept.records, opened.kept.heard_until_wall_ms)

    def write(self, record: Record) -> None:
        """Keep this; the answer never comes before this returns."""
        what = record.what
        is_durable = record.durable and not isinstance(what, Happening)
        self._due_within(0 if is_durable else self._pace.batch_s)
        if isinstance(what, Happening):
            self._history.append(what)
            self._bound_history()
            return
        self._newest = max(self._newest, record.number)
        self._states[key_of(what)] = what
        if self._why_off:
            _soon(self._feed, NotRecorded(record.number, self._why_off), self._now)
        else:
            self._numbers.append(record.number)

    async def run(self) -> None:
        """Write what is due, until cancelled."""
        while True:
            if self._why_off:
                await asyncio.sleep(self._retry_s)
                self._retry_s = min(self._retry_s * 2, self._pace.retry_most_s)
            else:
                await self._until_due()
            await self._land(self._take_off())

    async def close(self) -> None:
        """Write what waits, and until when all was heard; a disk that hangs is not waited for."""
        with suppress(TimeoutError):
            async with asyncio.timeout(2 * self._pace.answer_s):
                if self._flight is not None:
                    await self._land(self._flight)
                self._heartbeat_ms = None
                await self._land(self._take_off())
                await self._thread.do(self._file.close)
        self._thread.end()

    def _due_within(self, seconds: float) -> None:
        due_ms = self._now().ms + round(seconds * 1000)
        if self._due_ms is None or due_ms < self._due_ms:
            self._due_ms = due_ms
            self._wake.set()

    async def _until_due(self) -> None:
        while True:
            self._wake.clear()
            left_s = None
            if self._due_ms is not None:
                left_s = (self._due_ms - self._now().ms) / 1000
                if left_s <= 0:
                    return
            # Not wait_for: on Python 3.11 that loses a cancellation that comes with a wake-up, and
            # the last record of a start comes just before its end.
            with suppress(TimeoutError):
                async with asyncio.timeout(left_s):
                    await self._wake.wait()

    def _take_off(self) -> _Flight:
        """Everything that waits, in one transaction."""
        batch = Batch(
            tuple(self._states.values()),
            tuple(self._history),
            self._heartbeat(),
            anew=not self._is_restored,
        )
        result = self._thread.do(partial(self._file.commit, batch))
        flight = self._flight = _Flight(batch, self._numbers, self._newest, result)
        self._states, self._history, self._numbers = {}, deque(), []
        self._due_ms = None
        return flight

    async def _land(self, flight: _Flight) -> None:
        """Wait for the disk, and let nobody else wait for it longer than is decent."""
        done, _ = await asyncio.wait([flight.result], timeout=self._pace.answer_s)
        if not done:
            self._off(_SILENT, flight.numbers)
            await asyncio.wait([flight.result])
        self._flight = None
        try:
            opened = flight.result.result()
        except JournalError as error:
            self._put_back(flight.batch)
            self._off(error.why, flight.numbers)
            return
        self._is_restored = True
        if opened is not None:
            self._tell_of(opened)
        self._on(flight)

    def _put_back(self, batch: Batch) -> None:
        self._states = {key_of(each): each for each in batch.states} | self._states
        self._history.extendleft(reversed(batch.history))
        self._bound_history()
        self._heartbeat_ms = None

    def _bound_history(self) -> None:
        while len(self._history) > MOST_WAITING:
            self._history.popleft()
            self._dropped += 1

    def _heartbeat(self) -> int | None:
        """Until when all was heard, where that is worth writing down again."""
        now, last_ms = self._now(), self._heartbeat_ms
        is_due = last_ms is None or now.ms - last_ms >= self._pace.heartbeat_s * 1000
        if now.wall_ms is None or not is_due:
            return None
        self._heartbeat_ms = now.ms
        return now.wall_ms

    def _off(self, why: str, numbers: list[int] | None = None) -> None:
        if not self._why_off:
            self._note(Note("error", "memory is off", {"journal": str(self._path), "why": why}))
            self._retry_s = self._pace.retry_s
        self._why_off = why
        waiting = [*(numbers or ()), *self._numbers]
        self._numbers = []
        if numbers is not None:
            numbers.clear()  # each is answered once
        for number in waiting:
            self._feed(NotRecorded(number, why), self._now())

    def _on(self, flight: _Flight) -> None:
        if self._why_off:
            self._why_off = ""
            fields: dict[str, Scalar] = {"journal": str(self._path), "history_lost": self._dropped}
            self._note(Note("info", "memory is on again", fields))
            self._dropped = 0
            self._feed(Recorded(flight.newest), self._now())
        elif flight.numbers:
            self._feed(Recorded(max(flight.numbers)), self._now())

    def _tell_of(self, opened: Opened) -> None:
        path = str(self._path)
        if opened.moved_to is not None:
            moved: dict[str, Scalar] = {
                "journal": path,
                "why": opened.damage,
                "kept_as": opened.moved_to.name,
            }
            self._note(Note("error", "the journal was moved aside; memory begins anew", moved))
        unreadable = opened.kept.unreadable if opened.kept else ()
        if unreadable:
            fields: dict[str, Scalar] = {
                "journal": path,
                "records": len(unreadable),
                "first": unreadable[0],
            }
            self._note(Note("warning", "records that cannot be read are left out", fields))


_SILENT: Final = "the disk does not answer"


def _soon(feed: Feed, event: Event, now: Callable[[], Moment]) -> None:
    """In a turn of its own: the core is not asked while it is being served."""
    asyncio.get_running_loop().call_soon(lambda: feed(event, now()))
