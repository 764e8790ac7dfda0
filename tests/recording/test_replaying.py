"""Replay: the same engine, the same actions, and what segments showed over time."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterable

import pytest

from bridge.recording.lines import CutOff, Head, Mark, entries
from bridge.recording.replaying import Decided, Replay, Verdict
from bridge.settings.load import load_texts
from tests.recording.evening import WALL_MS, an_evening, lines_of
from tests.structure.trees import ROOT


def _replayed(lines: Iterable[str]) -> tuple[Replay, list[Decided]]:
    replay = Replay()
    decided: list[Decided] = []
    for entry in entries(lines, load_texts):
        decided += replay.take(entry)
    return replay, decided


def test_an_evening_replays_to_identical_actions_twice() -> None:
    """Mark after mark, from its own text (I10)."""
    lines = lines_of(an_evening())
    for _ in range(2):
        replay, _ = _replayed(lines)
        assert (replay.verdict, replay.first_different) == (Verdict.IDENTICAL, None)
        assert replay.about.events == len(an_evening())
        assert replay.marks >= 3


_SCRIPT = """
import sys
from bridge.recording.lines import entries
from bridge.recording.replaying import Replay
from bridge.settings.load import load_texts
replay = Replay()
for entry in entries(sys.stdin, load_texts):
    replay.take(entry)
print(replay.verdict.value, replay.about.events, replay.marks)
"""


@pytest.mark.parametrize("seed", ["0", "1", "2"])
def test_it_does_so_however_python_hashes(seed: str) -> None:
    """In a process of its own."""
    lines = lines_of(an_evening())
    done = subprocess.run(
        [sys.executable, "-c", _SCRIPT],
        cwd=ROOT,
        env={"PYTHONHASHSEED": seed, "PATH": ""},
        input="".join(lines),
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    marks = sum(line.startswith('{"actions":') for line in lines)
    assert done.stdout.split() == ["identical", str(len(an_evening())), str(marks)]


def test_the_first_mark_that_differs_is_named() -> None:
    """One message less, and every mark after it is another."""
    lines = lines_of(an_evening())
    spoken = next(n for n, line in enumerate(lines) if n > 1500 and '"Heard"' in line)
    replay, _ = _replayed([*lines[:spoken], *lines[spoken + 1 :]])
    assert replay.verdict is Verdict.DIFFERENT
    assert replay.first_different is not None
    assert replay.first_different.events == 2000


def test_what_segments_showed_is_told_with_its_time() -> None:
    """What the demo's evening is about, and what a person wished in it."""
    _, decided = _replayed(lines_of(an_evening()))
    frame = [(each.at.ms, each.scene) for each in decided if each.segment == "door-frame"]
    # Five times as long as it is written: at 3 s it warms up, at 15 s its spool is empty, ...
    assert [(ms // 1000, scene) for ms, scene in frame] == [
        (0, "not-known"),
        (0, "ready"),
        (15, "filling"),
        (75, "see-me"),
        (77, "feed-me"),
        (130, "filling"),
        (170, "fetch-me"),
        (200, "ready"),
        (235, "filling"),
    ]
    empty = next(each for each in decided if each.scene == "feed-me")
    assert empty.rule == "out of material"
    assert "spool-empty" in empty.because
    assert empty.at.wall_ms == WALL_MS + empty.at.ms


def test_a_picture_at_an_instant_has_what_was_due_by_then() -> None:
    """Nothing is heard any more: after its time the printer is silent."""
    replay = Replay()
    for entry in entries(lines_of(an_evening())[:-2], load_texts):
        replay.take(entry)
    last = replay.about.last
    assert last is not None
    assert replay.view_at(last.at(last.ms + 1)).segments["door-frame"].rule == "working"
    assert replay.view_at(last.at(last.ms + 600_000)).segments["door-frame"].rule == "silent"


def test_a_recording_from_the_middle_is_not_compared() -> None:
    """Its digests count from a beginning that is not in it."""
    replay = Replay()
    replay.take(Head.of("r", 2, 0, "0"))
    replay.take(Mark("ff", 1000))
    assert replay.verdict is Verdict.NOT_COMPARABLE


def test_without_a_mark_nothing_is_claimed() -> None:
    """It was killed within the first second."""
    replay = Replay()
    replay.take(Head.of("r", 1, 0, "0"))
    replay.take(CutOff())
    assert replay.about.is_cut_off
    assert replay.verdict is Verdict.NOT_COMPARABLE
    assert (replay.about.first, replay.about.last) == (None, None)
