"""The journal's file: opened, judged, moved aside where it is damaged, and written.

Everything here waits for the disk and belongs into the journal's own thread.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final
from urllib.parse import quote

from bridge import __version__
from bridge.engine.records import Happening
from bridge.errors import LampwrightError
from bridge.service.journal_store import (
    SCHEMA,
    Batch,
    Kept,
    Store,
    happenings,
    kept,
    version_of,
)
from bridge.service.lock import AlreadyRunningError, CannotLockError, file_lock

#: sqlite.org/fileformat.html: the first bytes of every database.
_MAGIC: Final = b"SQLite format 3\0"
#: A reader that holds the file for a moment is waited for, in seconds.
_BUSY_S: Final = 2.0

#: What an error of the database means, by its name or the beginning of it.
_MEANINGS: Final = (
    ("SQLITE_FULL", "the disk is full"),
    ("SQLITE_READONLY", "it can be read only"),
    ("SQLITE_CANTOPEN", "it cannot be opened"),
    ("SQLITE_PERM", "it may not be opened"),
    ("SQLITE_BUSY", "another process holds it"),
    ("SQLITE_LOCKED", "another process holds it"),
    ("SQLITE_NOTADB", "it is damaged"),
    ("SQLITE_CORRUPT", "it is damaged"),
    ("SQLITE_IOERR", "the disk fails"),
)
_DAMAGED: Final = ("SQLITE_NOTADB", "SQLITE_CORRUPT")


class JournalError(LampwrightError):
    """The journal cannot be used; ``why`` says why, without its path."""

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(f"{path}: {why}")
        self.why = why


class DamagedJournalError(JournalError):
    """What is in the file cannot be trusted."""


@dataclass(frozen=True, slots=True)
class Opened:
    """How opening ended. Where ``why_off`` is not empty nothing can be written."""

    kept: Kept | None = None
    why_off: str = ""
    #: Where a damaged journal went.
    moved_to: Path | None = None
    damage: str = ""


class JournalFile:
    """One journal, one connection. Not for two threads at once."""

    def __init__(self, path: Path, wall_ms: Callable[[], int | None]) -> None:
        self._path, self._wall_ms = path, wall_ms
        self._lock = file_lock(path.with_name(f"{path.name}-lock"))
        self._is_locked = False
        self._connection: sqlite3.Connection | None = None
        self._store: Store | None = None

    def open(self) -> Opened:
        """Open it, whatever it takes, and say what was found."""
        try:
            return self._open()
        except DamagedJournalError as damage:
            return self._begin_anew(damage)
        except JournalError as error:
            return Opened(self._read_at_least(), error.why)

    def commit(self, batch: Batch) -> Opened | None:
        """Keep it or raise ``JournalError``; what opening found where it had to be opened again."""
        opened = None
        if self._store is None:
            opened = self.open()
            if opened.why_off:
                raise JournalError(self._path, opened.why_off)
        try:
            with _explained(self._path):
                if self._store is not None:
                    self._store.commit(batch)
        except JournalError:
            self._let_go()
            raise
        return opened

    def close(self) -> None:
        """Let go of it; what was committed is safe without."""
        self._let_go()
        if self._is_locked:
            self._lock.release()
            self._is_locked = False

    def _open(self) -> Opened:
        self._prepare_folder()
        self._refuse_what_is_not_ours()
        try:
            with _explained(self._path):
                self._connect()
        except JournalError:
            self._let_go()
            raise
        with _explained(self._path):
            return Opened(None if self._connection is None else kept(self._connection))

    def _connect(self) -> None:
        connection = sqlite3.connect(self._path, timeout=_BUSY_S, isolation_level=None)
        self._connection = connection
        _check(self._path, connection)
        store = Store(connection)
        store.prepare(f"lampwright {__version__}")
        self._store = store
        # The names of new files are in the directory, which nobody else syncs.
        _sync_folder(self._path.parent)

    def _prepare_folder(self) -> None:
        if not self._path.parent.is_dir():
            try:
                self._path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            except OSError as error:
                why = f"its directory cannot be made: {_reason(error)}"
                raise JournalError(self._path, why) from None
        if self._is_locked:
            return
        try:
            self._lock.take()
        except AlreadyRunningError:
            raise JournalError(self._path, "another process writes it") from None
        except CannotLockError:
            return  # where no file can be made, opening will say so in its own words
        self._is_locked = True

    def _refuse_what_is_not_ours(self) -> None:
        """Look before the first write, and leave alone what is none of ours or too new."""
        begin = _beginning(self._path)
        if not begin:
            return
        if not begin.startswith(_MAGIC):
            if _is_text(begin):
                raise JournalError(self._path, "it is a text file and no journal")
            raise DamagedJournalError(self._path, "it does not begin as a database does")
        with (
            _explained(self._path),
            closing(_reading(self._path, may_roll_back=True)) as connection,
        ):
            _refuse_version(self._path, version_of(connection), new=True)

    def _begin_anew(self, damage: DamagedJournalError) -> Opened:
        self._let_go()
        try:
            moved_to = _move_aside(self._path, self._wall_ms())
        except OSError as error:
            why = f"{damage.why}, and cannot be moved aside: {_reason(error)}"
            return Opened(None, why)
        try:
            self._open()
        except JournalError as error:
            return Opened(None, f"{error.why}; what is damaged was kept as {moved_to.name}")
        return Opened(None, "", moved_to, damage.why)

    def _read_at_least(self) -> Kept | None:
        """What can be read although nothing can be written."""
        with suppress(JournalError, OSError):
            self._refuse_what_is_not_ours()
            if _beginning(self._path):
                with _explained(self._path), closing(_reading(self._path)) as connection:
                    return kept(connection)
        return None

    def _let_go(self) -> None:
        connection, self._connection, self._store = self._connection, None, None
        if connection is not None:
            # What cannot be closed either is left to the system.
            with suppress(sqlite3.Error):
                connection.close()


def read_journal(path: Path) -> tuple[Kept, list[Happening]]:
    """A journal beside a daemon that may be writing it; raises ``JournalError``."""
    with _explained(path), closing(_reading(path)) as connection:
        # One transaction: states and history of the same instant.
        connection.execute("BEGIN")
        _refuse_version(path, version_of(connection), new=False)
        return kept(connection), happenings(connection)


def _refuse_version(path: Path, version: int | None, *, new: bool) -> None:
    """Refuse what is none of ours or too new, and nothing at all unless it may be ``new``."""
    if version is None and not new:
        raise JournalError(path, "it holds nothing yet")
    if version == -1:
        raise JournalError(path, "it is another program's database")
    if version is not None and version > SCHEMA:
        why = f"a newer version wrote it (schema {version}, this one knows {SCHEMA})"
        raise JournalError(path, why)


def _reading(path: Path, *, may_roll_back: bool = False) -> sqlite3.Connection:
    """The file for reading only, or to roll back a transaction that lost its power.

    sqlite.org/wal.html#readonly: where there is no log, and perhaps no leave to make one, the file
    must be declared to be still. Without a log nobody writes, and it is. A rollback journal is
    there only where the power went while the file was made.
    """
    how = "mode=ro"
    if _has_content(path, "-journal"):
        how = "mode=rw" if may_roll_back else "mode=ro"
    elif not _has_content(path, "-wal"):
        how = "mode=ro&immutable=1"
    address = f"file:{quote(os.fsencode(path.absolute()))}?{how}"
    return sqlite3.connect(address, uri=True, timeout=_BUSY_S, isolation_level=None)


def _has_content(path: Path, suffix: str) -> bool:
    try:
        return path.with_name(path.name + suffix).stat().st_size > 0
    except FileNotFoundError:
        return False


@contextmanager
def _explained(path: Path) -> Iterator[None]:
    """The database's errors as ours."""
    try:
        yield
    except sqlite3.Error as error:
        name = getattr(error, "sqlite_errorname", "")
        meaning = next((words for known, words in _MEANINGS if name.startswith(known)), "it fails")
        kind = DamagedJournalError if name.startswith(_DAMAGED) else JournalError
        raise kind(path, f"{meaning} ({str(error).lower()})") from None
    except OSError as error:
        raise JournalError(path, _reason(error)) from None


def _check(path: Path, connection: sqlite3.Connection) -> None:
    """sqlite.org/pragma.html#pragma_quick_check: everything but the agreement of indexes."""
    found = connection.execute("PRAGMA quick_check(1)").fetchone()
    if found != ("ok",):
        first_line = " ".join(str(found[0]).split())
        raise DamagedJournalError(path, f"it is damaged ({first_line})")


def _beginning(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(512)
    except FileNotFoundError:
        return b""
    except OSError as error:
        raise JournalError(path, _reason(error)) from None


def _is_text(begin: bytes) -> bool:
    try:
        text = begin.decode()
    except UnicodeDecodeError:
        return False
    return all(character.isprintable() or character in "\r\n\t" for character in text)


def _move_aside(path: Path, wall_ms: int | None) -> Path:
    """The file and what belongs to it get another name, which is returned."""
    when = "then" if wall_ms is None else datetime.fromtimestamp(wall_ms / 1000, UTC)
    stamp = when if isinstance(when, str) else when.strftime("%Y%m%dT%H%M%SZ")
    names = (f"{path.name}.damaged-{stamp}{more}" for more in ("", *map("-{}".format, range(99))))
    target = next(aside for name in names if not (aside := path.with_name(name)).exists())
    for suffix in ("-wal", "-shm", ""):
        with suppress(FileNotFoundError):
            path.with_name(path.name + suffix).rename(target.with_name(target.name + suffix))
    _sync_folder(path.parent)
    return target


def _sync_folder(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
