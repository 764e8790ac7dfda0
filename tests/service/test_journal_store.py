"""The tables of the journal, on a real database in memory."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.engine.records import Happening, StateRecord
from bridge.service.journal_store import (
    KEPT_DAYS,
    KEPT_ROWS,
    SCHEMA,
    Batch,
    Store,
    happenings,
    kept,
    version_of,
)
from tests.service.records import alarm, hold, line

DAY_MS = 24 * 60 * 60 * 1000


@pytest.fixture
def connection() -> Iterator[sqlite3.Connection]:
    """An empty database."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    yield connection
    connection.close()


@pytest.fixture
def store(connection: sqlite3.Connection) -> Store:
    """A journal that was begun."""
    store = Store(connection)
    store.prepare("lampwright test")
    return store


def test_a_journal_says_what_wrote_it(connection: sqlite3.Connection, store: Store) -> None:
    """Its schema and the program's version; preparing it twice changes the program's."""
    store.prepare("lampwright next")
    assert version_of(connection) == SCHEMA
    assert dict(connection.execute("SELECT name, value FROM meta")) == {
        "schema": SCHEMA,
        "written_by": "lampwright next",
    }


@pytest.mark.parametrize(("journal_mode", "synchronous"), [("wal", 2), ("memory", 3)])
def test_a_commit_is_durable_with_a_log_or_without(
    tmp_path: Path, journal_mode: str, synchronous: int
) -> None:
    """FULL is enough with a log; where there can be none, only EXTRA is."""
    place = tmp_path / "it.db" if journal_mode == "wal" else ":memory:"
    connection = sqlite3.connect(place, isolation_level=None)
    Store(connection).prepare("lampwright test")
    assert connection.execute("PRAGMA journal_mode").fetchone() == (journal_mode,)
    assert connection.execute("PRAGMA synchronous").fetchone() == (synchronous,)
    connection.close()


FOREIGN = [
    ([], None),
    (["CREATE TABLE meta (name, value)", "INSERT INTO meta VALUES ('schema', 1)"], -1),
    (["CREATE TABLE prices (pence)"], -1),
    (["PRAGMA application_id = 0x4C414D50", "CREATE TABLE meta (name, value)"], -1),
]


@pytest.mark.parametrize(("statements", "expected"), FOREIGN)
def test_what_is_no_journal_is_known(
    connection: sqlite3.Connection, statements: list[str], expected: int | None
) -> None:
    """Nothing yet, or another program's, even where its tables are named as ours."""
    for statement in statements:
        connection.execute(statement)
    assert version_of(connection) == expected


def test_the_last_state_under_each_key_is_kept(
    connection: sqlite3.Connection, store: Store
) -> None:
    """A newer one replaces it; another alarm, printer or kind does not."""
    states: tuple[StateRecord, ...] = (alarm(1), alarm(2, printer="plover"), hold("shelf"))
    store.commit(Batch(states))
    store.commit(Batch((alarm(3), hold("shelf", None)), heard_until_wall_ms=77))
    found = kept(connection)
    assert found.records == (alarm(3), states[1], hold("shelf", None))
    assert (found.heard_until_wall_ms, found.unreadable) == (77, ())


def test_what_was_not_restored_does_not_come_back(
    connection: sqlite3.Connection, store: Store
) -> None:
    """A start that could not read the states makes them anew; history stays."""
    store.commit(Batch((alarm(1), hold("shelf")), (line(1),)))
    store.commit(Batch((alarm(2, "jam"),), anew=True))
    assert kept(connection).records == (alarm(2, "jam"),)
    assert happenings(connection) == [line(1)]


@pytest.mark.parametrize(
    "text", ["", "[", "{}", "[1]", "null", '{"segment": 3}', '{"segment": "shelf", "more": 1}']
)
def test_a_record_that_cannot_be_read_costs_no_other(
    connection: sqlite3.Connection, store: Store, text: str
) -> None:
    """It is named, and left out."""
    store.commit(Batch((alarm(1),)))
    connection.execute("INSERT INTO state VALUES ('hold', 'shelf', '', ?)", (text,))
    connection.execute("UPDATE meta SET value = 'noon' WHERE name = 'written_by'")
    found = kept(connection)
    assert found.records == (alarm(1),)
    assert [each.split(":")[0] for each in found.unreadable] == ["hold shelf"]


def test_until_when_all_was_heard_is_a_number_or_nothing(
    connection: sqlite3.Connection, store: Store
) -> None:
    """Whatever else stands there."""
    store.commit(Batch(heard_until_wall_ms=5))
    connection.execute("UPDATE meta SET value = 'noon' WHERE name LIKE 'heard%'")
    assert kept(connection).heard_until_wall_ms is None


LINES = [
    Happening("start", "started", None),
    Happening("segment", "feed-me", 5, "kestrel", "frame", "out of material", "it is"),
    Happening("alarm", "acknowledged", 6, "kestrel", "", "jam", "", "0-1", "Ada", 900),
    Happening("job", "vanished", 7, "plover", "", "tug", after_ms=60_000, progress=0.63),
    Happening("job", "completed", 8, name="Grüße\x00\n"),
]


def test_lines_come_back_as_they_went_in_order(
    connection: sqlite3.Connection, store: Store
) -> None:
    """Every field, unknown ones too."""
    store.commit(Batch((), tuple(LINES[:2])))
    store.commit(Batch((), tuple(LINES[2:])))
    assert happenings(connection) == LINES


def test_words_that_are_no_text_do_not_stop_the_journal(
    connection: sqlite3.Connection, store: Store
) -> None:
    """A printer may name a job by half a surrogate pair."""
    name = "tug \ud800"
    store.commit(Batch((replace(alarm(1), when=name),), (line(1, name=name),)))
    assert happenings(connection) == [line(1, name="tug ?")]
    assert kept(connection).records == (replace(alarm(1), when=name),)


def test_an_error_keeps_nothing_of_a_batch(connection: sqlite3.Connection, store: Store) -> None:
    """States, history and the time are there together or not at all, once it is closed."""
    connection.execute("DROP TABLE history")
    with pytest.raises(sqlite3.OperationalError):
        store.commit(Batch((alarm(1),), (line(1),), 5))
    connection.rollback()
    found = kept(connection)
    assert (found.records, found.heard_until_wall_ms) == ((), None)


def test_history_is_bounded_in_rows(connection: sqlite3.Connection, store: Store) -> None:
    """In small steps: the oldest go, and it never grows beyond a step more."""
    connection.execute(
        "INSERT INTO history (wall_ms, subject, what, printer, segment, name, cause, occurrence,"
        " who) WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ?)"
        " SELECT i, 'segment', 'ready', '', 'shelf', '', '', '', '' FROM n",
        (KEPT_ROWS,),
    )
    most = 0
    for number in range(60):
        store.commit(Batch((), (line(KEPT_ROWS + number),) * 20))
        most = max(most, connection.execute("SELECT count(*) FROM history").fetchone()[0])
    assert KEPT_ROWS < most <= KEPT_ROWS + 400
    times = [each.wall_ms for each in happenings(connection)]
    assert times[-1] == KEPT_ROWS + 59
    assert times[0] != 1


def test_history_is_bounded_in_age(connection: sqlite3.Connection, store: Store) -> None:
    """Lines older than is kept go, not all at once; without a clock none does."""
    newest = (KEPT_DAYS + 1) * DAY_MS
    store.commit(Batch((), (line(DAY_MS - 1),) * 700 + (line(DAY_MS + 100),)))
    unknown = Happening("start", "started", None)
    for _ in range(20):
        store.commit(Batch((), (unknown,)))
    assert len(happenings(connection)) == 701 + 20
    counts = []
    for number in range(40):
        store.commit(Batch((), (line(newest + number),)))
        counts.append(len(happenings(connection)))
    assert counts[-1] == 1 + 20 + 40
    assert min(counts) > 1 + 20
    assert happenings(connection)[0] == line(DAY_MS + 100)
