"""The power goes at any instant of a journal that is being written.

Source: https://sqlite.org/pragma.html#pragma_synchronous (what is durable at which setting) and
https://sqlite.org/testing.html section 3.3 (how a lost power is played). The statements are the
journal's own, run by a second build of SQLite on a disk that forgets; what is left of the files is
opened as the daemon opens it.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Final

import apsw
import pytest

from bridge.engine.records import Happening, StateRecord, key_of
from bridge.rules.alarm_records import AlarmRecord
from bridge.rules.alarm_states import State
from bridge.service.journal_file import JournalFile, read_journal
from bridge.service.journal_store import Batch, Store
from tests.standards.forgetful_disk import ForgetfulDisk

COMMITS: Final = 120
LOSSES: Final = 100
#: A commit changes a few pages; like this the log goes into the database several times.
_OFTEN: Final = "PRAGMA wal_autocheckpoint = 50"
_NAMES: Final = itertools.count()

#: The states by key, and the marks in history.
_Content = tuple[dict[tuple[str, str, str], StateRecord], list[str]]


@dataclass
class Story:
    """What was written to a disk, and the content after each commit, the first of nothing."""

    disk: ForgetfulDisk
    contents: list[_Content]


def _record(number: int, chance: Random) -> AlarmRecord:
    alarm = f"alarm-{chance.randrange(5)}"
    return AlarmRecord(
        alarm=alarm,
        printer=chance.choice(("kestrel", "plover")),
        when="x" * chance.randrange(600),
        state=State.ACKNOWLEDGED,
        written_wall_ms=number,
        occurrence=f"0-{number}",
    )


def write(folder: Path, chance: Random, *pragmas: str, starts: int = 3) -> Story:
    """Commits of every size, with a clean stop after each start but the last."""
    disk = ForgetfulDisk(f"forgetful-{next(_NAMES)}")
    story = Story(disk, [({}, [])])
    for start in range(starts):
        connection = apsw.Connection(str(folder / "it.db"), vfs=disk.name)
        store = Store(connection)
        store.prepare("test")
        for pragma in (_OFTEN, *pragmas):
            list(connection.execute(pragma))
        for _ in range(COMMITS // starts):
            _commit(store, story, chance)
        if start == starts - 1:
            # Nobody stops cleanly in the end.
            disk.stop_noting()
        connection.close()
    disk.close()
    return story


def _commit(store: Store, story: Story, chance: Random) -> None:
    number = len(story.contents)
    states, marks = story.contents[-1]
    records = tuple(_record(number, chance) for _ in range(chance.randint(1, 4)))
    line = Happening("start", "started", number, cause="y" * chance.randrange(900))
    lines = (line,) * chance.randrange(3)
    store.commit(Batch(records, lines, number))
    written = {key_of(each): each for each in records}
    story.contents.append((states | written, marks + [str(number)] * len(lines)))
    story.disk.say(number)


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Story:
    """As the journal is set."""
    return write(tmp_path_factory.mktemp("written"), Random(1))


def found(folder: Path) -> _Content | str:
    """What the daemon finds, or why it finds nothing."""
    path = folder / "it.db"
    file = JournalFile(path, lambda: None)
    opened = file.open()
    file.close()
    if opened.kept is None:
        return opened.damage or opened.why_off
    lines = [str(each.wall_ms) for each in read_journal(path)[1]]
    return {key_of(each): each for each in opened.kept.records}, lines


def losses(story: Story, folder: Path, chance: Random) -> list[str]:
    """Where something that was relied on is missing, or half a transaction is there."""
    wrong = []
    for count in range(LOSSES):
        steps = chance.randrange(len(story.disk) + 1)
        target = folder / str(count)
        target.mkdir()
        story.disk.lose_power(steps, chance, target)
        relied_on = story.disk.said_before(steps)
        content = found(target)
        # What was being committed may be there, whole.
        if content not in story.contents[relied_on : relied_on + 2]:
            wrong.append(f"after {steps} steps, {relied_on} relied on: {str(content)[:200]}")
    return wrong


@pytest.mark.parametrize("seed", range(3))
def test_nothing_reported_as_kept_is_lost_with_the_power(
    story: Story, tmp_path: Path, seed: int
) -> None:
    """The database opens, is not damaged, and holds every commit that was reported, each whole."""
    assert losses(story, tmp_path, Random(seed)) == []


@pytest.mark.parametrize(
    "pragma",
    [
        # "a transaction might roll back following a power loss", sqlite.org/pragma.html
        "PRAGMA synchronous = NORMAL",
        "PRAGMA synchronous = OFF",
        # At FULL the deletion of the rollback journal is not synced; at EXTRA it is.
        "PRAGMA journal_mode = DELETE",
    ],
)
def test_cheaper_settings_are_caught(tmp_path: Path, pragma: str) -> None:
    """What SQLite's documentation says is not durable is seen to be lost: the check can fail."""
    (tmp_path / "written").mkdir()
    (tmp_path / "found").mkdir()
    story = write(tmp_path / "written", Random(1), pragma, starts=1)
    assert losses(story, tmp_path / "found", Random(0)) != []


def test_a_rollback_journal_that_is_synced_with_its_directory_would_do(tmp_path: Path) -> None:
    """EXTRA is durable too: what the check sees in DELETE mode is the missing sync, and no more."""
    (tmp_path / "written").mkdir()
    (tmp_path / "found").mkdir()
    settings = ("PRAGMA journal_mode = DELETE", "PRAGMA synchronous = EXTRA")
    story = write(tmp_path / "written", Random(1), *settings, starts=1)
    assert losses(story, tmp_path / "found", Random(0)) == []
