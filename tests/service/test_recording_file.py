"""The files of a recording: bounded, each replayable from its own start, nobody else's replaced."""

from __future__ import annotations

import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from bridge.engine.events import Heard, SourceUp
from bridge.facts.moment import Moment
from bridge.recording.lines import Entry, Head, Mark, entries, joined
from bridge.recording.replaying import Replay, Verdict
from bridge.service.recording_file import (
    LEAST_BYTES,
    USUAL_BYTES,
    Happened,
    RecordingFile,
    RecordingFileError,
)
from bridge.settings.load import load_texts
from tests.recording.evening import an_evening


def _recorded(path: Path, happened: list[Happened], limit_bytes: int = USUAL_BYTES) -> None:
    file = RecordingFile(path, limit_bytes, "0.1")
    for begin in range(0, len(happened), 100):
        file.write(happened[begin : begin + 100])
    file.close()


def _entries(path: Path) -> Iterator[Entry]:
    return entries(path.read_text("ascii").splitlines(keepends=True), load_texts)


def _replayed(*paths: Path) -> Replay:
    replay = Replay()
    for entry in joined(map(_entries, paths)):
        replay.take(entry)
    return replay


def test_an_evening_is_one_file_that_replays(tmp_path: Path) -> None:
    """Marks after the settings, every thousand events, and at the end."""
    path = tmp_path / "tonight"
    _recorded(path, an_evening())
    marks = [each.events for each in _entries(path) if isinstance(each, Mark)]
    assert marks == [3, 1000, 2000, len(an_evening())]
    assert _replayed(path).verdict is Verdict.IDENTICAL
    assert list(tmp_path.iterdir()) == [path]


def test_nobody_else_may_read_it(tmp_path: Path) -> None:
    """It has the names of jobs."""
    _recorded(tmp_path / "tonight", an_evening()[:4])
    assert stat.S_IMODE((tmp_path / "tonight").stat().st_mode) == 0o600


def test_over_the_limit_the_older_half_goes(tmp_path: Path) -> None:
    """Both files together stay within it, and each begins so that it can be replayed alone."""
    path, older = tmp_path / "tonight", tmp_path / "tonight.1"
    _recorded(path, an_evening(), 400_000)
    sizes = [each.stat().st_size for each in (path, older)]
    assert sum(sizes) <= 400_000
    assert min(sizes) > 100_000
    first = next(_entries(path))
    assert isinstance(first, Head)
    assert first.part > 2
    assert "begins in the middle" in first.says
    for each in (path, older):
        replay = _replayed(each)
        assert replay.verdict is Verdict.NOT_COMPARABLE
        assert replay.about.site is not None
        # It goes on to be spoken to: the printers' sources were up.
        assert replay.about.events > 100
    assert _replayed(older, path).about.last == an_evening()[-1].moment


def test_two_parts_replay_as_one(tmp_path: Path) -> None:
    """As long as the first is still there, every mark of both can be compared."""
    path, older = tmp_path / "tonight", tmp_path / "tonight.1"
    _recorded(path, an_evening(), 800_000)
    whole = _replayed(older, path)
    assert whole.verdict is Verdict.IDENTICAL
    assert whole.about.events == len(an_evening())
    # What a part holds can be compared to its end, though the next one may be lost.
    assert isinstance(list(_entries(older))[-1], Mark)


def test_a_later_part_decides_what_is_heard_in_it(tmp_path: Path) -> None:
    """At its end it shows what the whole recording shows."""
    path, older = tmp_path / "tonight", tmp_path / "tonight.1"
    _recorded(path, an_evening(), 800_000)
    last = an_evening()[-1].moment
    alone, whole = (_replayed(*paths).view_at(last) for paths in ((path,), (older, path)))
    assert {name: each.scene for name, each in alone.segments.items()} == {
        name: each.scene for name, each in whole.segments.items()
    }


def test_large_settings_leave_room_for_events(tmp_path: Path) -> None:
    """A limit that the settings alone fill would make a part of every event."""
    _recorded(tmp_path / "tonight", an_evening(), 10)
    last = [each for each in _entries(tmp_path / "tonight") if isinstance(each, Head)][-1]
    assert 1 < last.part < 20


def test_what_is_there_becomes_the_older_one(tmp_path: Path) -> None:
    """A daemon that is started again does not take away what led to it."""
    path, older = tmp_path / "tonight", tmp_path / "tonight.1"
    _recorded(path, an_evening()[:50])
    before = path.read_bytes()
    _recorded(path, an_evening()[:10])
    assert older.read_bytes() == before
    assert path.stat().st_size < len(before)


def test_a_file_that_is_no_recording_is_left_alone(tmp_path: Path) -> None:
    """Neither in its place nor in the older one's."""
    for name in ("site.yaml", "tonight.1"):
        (tmp_path / name).write_text("zone: UTC\n")
        with pytest.raises(RecordingFileError, match=f"{name}: is no recording, and is not"):
            RecordingFile(tmp_path / name.removesuffix(".1"), LEAST_BYTES, "0.1")
        assert (tmp_path / name).read_text() == "zone: UTC\n"


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    """A directory, and a directory that is not there."""
    with pytest.raises(RecordingFileError, match="is no file"):
        RecordingFile(tmp_path, LEAST_BYTES, "0.1")
    with pytest.raises(RecordingFileError, match="cannot be written: no such file"):
        RecordingFile(tmp_path / "none" / "tonight", LEAST_BYTES, "0.1")


def test_an_empty_file_may_be_replaced(tmp_path: Path) -> None:
    """It was killed before the first second was over."""
    (tmp_path / "tonight").touch()
    RecordingFile(tmp_path / "tonight", LEAST_BYTES, "0.1").close()
    assert (tmp_path / "tonight").read_bytes() == b""


def test_bytes_that_are_no_text_are_kept(tmp_path: Path) -> None:
    """Whatever a printer sends."""
    heard = Heard("shed", "alder/kestrel/doing", b"\xff\x00\n")
    extra = [Happened(event, Moment(0), ()) for event in (SourceUp("shed"), heard)]
    _recorded(tmp_path / "tonight", [*an_evening()[:3], *extra])
    events = [getattr(each, "event", None) for each in _entries(tmp_path / "tonight")]
    assert heard in events
