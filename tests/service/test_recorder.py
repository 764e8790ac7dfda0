"""The recorder: it holds nothing up, writes within a second, and ends in one line of the log."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from bridge.engine.actions import Note
from bridge.recording.lines import entries
from bridge.recording.replaying import Replay, Verdict
from bridge.service.recorder import MOST_WAITING, Recorder
from bridge.service.recording_file import RecordingFileError
from bridge.settings.load import load_texts
from tests.recording.evening import an_evening
from tests.structure.trees import ROOT


def _replayed(path: Path) -> Replay:
    replay = Replay()
    for entry in entries(path.read_text("ascii").splitlines(keepends=True), load_texts):
        replay.take(entry)
    return replay


def test_all_that_was_recorded_is_there_at_the_end(tmp_path: Path) -> None:
    """With a last mark, and nothing in the log."""
    notes: list[Note] = []
    recorder = Recorder(tmp_path / "tonight", notes.append)
    for each in an_evening():
        recorder.event(each.event, each.moment, each.actions)
    recorder.close()
    recorder.close()
    replay = _replayed(tmp_path / "tonight")
    assert (replay.verdict, replay.about.events) == (Verdict.IDENTICAL, len(an_evening()))
    assert notes == []


def test_it_is_on_the_disk_within_a_second_or_so(tmp_path: Path) -> None:
    """A process that is killed loses no more than that."""
    recorder = Recorder(tmp_path / "tonight", lambda _note: None)
    for each in an_evening()[:50]:
        recorder.event(each.event, each.moment, each.actions)
    until = time.monotonic() + 5
    while (tmp_path / "tonight").stat().st_size == 0 and time.monotonic() < until:
        time.sleep(0.05)
    assert _replayed(tmp_path / "tonight").about.events == 50
    recorder.close()


def test_what_cannot_be_begun_is_told_at_once(tmp_path: Path) -> None:
    """Before anything runs."""
    with pytest.raises(RecordingFileError):
        Recorder(tmp_path / "none" / "tonight", lambda _note: None)


def test_a_disk_that_does_not_keep_up_ends_it(tmp_path: Path) -> None:
    """Rather than to fill the memory."""
    notes: list[Note] = []
    recorder = Recorder(tmp_path / "tonight", notes.append)
    first = an_evening()[0]
    # Faster than once in its second: nothing of it is taken away meanwhile.
    for _ in range(MOST_WAITING + 2):
        recorder.event(first.event, first.moment, first.actions)
    recorder.close()
    assert [(note.level, note.event, note.fields["why"]) for note in notes] == [
        ("error", "the recording ended", "the disk does not keep up")
    ]


_FULL = """
import resource, sys
from pathlib import Path
from bridge.service.recorder import Recorder
from tests.recording.evening import an_evening
# As a full disk: what is written beyond fails (setrlimit(2), EFBIG).
resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
notes = []
recorder = Recorder(Path(sys.argv[1]), notes.append)
for each in an_evening():
    recorder.event(each.event, each.moment, each.actions)
recorder.close()
for each in an_evening()[:3]:
    recorder.event(each.event, each.moment, each.actions)
print([(note.level, note.event, note.fields["why"]) for note in notes])
"""


def test_a_full_disk_ends_it_in_one_line(tmp_path: Path) -> None:
    """What was written until then can be replayed."""
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", _FULL, str(tmp_path / "tonight")],
        cwd=ROOT,
        env={"PATH": os.environ["PATH"]},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert done.stdout == "[('error', 'the recording ended', 'file too large')]\n"
    assert done.stderr == ""
    replay = _replayed(tmp_path / "tonight")
    assert replay.about.is_cut_off
    assert 0 < replay.about.events < len(an_evening())
