"""What an ordinary evening costs a memory card, measured below the database.

Two printers from five to midnight: three jobs on one, one on the other, each remembered at every
hundredth of its progress; a spool that ran out and a jam, each raised, acknowledged, returned and
reset; four parts to collect; a link that comes and goes; what the segments show because of all
that. What must not be lost is written at once, the rest once a minute, as the journal does.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby
from pathlib import Path
from typing import Final

import apsw
import pytest

from bridge.engine.actions import Record
from bridge.engine.records import Happening, StateRecord
from bridge.facts.jobs import JobRecord
from bridge.facts.memory import MemoryRecord
from bridge.rules.alarm_records import Acknowledgement, PromptRecord
from bridge.rules.prompt_states import PromptState
from bridge.service.journal_store import KEPT_DAYS, Batch, Store
from tests.service.records import alarm
from tests.standards.forgetful_disk import ForgetfulDisk

MINUTE: Final = 60_000
BEGAN: Final = 1_795_626_000_000
#: A card of the cheapest kind bears some hundred times its size; 16 GB of it, then, 1.6 TB.
CARD_BYTES: Final = 100 * 16 * 10**9

#: An instant in ms since the evening began, and what is written then.
_Story = Iterator[tuple[int, Record]]


def job(printer: str, begins: int, minutes: int, name: str) -> _Story:
    """A job from its begin to the part that is collected."""
    began = BEGAN + begins * MINUTE
    for step in range(101):
        at = begins * MINUTE + minutes * MINUTE * step // 100
        progress, is_over = step / 100, step == 100
        record = MemoryRecord(
            printer=printer,
            state="idle" if is_over else "processing",
            state_since_wall_ms=began,
            job=None if is_over else _job(name, progress, began, BEGAN + at),
            last_job="completed" if is_over else "no-value",
            vanished=None,
            stalled=False,
            moved_wall_ms=BEGAN + at,
            moved_progress=progress,
            finishing=False,
        )
        yield at, Record(0, record, durable=step in {0, 100})
    end = (begins + minutes) * MINUTE
    done = Happening("job", "completed", BEGAN + end, printer, name=name, after_ms=minutes * MINUTE)
    yield end, Record(0, replace(done, progress=1.0))
    waiting = PromptRecord("collect", printer, "last-job is completed", PromptState.WAITING, "0-9")
    yield end, Record(0, waiting, durable=True)
    yield from shows(end, printer, "fetch-me", "part to collect")
    spent = replace(
        waiting, state=PromptState.SPENT, collected=Acknowledgement("0-9", "Ada", began)
    )
    yield end + 7 * MINUTE, Record(0, spent, durable=True)
    yield from shows(end + 7 * MINUTE, printer, "ready", "idle")


def _job(name: str, progress: float, began: int, at: int) -> JobRecord:
    return JobRecord(
        began_wall_ms=began,
        name=name,
        progress=progress,
        progress_wall_ms=at,
        first_word="processing",
        ended_wall_ms=None,
    )


def fault(printer: str, begins: int, name: str) -> _Story:
    """Raised, acknowledged after two minutes, returned after six, reset after seven."""
    for minutes, what in enumerate(("raised", "acknowledged", "returned", "reset")):
        at = (begins + (0, 2, 6, 7)[minutes]) * MINUTE
        yield at, Record(0, alarm(at, name, printer), durable=True)
        said = Happening("alarm", what, BEGAN + at, printer, name=name, occurrence=f"0-{at}")
        yield at, Record(0, replace(said, who="Ada", after_ms=2 * MINUTE))
        yield from shows(at, printer, "feed-me" if minutes < 3 else "filling", "out of material")


def shows(at: int, printer: str, scene: str, rule: str) -> _Story:
    """Two segments follow this printer."""
    for segment in ("frame", "shelf"):
        cause = f"{rule}: state is processing, reasons any of material-empty, material-needed"
        yield at, Record(0, Happening("segment", scene, BEGAN + at, printer, segment, rule, cause))


def evening() -> list[tuple[int, Record]]:
    """All of it in order."""
    story = [
        *job("kestrel", 5, 100, "cabin roof"),
        *job("kestrel", 120, 100, "hull, left half"),
        *job("kestrel", 240, 100, "hull, right half"),
        *job("plover", 20, 330, "name plates"),
        *fault("kestrel", 60, "material-out"),
        *fault("plover", 200, "jam"),
    ]
    for at in (0, 90, 91, 300, 302):
        fresh = Happening(
            "hearing", "fresh" if at != 90 else "stale", BEGAN + at * MINUTE, "plover"
        )
        story.append((at * MINUTE, Record(0, fresh)))
        story += shows(at * MINUTE, "plover", "not-known", "silent")
    return sorted(story, key=lambda each: each[0])


def batches(story: list[tuple[int, Record]]) -> Iterator[Batch]:
    """As the journal makes them: at once with what is durable, else once a minute."""
    waiting: list[StateRecord | Happening] = []
    heard, due = -5 * MINUTE, None
    for at, group in groupby(story, key=lambda each: each[0]):
        if due is not None and at >= due:
            yield _batch(waiting, None)
            waiting, due = [], None
        records = [record for _, record in group]
        waiting += [record.what for record in records]
        due = at + MINUTE if due is None else due
        if any(record.durable for record in records):
            is_due = at - heard >= 5 * MINUTE
            heard = at if is_due else heard
            yield _batch(waiting, BEGAN + at if is_due else None)
            waiting, due = [], None
    yield _batch(waiting, BEGAN)


def _batch(waiting: list[StateRecord | Happening], heard: int | None) -> Batch:
    states = tuple(each for each in waiting if not isinstance(each, Happening))
    return Batch(states, tuple(each for each in waiting if isinstance(each, Happening)), heard)


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[ForgetfulDisk]:
    """After an evening, cleanly stopped."""
    disk = ForgetfulDisk("evening")
    connection = apsw.Connection(str(tmp_path / "it.db"), vfs=disk.name)
    store = Store(connection)
    store.prepare("test")
    for batch in batches(evening()):
        store.commit(batch)
    connection.close()
    yield disk
    disk.close()


def test_an_evening_spares_the_card(disk: ForgetfulDisk) -> None:
    """Less than 2.5 MB and 400 syncs: what history covers has cost not a thousandth of a card."""
    print(f"an evening: {disk.synced_bytes / 1e6:.2f} MB, {disk.syncs} syncs")  # noqa: T201 - the figure is asked for
    assert disk.synced_bytes < 2.5e6
    assert disk.syncs < 400
    assert disk.synced_bytes * KEPT_DAYS < CARD_BYTES / 1000
