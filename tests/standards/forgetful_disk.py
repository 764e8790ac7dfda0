"""A disk that may forget what was not synced, below a real SQLite.

Everything that the database asks of its files is noted on the way; afterwards any instant can be
taken for that of a power loss. What is promised of such an instant is little (SQLite's own crash
tests assume no more, https://sqlite.org/testing.html section 3.3, and
https://sqlite.org/atomiccommit.html section 2):

1. What was written before a file's last sync is there.
2. Of what was written since, any sectors are there, and others are not. Where the file had grown,
   a sector that is not there holds zeros or anything.
3. That a file exists, or does not any more, is durable once its directory was synced. SQLite does
   that when a new journal or log is synced first, and when a file is deleted with that wish; up to
   then any number of the changes is forgotten, from the newest back.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Final

import apsw

SECTOR: Final = 512
#: What file systems hand to a disk at least.
BLOCK: Final = 4096


@dataclass
class _File:
    """One file's content: what is safe, and what was done to it since, in order."""

    safe: bytearray = field(default_factory=bytearray)
    since: list[tuple[int, bytes | None]] = field(default_factory=list)

    def sync(self) -> None:
        for offset, data in self.since:
            _apply(self.safe, offset, data)
        self.since.clear()

    def found(self, chance: Random) -> bytes:
        """What is found after a power loss."""
        content, survives = bytearray(self.safe), chance.choice((0.0, 0.5, 0.9, 1.0))
        for offset, data in self.since:
            if data is None:
                if chance.random() < survives:
                    _apply(content, offset, None)
                continue
            for begin in range(0, len(data), SECTOR):
                part = data[begin : begin + SECTOR]
                if chance.random() < survives:
                    _apply(content, offset + begin, part)
                elif offset + begin >= len(content) and chance.random() < 0.5:
                    _apply(
                        content, offset + begin, chance.choice((bytes, chance.randbytes))(len(part))
                    )
        return bytes(content)


@dataclass
class _Folder:
    """Which names lead to which files."""

    safe: dict[str, _File] = field(default_factory=dict)
    since: list[tuple[str, _File | None]] = field(default_factory=list)

    def now(self, changes: int | None = None) -> dict[str, _File]:
        """With the first so many changes since the last sync, or all."""
        names = dict(self.safe)
        for name, file in self.since[:changes]:
            if file is None:
                names.pop(name, None)
            else:
                names[name] = file
        return names

    def sync(self) -> None:
        self.safe = self.now()
        self.since.clear()


_Step = Callable[[_Folder], None]


class ForgetfulDisk:
    """Notes what happens to the files of one directory; registered under ``name``."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._steps: list[_Step] = []
        #: By the number of steps before it: what was said to the outside.
        self._said: list[tuple[int, int]] = []
        #: Whole blocks that a sync brings to the disk, in bytes; without the file system's own.
        self.synced_bytes = 0
        self.syncs = 0
        self._dirty: dict[str, set[int]] = {}
        self._notes = True
        self._system = _System(self)

    def __len__(self) -> int:
        return len(self._steps)

    def say(self, number: int) -> None:
        """From here on the outside relies on this number."""
        self._said.append((len(self._steps), number))

    def said_before(self, steps: int) -> int:
        """What the outside relied on at that instant; 0 for nothing yet."""
        return max((number for at, number in self._said if at <= steps), default=0)

    def lose_power(self, steps: int, chance: Random, target: Path) -> None:
        """Write what is found of the files where the power is lost after so many steps."""
        folder = _Folder()
        for step in self._steps[:steps]:
            step(folder)
        names = folder.now(chance.randint(0, len(folder.since)))
        for name, file in names.items():
            (target / name).write_bytes(file.found(chance))

    def stop_noting(self) -> None:
        """What is done from now on is not part of the story."""
        self._notes = False

    def close(self) -> None:
        """Nobody opens anything through it any more."""
        self._system.unregister()

    # What the files tell

    def created(self, name: str) -> None:
        """There is a new file."""
        self._note(lambda folder: folder.since.append((name, _File())))

    def deleted(self, name: str, *, is_synced: bool) -> None:
        """A file is gone."""

        def step(folder: _Folder) -> None:
            folder.since.append((name, None))
            if is_synced:
                folder.sync()

        self._note(step)

    def wrote(self, name: str, offset: int, data: bytes | None) -> None:
        """Data at an offset, or cut off there."""
        if data:
            blocks = range(offset // BLOCK, (offset + len(data) - 1) // BLOCK + 1)
            self._dirty.setdefault(name, set()).update(blocks)
        self._note(lambda folder: folder.now()[name].since.append((offset, data)))

    def synced(self, name: str, *, with_folder: bool) -> None:
        """A file was synced."""
        blocks = self._dirty.pop(name, set())
        if self._notes:
            self.syncs += 1
            self.synced_bytes += BLOCK * len(blocks)

        def step(folder: _Folder) -> None:
            folder.now()[name].sync()
            if with_folder:
                folder.sync()

        self._note(step)

    def _note(self, step: _Step) -> None:
        if self._notes:
            self._steps.append(step)


class _System(apsw.VFS):
    def __init__(self, disk: ForgetfulDisk) -> None:
        super().__init__(disk.name, "")
        self._disk = disk

    def xOpen(self, name: str | apsw.URIFilename | None, flags: list[int]) -> _Noting:  # noqa: N802 - SQLite's name
        return _Noting(self._disk, name, flags)

    def xDelete(self, filename: str, syncdir: bool) -> None:  # noqa: N802 - SQLite's own
        super().xDelete(filename, syncdir)
        self._disk.deleted(Path(filename).name, is_synced=syncdir)


class _Noting(apsw.VFSFile):
    def __init__(
        self, disk: ForgetfulDisk, name: str | apsw.URIFilename | None, flags: list[int]
    ) -> None:
        path = Path(name.filename() if isinstance(name, apsw.URIFilename) else str(name))
        is_new = not path.exists()
        super().__init__("", name, flags)
        self._disk, self._name = disk, path.name
        journals = apsw.SQLITE_OPEN_MAIN_JOURNAL | apsw.SQLITE_OPEN_WAL
        self._syncs_folder = is_new and bool(flags[0] & journals)
        if is_new:
            disk.created(self._name)

    def xWrite(self, data: bytes, offset: int) -> None:  # noqa: N802 - SQLite's name
        super().xWrite(data, offset)
        self._disk.wrote(self._name, offset, bytes(data))

    def xTruncate(self, newsize: int) -> None:  # noqa: N802 - SQLite's name
        super().xTruncate(newsize)
        self._disk.wrote(self._name, newsize, None)

    def xSync(self, _flags: int) -> None:  # noqa: N802 - SQLite's name
        # Not passed on: no power is lost here, and a real sync takes its time.
        self._disk.synced(self._name, with_folder=self._syncs_folder)
        self._syncs_folder = False


def _apply(content: bytearray, offset: int, data: bytes | None) -> None:
    if data is None:
        del content[offset:]
        return
    content.extend(bytes(max(0, offset - len(content))))
    content[offset : offset + len(data)] = data
