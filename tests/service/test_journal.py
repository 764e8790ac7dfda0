"""The journal on a real loop and a real disk: what is answered, when, and what a start finds."""

from __future__ import annotations

import asyncio
import signal
import sqlite3
import subprocess
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from random import Random

import pytest

from bridge.engine.actions import Record
from bridge.engine.events import NotRecorded, Recorded, Restored
from bridge.engine.records import StateRecord
from bridge.facts.moment import Moment
from bridge.service.journal import MOST_WAITING, Journal, Pace
from bridge.service.journal_file import read_journal
from tests.conftest import Recorder
from tests.service.records import alarm, durable, hold, line

#: Nothing that is batched is written by itself while a test looks.
SLOW = Pace(batch_s=600)
#: What is batched is written soon, and what failed is tried again soon.
FAST = Pace(batch_s=0.05, retry_s=0.01, retry_most_s=0.02)


def journal_at(path: Path, recorder: Recorder, pace: Pace = SLOW) -> Journal:
    """A journal that tells the recorder."""
    return Journal(
        path,
        note=recorder.note,
        feed=recorder.feed,
        now=recorder.clock,
        pace=pace,
    )


@asynccontextmanager
async def running(path: Path, recorder: Recorder, pace: Pace = SLOW) -> AsyncIterator[Journal]:
    """It is opened, runs, and is closed as the daemon closes it."""
    journal = journal_at(path, recorder, pace)
    await journal.open()
    task = asyncio.create_task(journal.run())
    yield journal
    task.cancel()
    await journal.close()


def found(path: Path) -> tuple[tuple[StateRecord, ...], list[int | None]]:
    """What is in the file: states, and the times of the lines of history."""
    kept, lines = read_journal(path)
    return kept.records, [each.wall_ms for each in lines]


@pytest.mark.asyncio
async def test_what_is_recorded_is_restored(tmp_path: Path, recorder: Recorder) -> None:
    """A durable record is answered when it is kept; the next start finds it, and since when."""
    path = tmp_path / "it.db"
    before = recorder.clock().wall_ms
    async with running(path, recorder) as journal:
        journal.write(durable(1))
        assert recorder.events == []
        await recorder.until(lambda: recorder.events)
        assert recorder.events == [Recorded(1)]
        assert found(path) == ((alarm(1),), [])
    after = recorder.clock().wall_ms
    again = journal_at(path, recorder)
    restored = await again.open()
    await again.close()
    assert restored.records == (alarm(1),)
    assert before is not None
    assert after is not None
    assert before <= (restored.heard_until_wall_ms or 0) <= after
    assert recorder.notes == []


@pytest.mark.asyncio
async def test_the_first_start_has_nothing_to_restore(tmp_path: Path, recorder: Recorder) -> None:
    """And says so, which is another thing than keeping nothing."""
    journal = journal_at(tmp_path / "new" / "it.db", recorder)
    assert await journal.open() == Restored(())
    await journal.close()


@pytest.mark.asyncio
async def test_what_waits_goes_with_what_must_not(tmp_path: Path, recorder: Recorder) -> None:
    """One transaction for all of a turn, one answer; history alone is not answered."""
    path = tmp_path / "it.db"
    async with running(path, recorder) as journal:
        journal.write(Record(1, line(1)))
        journal.write(Record(2, hold("shelf")))
        await asyncio.sleep(0.05)
        assert (recorder.events, found(path)) == ([], ((), []))
        journal.write(durable(3))
        journal.write(durable(4, "jam"))
        await recorder.until(lambda: recorder.events)
        assert recorder.events == [Recorded(4)]
        assert found(path) == ((alarm(4, "jam"), alarm(3), hold("shelf")), [1])
    assert recorder.events == [Recorded(4)]


@pytest.mark.asyncio
async def test_what_is_batched_is_written_in_time(tmp_path: Path, recorder: Recorder) -> None:
    """History without an answer, a state that need not be durable with one."""
    path = tmp_path / "it.db"
    async with running(path, recorder, FAST) as journal:
        journal.write(Record(1, line(1)))
        await recorder.until(lambda: found(path)[1] == [1])
        journal.write(Record(2, hold("shelf")))
        await recorder.until(lambda: recorder.events)
        assert recorder.events == [Recorded(2)]


@pytest.mark.asyncio
async def test_a_stop_loses_nothing(tmp_path: Path, recorder: Recorder) -> None:
    """Whatever waits is written at the end, the last line too."""
    path = tmp_path / "it.db"
    async with running(path, recorder) as journal:
        journal.write(durable(1))
        journal.write(Record(2, hold("shelf")))
        journal.write(Record(3, line(3)))
    assert found(path) == ((alarm(1), hold("shelf")), [3])
    assert not path.with_name("it.db-wal").exists()


@pytest.mark.asyncio
async def test_a_record_just_before_the_end_does_not_hold_it_up(
    tmp_path: Path, recorder: Recorder
) -> None:
    """The last line of a start is written in the turn in which its tasks are told to end."""
    journal = journal_at(tmp_path / "it.db", recorder)
    await journal.open()
    task = asyncio.create_task(journal.run())
    journal.write(Record(1, line(1)))
    await asyncio.sleep(0.01)
    journal.write(durable(2))
    task.cancel()
    await asyncio.wait([task], timeout=1)
    assert task.cancelled()
    await journal.close()
    assert found(tmp_path / "it.db") == ((alarm(2),), [1])


@pytest.mark.asyncio
async def test_until_when_all_was_heard_is_not_written_for_its_own_sake(
    tmp_path: Path, recorder: Recorder
) -> None:
    """Beside something else, and not with every such thing; at the stop in any case."""
    path = tmp_path / "it.db"

    def heard() -> int | None:
        return read_journal(path)[0].heard_until_wall_ms

    async with running(path, recorder) as journal:
        assert heard() is None
        journal.write(durable(1))
        await recorder.until(lambda: recorder.events)
        first = heard()
        assert first is not None
        await asyncio.sleep(0.01)
        journal.write(durable(2))
        await recorder.until(lambda: recorder.of(Recorded)[1:])
        assert heard() == first
    assert (heard() or 0) > first


@pytest.mark.asyncio
async def test_until_when_all_was_heard_waits_for_a_clock(
    tmp_path: Path, recorder: Recorder
) -> None:
    """On a board without a clock of its own, the first record after the time is known has it."""
    path, clock = tmp_path / "it.db", Moment(5)
    journal = Journal(
        path, note=recorder.note, feed=recorder.feed, now=lambda: clock, pace=Pace(batch_s=600)
    )
    await journal.open()
    task = asyncio.create_task(journal.run())
    for number, expected in ((1, None), (2, 77)):
        journal.write(durable(number))
        await recorder.until(lambda n=number: recorder.events == [Recorded(n)])  # type: ignore[misc]
        assert read_journal(path)[0].heard_until_wall_ms == expected
        recorder.events.clear()
        clock = Moment(6, 77)
    task.cancel()
    await journal.close()


@pytest.mark.asyncio
async def test_memory_that_is_off_is_answered_at_once(tmp_path: Path, recorder: Recorder) -> None:
    """One note, an answer for each record, and none while the core is still writing."""
    path = tmp_path / "it.db"
    path.write_text("zone: Europe/London\n")
    journal = journal_at(path, recorder, FAST)
    assert await journal.open() == Restored(())
    task = asyncio.create_task(journal.run())
    why = "it is a text file and no journal"
    journal.write(durable(1))
    journal.write(Record(2, line(2)))
    journal.write(Record(3, hold("shelf")))
    assert recorder.events == []
    await asyncio.sleep(0)
    assert recorder.events == [NotRecorded(1, why), NotRecorded(3, why)]
    await asyncio.sleep(0.1)
    assert len(recorder.events) == 2
    assert [(note.level, note.event, note.fields) for note in recorder.notes] == [
        ("error", "memory is off", {"journal": str(path), "why": why})
    ]
    task.cancel()
    await journal.close()
    assert path.read_text() == "zone: Europe/London\n"


@pytest.mark.asyncio
async def test_memory_that_comes_back_says_so_and_knows_the_last_state(
    tmp_path: Path, recorder: Recorder
) -> None:
    """One answer for all that was written by then, so that the core can record anew."""
    path = tmp_path / "state" / "it.db"
    path.parent.write_text("in the way")
    async with running(path, recorder, FAST) as journal:
        for number in range(1, 4):
            journal.write(durable(number))
            journal.write(Record(10 * number, line(number)))
        await recorder.until(lambda: recorder.of(NotRecorded)[2:])
        path.parent.unlink()
        await recorder.until(lambda: recorder.of(Recorded))
        assert recorder.of(Recorded) == [Recorded(3)]
        assert found(path) == ((alarm(3),), [1, 2, 3])
        journal.write(durable(40))
        await recorder.until(lambda: recorder.of(Recorded)[1:])
    assert [note.event for note in recorder.notes] == ["memory is off", "memory is on again"]
    assert recorder.notes[1].fields == {"journal": str(path), "history_lost": 0}


@pytest.mark.asyncio
async def test_history_that_cannot_be_written_is_bounded(
    tmp_path: Path, recorder: Recorder
) -> None:
    """The oldest lines go, and how many is said."""
    path = tmp_path / "state" / "it.db"
    path.parent.write_text("in the way")
    async with running(path, recorder, FAST) as journal:
        for number in range(MOST_WAITING + 5):
            journal.write(Record(number + 1, line(number)))
        await asyncio.sleep(0.05)
        path.parent.unlink()
        await recorder.until(lambda: recorder.noted("memory is on again"))
        assert recorder.notes[-1].fields["history_lost"] == 5
        assert found(path)[1] == list(range(5, MOST_WAITING + 5))


@pytest.mark.asyncio
async def test_states_that_were_not_restored_are_not_left_for_the_next_start(
    tmp_path: Path, recorder: Recorder
) -> None:
    """A start that went on without them has other ones; the old would be news from the past."""
    path = tmp_path / "it.db"
    async with running(path, recorder) as journal:
        journal.write(durable(1))
        journal.write(durable(2, "jam"))
    path.rename(tmp_path / "away")
    path.write_text("in the way")
    async with running(path, recorder, FAST) as journal:
        journal.write(durable(3))
        await recorder.until(lambda: recorder.of(NotRecorded))
        (tmp_path / "away").rename(path)
        await recorder.until(lambda: recorder.of(Recorded)[1:])
        assert found(path)[0] == (alarm(3),)


@pytest.mark.asyncio
async def test_a_damaged_journal_is_told_of(tmp_path: Path, recorder: Recorder) -> None:
    """One line that says where it is; memory is on."""
    path = tmp_path / "it.db"
    path.write_bytes(bytes(5000))
    async with running(path, recorder) as journal:
        journal.write(durable(1))
        await recorder.until(lambda: recorder.events)
    assert recorder.events == [Recorded(1)]
    (note,) = recorder.notes
    assert (note.level, note.event) == ("error", "the journal was moved aside; memory begins anew")
    assert (tmp_path / str(note.fields["kept_as"])).read_bytes() == bytes(5000)


@pytest.mark.asyncio
async def test_a_record_that_cannot_be_read_is_told_of(tmp_path: Path, recorder: Recorder) -> None:
    """The others are restored."""
    path = tmp_path / "it.db"
    async with running(path, recorder) as journal:
        journal.write(durable(1))
    with sqlite3.connect(path) as connection:
        connection.execute("INSERT INTO state VALUES ('hold', 'shelf', '', '{}')")
    connection.close()
    again = journal_at(path, recorder)
    assert (await again.open()).records == (alarm(1),)
    await again.close()
    (note,) = recorder.notes
    assert (note.level, note.fields["records"]) == ("warning", 1)
    assert str(note.fields["first"]).startswith("hold shelf: ")


class Hanging:
    """A commit that does not end: somebody else's transaction, for which SQLite waits."""

    def __init__(self, path: Path) -> None:
        program = (
            "import sqlite3, sys; c = sqlite3.connect(sys.argv[1], isolation_level=None);"
            " c.execute('BEGIN IMMEDIATE'); print('held', flush=True); sys.stdin.read()"
        )
        self._process = subprocess.Popen(
            [sys.executable, "-c", program, str(path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        assert self._process.stdout
        assert self._process.stdout.readline() == b"held\n"

    def let_go(self) -> None:
        """It answers again."""
        self._process.communicate()


@pytest.mark.asyncio
async def test_a_disk_that_does_not_answer_holds_up_nobody(
    tmp_path: Path, recorder: Recorder
) -> None:
    """The loop goes on, the record is given up in time, and kept when the disk is back."""
    path = tmp_path / "it.db"
    pace = Pace(batch_s=600, answer_s=0.2, retry_s=0.01, retry_most_s=0.02)
    async with running(path, recorder, pace) as journal:
        hanging = Hanging(path)
        loop, turns = asyncio.get_running_loop(), 0
        began = loop.time()
        journal.write(durable(1))
        while not recorder.events:
            turns += 1
            await asyncio.sleep(0.005)
        assert recorder.events == [NotRecorded(1, "the disk does not answer")]
        assert loop.time() - began < 1
        assert turns > 10
        journal.write(durable(2, "jam"))
        await asyncio.sleep(0)
        assert recorder.events[1:] == [NotRecorded(2, "the disk does not answer")]
        hanging.let_go()
        await recorder.until(lambda: len(found(path)[0]) == 2)
        await recorder.until(lambda: recorder.of(Recorded))
        assert recorder.of(Recorded)[0] == Recorded(1)


@pytest.mark.asyncio
async def test_what_failed_is_written_in_order_and_the_newest_state_of_each(
    tmp_path: Path, recorder: Recorder
) -> None:
    """Each record is answered once, also where the disk was given up before it failed."""
    path = tmp_path / "it.db"
    pace = Pace(batch_s=600, answer_s=0.2, retry_s=600)
    async with running(path, recorder, pace) as journal:
        hanging = Hanging(path)
        for number in (1, 2):
            journal.write(Record(10 * number, line(number)))
            journal.write(durable(number))
        await recorder.until(lambda: recorder.events)
        journal.write(Record(30, line(3)))
        journal.write(durable(3))
        # SQLite waits two seconds for who holds it.
        await asyncio.sleep(2.2)
        hanging.let_go()
    silent = "the disk does not answer"
    assert recorder.of(NotRecorded) == [NotRecorded(number, silent) for number in (1, 2, 3)]
    assert recorder.of(Recorded) == [Recorded(3)]
    assert found(path) == ((alarm(3),), [1, 2, 3])


#: Writes durable records as fast as it can and says what was answered.
_WRITES = """
import asyncio, os, sys, time
from pathlib import Path
from bridge.engine.actions import Record
from bridge.engine.events import Recorded
from bridge.facts.moment import Moment
from bridge.service.journal import Journal
from tests.service.records import alarm, line

async def main(path):
    def now():
        return Moment(time.monotonic_ns() // 1_000_000, time.time_ns() // 1_000_000)
    def feed(event, moment):
        assert isinstance(event, Recorded)
        os.write(1, b"%d\\n" % event.number)
    def note(note):
        os.write(1, f"{note}\\n".encode())
    journal = Journal(path, note=note, feed=feed, now=now)
    await journal.open()
    task = asyncio.create_task(journal.run())
    number = int(sys.argv[2])
    while True:
        number += 1
        journal.write(Record(number, alarm(number, f"alarm-{number % 7}"), durable=True))
        journal.write(Record(number, line(number)))
        await asyncio.sleep(0.0005 * (number % 3))

asyncio.run(main(Path(sys.argv[1])))
"""


def _killed(path: Path, first: int, after_lines: int) -> int:
    """Start it, kill it when it has said so many lines; the last number that it said."""
    process = subprocess.Popen(
        [sys.executable, "-c", _WRITES, str(path), str(first)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout
    said = [process.stdout.readline() for _ in range(after_lines)]
    process.send_signal(signal.SIGKILL)
    said += process.stdout.readlines()
    process.wait()
    process.stdout.close()
    # The last line may have been cut off by the kill.
    return int([each for each in said if each.endswith("\n")][-1])


def test_a_kill_loses_nothing_that_was_answered(tmp_path: Path) -> None:
    """Again and again on the same journal, at instants of chance: every state and line is there."""
    path, chance, last = tmp_path / "it.db", Random(4), 0
    for _ in range(8):
        last = _killed(path, last, chance.randint(1, 60))
        states, lines = found(path)
        numbers = {
            int((getattr(each, "occurrence", "") or "").removeprefix("0-")) for each in states
        }
        # Of each of seven alarms the last state, or one that was not answered any more.
        for name in range(7):
            newest = max(number for number in range(last + 1) if number % 7 == name)
            assert newest == 0 or any(n >= newest and n % 7 == name for n in numbers)
        times = [each for each in lines if each is not None]
        assert set(range(1, last + 1)) <= set(times)
        assert len(times) == len(set(times))
        last = max(times)
