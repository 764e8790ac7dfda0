"""The journal's file, on a real disk, and everything that may be wrong with it."""

from __future__ import annotations

import resource
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from bridge.engine.records import StateRecord
from bridge.service.journal_file import JournalError, JournalFile, Opened, read_journal
from bridge.service.journal_store import PAGE_BYTES, SCHEMA, Batch, happenings
from tests.service.records import alarm, line

#: 2026-11-25 18:05 UTC.
WALL_MS = 1_795_629_900_000


def journal(folder: Path) -> JournalFile:
    """The journal in a folder of its own below this one."""
    return JournalFile(folder / "state" / "it.db", lambda: WALL_MS)


def restored(opened: Opened) -> tuple[StateRecord, ...]:
    """The records, where there are any and nothing is wrong."""
    assert (opened.why_off, opened.damage) == ("", "")
    return opened.kept.records if opened.kept else ()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A journal that holds one alarm and one line, cleanly closed."""
    file = journal(tmp_path)
    assert restored(file.open()) == ()
    file.commit(Batch((alarm(1),), (line(1),), 5))
    file.close()
    return tmp_path / "state" / "it.db"


@contextmanager
def files_of(path: Path) -> Iterator[None]:
    """Nothing in the folder is changed, made or taken away meanwhile, but for the lock."""

    def content() -> dict[str, bytes]:
        lock = f"{path.name}-lock"
        return {each.name: each.read_bytes() for each in path.parent.iterdir() if each.name != lock}

    before = content()
    yield
    assert content() == before


def test_what_one_start_leaves_the_next_one_finds(path: Path, tmp_path: Path) -> None:
    """States and until when all was heard; only its own user may look into the folder."""
    file = journal(tmp_path)
    opened = file.open()
    assert restored(opened) == (alarm(1),)
    assert opened.kept
    assert opened.kept.heard_until_wall_ms == 5
    assert path.parent.stat().st_mode & 0o777 == 0o700
    file.close()


def test_what_is_written_after_an_end_opens_it_again(path: Path, tmp_path: Path) -> None:
    """And says what was found."""
    assert path.exists()
    file = journal(tmp_path)
    opened = file.commit(Batch((alarm(2),)))
    assert opened
    assert restored(opened) == (alarm(1),)
    assert file.commit(Batch((alarm(3),))) is None
    file.close()
    assert restored(file.open()) == (alarm(3),)
    file.close()


def test_one_process_at_a_time_writes_a_journal(path: Path, tmp_path: Path) -> None:
    """Two sites in one journal would restore each other's alarms."""
    assert path.exists()
    first, second = journal(tmp_path), journal(tmp_path)
    first.open()
    opened = second.open()
    assert opened.why_off == "another process writes it"
    with pytest.raises(JournalError, match="another process writes it"):
        second.commit(Batch((alarm(2),)))
    first.close()
    assert restored(second.open()) == (alarm(1),)
    second.close()


NOT_OURS = [
    (b"zone: Europe/London\nprinters: {}\n", "it is a text file and no journal"),
    ("Grüße\n".encode(), "it is a text file and no journal"),
]


@pytest.mark.parametrize(("content", "why"), NOT_OURS)
def test_a_text_file_is_left_alone(tmp_path: Path, content: bytes, why: str) -> None:
    """Whoever names a wrong file loses nothing by it."""
    path = tmp_path / "state" / "it.db"
    path.parent.mkdir()
    path.write_bytes(content)
    file = journal(tmp_path)
    with files_of(path):
        assert file.open() == Opened(None, why)
        with pytest.raises(JournalError, match=why):
            file.commit(Batch((alarm(1),)))
    file.close()


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    """Even an unfinished one of whoever."""
    path = tmp_path / "state" / "it.db"
    path.parent.mkdir()
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE prices (pence)")
    connection.close()
    file = journal(tmp_path)
    with files_of(path):
        assert file.open().why_off == "it is another program's database"
    file.close()


@pytest.mark.parametrize("is_clean", [True, False])
def test_a_newer_versions_journal_is_left_alone(path: Path, tmp_path: Path, is_clean: bool) -> None:
    """Cleanly closed or with its log: what it says nobody here can know, and it says so."""
    connection = sqlite3.connect(path)
    connection.execute("UPDATE meta SET value = ? WHERE name = 'schema'", (SCHEMA + 1,))
    connection.commit()
    if not is_clean:
        for suffix in ("", "-wal", "-shm"):
            shutil.copy(f"{path}{suffix}", f"{tmp_path}/copy{suffix}")
    connection.close()
    if not is_clean:
        for suffix in ("", "-wal", "-shm"):
            shutil.copy(f"{tmp_path}/copy{suffix}", f"{path}{suffix}")
    before, file = path.read_bytes(), journal(tmp_path)
    expected = f"a newer version wrote it (schema {SCHEMA + 1}, this one knows {SCHEMA})"
    assert file.open() == Opened(None, expected)
    file.close()
    assert path.read_bytes() == before
    with pytest.raises(JournalError, match="a newer version wrote it"):
        read_journal(path)


def _zero(path: Path, begin: int, end: int) -> None:
    content = bytearray(path.read_bytes())
    content[begin:end] = bytes(min(end, len(content)) - begin)
    path.write_bytes(bytes(content))


DAMAGES = [
    ("header", 0, 16),
    ("first page", 0, 1024),
    ("every page but the first", 1024, 1 << 20),
    ("everything", 0, 1 << 20),
]


@pytest.mark.parametrize(("what", "begin", "end"), DAMAGES)
def test_a_damaged_journal_is_moved_aside(
    path: Path, tmp_path: Path, what: str, begin: int, end: int
) -> None:
    """It is kept under another name, a new one begins, and it is said why."""
    _zero(path, begin, end)
    damaged, file = path.read_bytes(), journal(tmp_path)
    opened = file.open()
    assert opened.moved_to == path.with_name("it.db.damaged-20261125T180500Z"), what
    assert opened.moved_to.read_bytes() == damaged
    assert (opened.kept, opened.why_off) == (None, "")
    assert opened.damage
    file.commit(Batch((alarm(2),)))
    file.close()
    again = journal(tmp_path)
    assert restored(again.open()) == (alarm(2),)
    again.close()


def test_no_damaged_journal_replaces_another(path: Path, tmp_path: Path) -> None:
    """Two in one second have two names."""
    names = []
    for _ in range(3):
        _zero(path, 0, 1024)
        file = journal(tmp_path)
        moved_to = file.open().moved_to
        assert moved_to
        names.append(moved_to.name.removeprefix("it.db.damaged-"))
        file.close()
    stamp = "20261125T180500Z"
    assert names == [stamp, f"{stamp}-0", f"{stamp}-1"]


def test_damage_that_shows_while_writing_costs_one_record(path: Path, tmp_path: Path) -> None:
    """The record is refused, the next one begins a new journal, and it is said where the old is."""
    file = journal(tmp_path)
    assert restored(file.open()) == (alarm(1),)
    # Whatever the file's own connection has read is no longer current, and is read again.
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("UPDATE meta SET value = 'other' WHERE name = 'written_by'")
    assert other.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone() == (0, 0, 0)
    other.close()
    _zero(path, 1024, 1 << 20)
    with pytest.raises(JournalError, match="it is damaged"):
        file.commit(Batch((alarm(2),), (line(2),)))
    opened = file.commit(Batch((alarm(3),), (line(3),)))
    assert opened
    assert opened.moved_to
    assert opened.damage.startswith("it is damaged")
    assert file.commit(Batch((alarm(4, "jam"),))) is None
    file.close()
    again = journal(tmp_path)
    assert restored(again.open()) == (alarm(4, "jam"), alarm(3))
    again.close()


def test_a_state_that_its_index_does_not_find_is_damage(path: Path, tmp_path: Path) -> None:
    """The quick check passes it; reading the states by their keys does not."""
    connection = sqlite3.connect(path)
    where = "SELECT rootpage FROM sqlite_schema WHERE name = 'state'"
    (page,) = connection.execute(where).fetchone()
    connection.close()
    content = bytearray(path.read_bytes())
    # sqlite.org/fileformat.html: a leaf's cell is its length, here in two bytes, then its row.
    begin = (page - 1) * PAGE_BYTES
    cell = begin + int.from_bytes(content[begin + 8 : begin + 10], "big")
    assert content[cell] > 127
    assert content[cell + 2] == 1
    content[cell + 2] = 2
    path.write_bytes(bytes(content))
    file = journal(tmp_path)
    opened = file.open()
    assert opened.moved_to
    assert opened.damage.startswith("it is damaged")
    file.close()


def test_a_damaged_journal_takes_its_log_along(path: Path, tmp_path: Path) -> None:
    """What the old one's log says must not get into the new one."""
    file = journal(tmp_path)
    file.open()
    file.commit(Batch((alarm(7, "jam"),)))
    log = path.with_name("it.db-wal").read_bytes()
    file.close()
    path.with_name("it.db-wal").write_bytes(log)
    _zero(path, 0, 1024)
    moved_to = file.open().moved_to
    assert moved_to
    assert Path(f"{moved_to}-wal").read_bytes() == log
    file.commit(Batch((alarm(2),)))
    file.close()
    again = journal(tmp_path)
    assert restored(again.open()) == (alarm(2),)
    again.close()


def test_where_no_directory_can_be_made_it_says_so(tmp_path: Path) -> None:
    """A file stands in the way."""
    (tmp_path / "state").write_text("in the way")
    file = journal(tmp_path)
    opened = file.open()
    assert opened.kept is None
    assert opened.why_off == "its directory cannot be made: file exists"
    file.close()


#: Opens a journal, tells why it cannot be written and what was restored, then tries to write.
_LOOK = """
import os, sys
from pathlib import Path
from bridge.service.journal_file import JournalError, JournalFile
from bridge.service.journal_store import Batch
from tests.service.records import alarm
path = Path(sys.argv[1])
if os.geteuid() == 0:
    # To this user everything may be written.
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)
file = JournalFile(path, lambda: None)
opened = file.open()
print(opened.why_off)
print([each.occurrence for each in opened.kept.records] if opened.kept else None)
try:
    file.commit(Batch((alarm(2),)))
    print("kept")
except JournalError as error:
    print(error.why)
"""


def _looked(path: Path, program: str = _LOOK) -> list[str]:
    done = subprocess.run(
        [sys.executable, "-c", program, str(path)],
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )
    assert done.stderr == ""
    return done.stdout.splitlines()


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that another user may look into; pytest's own are closed to others."""
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        yield Path(name)


@pytest.mark.parametrize("is_clean", [True, False])
def test_a_read_only_journal_is_restored_and_not_written(open_folder: Path, is_clean: bool) -> None:
    """Acknowledged stays acknowledged, and it is said that nothing more is kept."""
    file = journal(open_folder)
    file.open()
    file.commit(Batch((alarm(1),)))
    path = open_folder / "state" / "it.db"
    if is_clean:
        file.close()
    else:
        for suffix in ("", "-wal", "-shm"):
            shutil.copy(f"{path}{suffix}", f"{open_folder}/copy{suffix}")
        file.close()
        for suffix in ("", "-wal", "-shm"):
            shutil.copy(f"{open_folder}/copy{suffix}", f"{path}{suffix}")
    for each in path.parent.iterdir():
        each.chmod(0o444)
    path.parent.chmod(0o555)
    why_off, records, answer = _looked(path)
    path.parent.chmod(0o755)
    assert "read only" in why_off or "cannot be opened" in why_off
    assert records == "['0-1']"
    assert answer == why_off


_FILL = """
import resource, sys
from pathlib import Path
from bridge.service.journal_file import JournalError, JournalFile
from bridge.service.journal_store import Batch
from tests.service.records import alarm, line
path = Path(sys.argv[1])
file = JournalFile(path, lambda: None)
file.open()
file.commit(Batch((alarm(1),)))
unlimited = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, unlimited))
number = 1
try:
    while number < 1000:
        file.commit(Batch((alarm(number + 1),), (line(number),)))
        number += 1
except JournalError as error:
    print(error.why)
resource.setrlimit(resource.RLIMIT_FSIZE, (unlimited, unlimited))
print(file.open().kept.records == (alarm(number),))
file.commit(Batch((alarm(5000),)))
file.close()
print(file.open().kept.records == (alarm(5000),))
"""


def test_a_file_that_cannot_grow_is_said_and_written_again_later(open_folder: Path) -> None:
    """A limit of the system stands for a full card: what was committed is whole, and it goes on."""
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[1] == resource.RLIM_INFINITY
    why, *others = _looked(open_folder / "it.db", _FILL)
    assert why.startswith(("the disk fails", "the disk is full"))
    assert others == ["True", "True"]


_FILL_CARD = """
import sys
from pathlib import Path
from bridge.service.journal_file import JournalError, JournalFile
from bridge.service.journal_store import Batch
from tests.service.records import alarm
path = Path(sys.argv[1])
file = JournalFile(path, lambda: None)
file.open()
file.commit(Batch((alarm(1),)))
filler = path.with_name("filler")
with filler.open("wb", buffering=0) as out:
    try:
        while out.write(bytes(4096)):
            pass
    except OSError as error:
        print(error.strerror)
number = 1
try:
    while number < 1000:
        file.commit(Batch((alarm(number + 1, f"alarm-{number}"),)))
        number += 1
except JournalError as error:
    print(error.why)
filler.unlink()
file.commit(Batch((alarm(5000),)))
file.close()
print(len(file.open().kept.records) == number)
"""


def test_a_full_card_is_said_and_written_again_when_there_is_room(tmp_path: Path) -> None:
    """A file system of its own, filled to the last block: what was committed is all there."""
    mount = 'mount -t tmpfs -o size=300k none "$1" && exec "$2" -c "$3" "$1/it.db"'
    program = ["unshare", "--map-root-user", "--mount", "sh", "-c", mount, "sh"]
    if (
        shutil.which("unshare") is None
        or subprocess.run([*program[:3], "true"], check=False).returncode
    ):
        pytest.skip("no file system can be mounted here")
    done = subprocess.run(
        [*program, str(tmp_path), sys.executable, _FILL_CARD],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.stderr == ""
    no_space, why, is_whole = done.stdout.splitlines()
    assert no_space == "No space left on device"
    assert why.startswith("the disk is full")
    assert is_whole == "True"


def test_a_reader_looks_on_while_it_is_written(path: Path, tmp_path: Path) -> None:
    """Neither waits for the other, and the reader sees what was committed when it began."""
    file = journal(tmp_path)
    file.open()
    reading = sqlite3.connect(f"file:{path}?mode=ro", uri=True, isolation_level=None)
    reading.execute("BEGIN")
    assert happenings(reading) == [line(1)]
    file.commit(Batch((), (line(2),)))
    assert happenings(reading) == [line(1)]
    assert read_journal(path)[1] == [line(1), line(2)]
    reading.close()
    file.close()
    assert read_journal(path)[1] == [line(1), line(2)]


@pytest.mark.parametrize("content", [None, b"", b"no journal\n", bytes(600)])
def test_a_reader_refuses_what_is_no_journal(tmp_path: Path, content: bytes | None) -> None:
    """One clear error, and the file stays as it is."""
    path = tmp_path / "it.db"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(JournalError):
        read_journal(path)
