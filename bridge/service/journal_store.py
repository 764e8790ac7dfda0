"""What the journal keeps as tables, and every statement that is run on them.

The statements go through a connection of any kind, so that the check of power loss runs these and
no others on a file system that forgets what was not synced.

Why write-ahead logging at FULL (sqlite.org/wal.html, sqlite.org/pragma.html#pragma_synchronous):

- With a rollback journal a transaction is committed by deleting that journal, and at FULL nobody
  syncs the directory after that: "commit followed closely by a power loss" can come back undone.
  That needs EXTRA, and four syncs. With a write-ahead log at FULL one sync of the log after each
  transaction makes it durable; at NORMAL "a transaction might roll back following a power loss".
- A rollback journal writes every page twice each time. The log writes it once, and of a page that
  changed a hundred times only the last one goes into the database, at the next checkpoint.
- Whoever reads history neither waits for the daemon nor holds it up.

The pages are small because a commit changes a row or two in three pages and writes whole pages: an
ordinary evening (tests/service/test_write_budget.py) brings 1.8 MB in 330 syncs to the card, with
the usual pages of 4096 bytes 2.9 MB, counted in whole blocks of the file system.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final, Protocol, TypeAlias

from bridge.engine.records import Happening, StateRecord, key_of
from bridge.recording.errors import RecordingError
from bridge.recording.records import record_of, record_plain

#: What stands in a file of ours (pragma application_id), "LAMP" in ASCII.
APPLICATION: Final = 0x4C414D50
#: Which tables and records; a journal with a higher one is left alone.
SCHEMA: Final = 1

#: History goes back so far, and is never longer than so many rows (some 10 MB).
KEPT_DAYS: Final = 400
KEPT_ROWS: Final = 50_000
#: What is too much goes in small steps, one in so many commits: each deletion is a write too.
_TIDY_EVERY: Final = 20
_TIDY_ROWS: Final = 500
_DAY_MS: Final = 24 * 60 * 60 * 1000

PAGE_BYTES: Final = 1024
#: For each connection that writes, in this order.
SETTINGS: Final = (
    f"PRAGMA page_size = {PAGE_BYTES}",
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    # In pages: after about a megabyte of log what changed goes into the database.
    "PRAGMA wal_autocheckpoint = 1000",
    "PRAGMA temp_store = MEMORY",
    # sqlite.org/security.html, for a file that may be damaged.
    "PRAGMA cell_size_check = ON",
    "PRAGMA trusted_schema = OFF",
)

_TABLES: Final = (
    "CREATE TABLE meta (name TEXT PRIMARY KEY, value) WITHOUT ROWID",
    # With row numbers, so that a state that replaces another leaves the index as it is.
    """CREATE TABLE state (kind TEXT NOT NULL, name TEXT NOT NULL, whose TEXT NOT NULL,
        record TEXT NOT NULL, PRIMARY KEY (kind, name, whose))""",
    """CREATE TABLE history (id INTEGER PRIMARY KEY, wall_ms INTEGER, subject TEXT NOT NULL,
        what TEXT NOT NULL, printer TEXT NOT NULL, segment TEXT NOT NULL, name TEXT NOT NULL,
        cause TEXT NOT NULL, occurrence TEXT NOT NULL, who TEXT NOT NULL, after_ms INTEGER,
        progress REAL)""",
)
_PUT_META: Final = (
    "INSERT INTO meta (name, value) VALUES (?, ?)"
    " ON CONFLICT (name) DO UPDATE SET value = excluded.value"
)
_PUT_STATE: Final = (
    "INSERT INTO state (kind, name, whose, record) VALUES (?, ?, ?, ?)"
    " ON CONFLICT (kind, name, whose) DO UPDATE SET record = excluded.record"
)
_FIELDS: Final = (
    "wall_ms",
    "subject",
    "what",
    "printer",
    "segment",
    "name",
    "cause",
    "occurrence",
    "who",
    "after_ms",
    "progress",
)
_COLUMNS: Final = ", ".join(_FIELDS)
_PUT_HAPPENING: Final = f"INSERT INTO history ({_COLUMNS}) VALUES ({', '.join('?' * len(_FIELDS))})"  # noqa: S608 - of names above
_TIDY_EXCESS: Final = (
    "DELETE FROM history WHERE id IN (SELECT id FROM history"
    " WHERE id <= (SELECT max(id) FROM history) - ? ORDER BY id LIMIT ?)"
)
_TIDY_AGED: Final = (
    "DELETE FROM history WHERE id IN (SELECT id FROM"
    " (SELECT id, wall_ms FROM history ORDER BY id LIMIT ?) WHERE wall_ms < ?)"
)

Value: TypeAlias = str | int | float | None


class Connection(Protocol):
    """An open database that runs one statement at a time and begins no transaction by itself."""

    def execute(self, sql: str, parameters: Sequence[Value] = (), /) -> Iterable[Any]:
        """Run it; its rows."""
        ...


@dataclass(frozen=True, slots=True)
class Batch:
    """What goes into one transaction."""

    states: tuple[StateRecord, ...] = ()
    history: tuple[Happening, ...] = ()
    #: Until when the bridge is known to have heard; ``None`` where that is not written down now.
    heard_until_wall_ms: int | None = None
    #: No state that is there was restored: none of them holds any more.
    anew: bool = False


@dataclass(frozen=True, slots=True)
class Kept:
    """What an earlier start left. ``unreadable`` says of each record that is none of ours why."""

    records: tuple[StateRecord, ...] = ()
    heard_until_wall_ms: int | None = None
    unreadable: tuple[str, ...] = ()


def version_of(connection: Connection) -> int | None:
    """The schema of a journal, ``None`` of an empty database, -1 of somebody else's."""
    if not _rows(connection, "SELECT 1 FROM sqlite_schema LIMIT 1"):
        return None
    if _rows(connection, "PRAGMA application_id") != [(APPLICATION,)]:
        return -1
    found = _rows(connection, "SELECT value FROM meta WHERE name = 'schema'")
    return found[0][0] if found and type(found[0][0]) is int else -1


def kept(connection: Connection) -> Kept:
    """Everything that crosses a start."""
    records: list[StateRecord] = []
    unreadable: list[str] = []
    rows = _rows(connection, "SELECT kind, name, whose, record FROM state ORDER BY 1, 2, 3")
    for kind, name, whose, text in rows:
        try:
            records.append(record_of(kind, json.loads(text)))
        except (RecordingError, ValueError, TypeError) as error:
            unreadable.append(f"{kind} {name} {whose}".rstrip() + f": {error}")
    found = _rows(connection, "SELECT value FROM meta WHERE name = 'heard_until_wall_ms'")
    heard = found[0][0] if found and type(found[0][0]) is int else None
    return Kept(tuple(records), heard, tuple(unreadable))


def happenings(connection: Connection) -> list[Happening]:
    """All of history in the order in which it was written down."""
    rows = connection.execute(f"SELECT {_COLUMNS} FROM history ORDER BY id")  # noqa: S608 - of names above
    return [Happening(**dict(zip(_FIELDS, row, strict=True))) for row in rows]


class Store:
    """The tables of one open database that may be written."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._commits = 0

    def prepare(self, written_by: str) -> None:
        """Make what is missing. It writes in any case, to learn whether that is possible."""
        for pragma in SETTINGS:
            self._run(pragma)
        if _rows(self._connection, "PRAGMA journal_mode") != [("wal",)]:
            # A file system without shared memory refuses the log without an error.
            self._run("PRAGMA synchronous = EXTRA")
        with _transaction(self._connection):
            if version_of(self._connection) is None:
                self._run(f"PRAGMA application_id = {APPLICATION}")
                for table in _TABLES:
                    self._run(table)
                self._run(_PUT_META, ("schema", SCHEMA))
            self._run(_PUT_META, ("written_by", written_by))

    def commit(self, batch: Batch) -> None:
        """Keep all of it, or raise the database's error and keep nothing of it."""
        with _transaction(self._connection):
            if batch.anew:
                self._run("DELETE FROM state")
            for record in batch.states:
                self._run(_PUT_STATE, (*key_of(record), _text(record)))
            for each in batch.history:
                self._run(_PUT_HAPPENING, [_value(getattr(each, field)) for field in _FIELDS])
            if batch.heard_until_wall_ms is not None:
                self._run(_PUT_META, ("heard_until_wall_ms", batch.heard_until_wall_ms))
            self._commits += 1
            if batch.history and self._commits % _TIDY_EVERY == 0:
                self._tidy(batch.history[-1].wall_ms)

    def _tidy(self, wall_ms: int | None) -> None:
        self._run(_TIDY_EXCESS, (KEPT_ROWS, _TIDY_ROWS))
        if wall_ms is not None:
            self._run(_TIDY_AGED, (_TIDY_ROWS, wall_ms - KEPT_DAYS * _DAY_MS))

    def _run(self, sql: str, parameters: Sequence[Value] = ()) -> None:
        _rows(self._connection, sql, parameters)


@contextmanager
def _transaction(connection: Connection) -> Iterator[None]:
    """All or nothing. After an error it is left open, and closing the connection undoes it.

    Some errors undo it by themselves, so that a ROLLBACK would be a second error; and whoever sees
    an error closes the connection, to trust no page of its cache again.
    """
    _rows(connection, "BEGIN IMMEDIATE")
    yield
    _rows(connection, "COMMIT")


def _rows(connection: Connection, sql: str, parameters: Sequence[Value] = ()) -> list[Any]:
    return list(connection.execute(sql, parameters))


def _value(value: Value) -> Value:
    """A device's own words may be no text at all: half a surrogate pair has no UTF-8."""
    return value.encode("utf-8", "replace").decode() if isinstance(value, str) else value


def _text(record: StateRecord) -> str:
    return json.dumps(record_plain(record), sort_keys=True, separators=(",", ":"))
