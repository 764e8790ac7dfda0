"""The evening as it is seen: in place, in lines, and its end."""

from __future__ import annotations

import io
import re

import pytest

from bridge.cli.evening_picture import InPlace, Instant, Lines, Silence, mark, summary_lines
from bridge.simulator.evening import controllers, evening
from bridge.simulator.inspection import Verdict
from bridge.simulator.reference import SEGMENTS

GOOD = Verdict(40_000, "shelf", "ready", "ready", None)
BAD = Verdict(41_000, "shelf", "ready", "warm", "pixel 0 is (1, 2, 3), not (4, 5, 6)")


def instant(now_ms: int, latest: dict[str, Verdict] | None = None) -> Instant:
    """One moment of an evening of a minute, with nothing told to any controller."""
    return Instant(now_ms, 0, 60_000, evening(60), controllers(), latest or {})


def test_the_clock_goes_through_the_evening() -> None:
    """Three hours, and not beyond."""
    assert [instant(now_ms).clock for now_ms in (0, 20_000, 60_000, 70_000)] == [
        "19:30",
        "20:30",
        "22:30",
        "22:30",
    ]


def test_a_segment_has_its_own_pixels() -> None:
    """As many as it is long."""
    frames = {segment.name: len(instant(0).frame(segment.name)) for segment in SEGMENTS}
    assert frames == {segment.name: segment.length * 3 for segment in SEGMENTS}


def test_lines_say_each_thing_once() -> None:
    """A line when a printer turns to something else, none while it goes on."""
    stream = io.StringIO()
    lines = Lines(stream)
    for now_ms in (0, 100, 1900, 2000, 2100):
        lines.draw(instant(now_ms))
    lines.say("19:40", "door loses its power")
    lines.close()
    assert stream.getvalue().splitlines() == [
        "19:30  kestrel is at rest",
        "19:30  plover is warming up on the keel block, 0%",
        "19:30  heron is at rest",
        "19:36  plover is at work on the keel block, 0%",
        "19:40  door loses its power",
    ]


def test_the_picture_is_drawn_over_itself() -> None:
    """The cursor goes up by as many lines as were drawn; every segment and printer is in it."""
    stream = io.StringIO()
    picture = InPlace(stream, "none")
    picture.draw(instant(0))
    first = stream.getvalue()
    for number in range(9):
        picture.say("19:40", f"thing {number}")
    picture.draw(instant(30_000, {"shelf": BAD, "bench-left": GOOD}))
    second = stream.getvalue()[len(first) :]
    assert second.startswith(f"\x1b[{first.count(chr(10))}A")
    for word in ("21:00", "kestrel", "plover", "heron", "thing 8", "shelf"):
        assert word in second
    assert "thing 0" not in second
    assert re.search(r"shelf .*✗", second)
    assert re.search(r"bench-left .*✓", second)


def test_without_colours_no_colour_is_written() -> None:
    """NO_COLOR: the only codes left move the cursor and clear."""
    stream = io.StringIO()
    InPlace(stream, "none").draw(instant(0))
    assert set(re.findall(r"\x1b\[[0-9;]*([A-Za-z])", stream.getvalue())) <= {"A", "K", "J"}
    InPlace(stream, "truecolour").draw(instant(0))
    assert "\x1b[38;2;18;10;2m" in stream.getvalue()


def test_the_silent_one_says_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """For output that a program reads."""
    silence = Silence()
    silence.say("", "")
    silence.draw(instant(0))
    silence.close()
    assert capsys.readouterr() == ("", "")


def test_marks() -> None:
    """Right, wrong, not looked at."""
    assert [mark(GOOD), mark(BAD), mark(None)] == ["✓", "✗", " "]


def test_the_end_names_what_was_wrong() -> None:
    """When, what was shown, what was wanted, and where the first difference is."""
    rows = [{"segment": "shelf", "decided": "ready", "shows": "warm", "match": False}]
    lines = summary_lines(rows, {"shelf": (GOOD, BAD)})
    assert lines[1].split() == ["shelf", "ready", "warm", "1", "of", "2", "right", "✗"]
    assert lines[2].strip() == (
        "after 41.0 s it showed warm, not ready: pixel 0 is (1, 2, 3), not (4, 5, 6)"
    )
