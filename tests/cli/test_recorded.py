"""Recordings as commands open them: errors with their file, times in words, an instant in them."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from bridge.cli.recorded import (
    At,
    NothingDecidedError,
    NoTimeError,
    RecordedSettingsError,
    Times,
    UnusableRecordingError,
    lasted,
    paced,
    pictured_at,
    recorded,
    site_of,
)
from bridge.engine.events import Due
from bridge.errors import LampwrightError
from bridge.facts.moment import Moment
from bridge.recording.lines import Entry, Head, Occurred, entries
from bridge.settings.load import load_texts
from tests.recording.evening import WALL_MS, an_evening, lines_of

DUBLIN = ZoneInfo("Europe/Dublin")


def _entries() -> Iterator[Entry]:
    return entries(lines_of(an_evening()), load_texts)


def test_a_file_is_read_as_one_recording(tmp_path: Path) -> None:
    """Line by line."""
    path = tmp_path / "tonight"
    path.write_text("".join(lines_of(an_evening())), "ascii")
    assert sum(isinstance(each, Occurred) for each in recorded([path])) == len(an_evening())


UNREADABLE = {
    "no such file": (None, "tonight: cannot be read: no such file or directory"),
    "no recording": ("zone: UTC\n", "tonight: line 1: not a recorded head: a recording begins"),
    "nothing": ("\n", "tonight: line 1: not a recorded head"),
    "not even text": ("\udcff\udcfe\n", "tonight: line 1: not a recorded head"),
}


@pytest.mark.parametrize(("text", "why"), UNREADABLE.values(), ids=UNREADABLE.keys())
def test_what_cannot_be_read_is_told_with_its_file(
    text: str | None, why: str, tmp_path: Path
) -> None:
    """One line, and the code for unusable input."""
    path = tmp_path / "tonight"
    if text is not None:
        path.write_bytes(text.encode("utf-8", "surrogateescape"))
    with pytest.raises(LampwrightError) as error:
        list(recorded([path]))
    assert why in str(error.value)
    assert error.value.exit_code == 2


def test_settings_of_another_version_are_told_line_by_line() -> None:
    """They were fine when they were recorded."""
    with pytest.raises(RecordedSettingsError) as error:
        site_of({"site.yaml": "zone: UTC\n"})
    assert "in the recorded settings: rules.yaml:1:1: is not there" in error.value.lines()


LASTED = [(0, "0.0 s"), (40_000, "40.0 s"), (59_900, "59.9 s"), (60_000, "0:01:00")]


@pytest.mark.parametrize(("ms", "told"), [*LASTED, (3_661_400, "1:01:01")])
def test_a_time_is_told_as_finely_as_matters(ms: int, told: str) -> None:
    """Tenths below a minute."""
    assert lasted(ms) == told


def test_instants_are_told_by_the_site_s_wall() -> None:
    """In June Dublin is an hour ahead of UTC; without a wall clock it is since the beginning."""
    june = int(datetime(2026, 6, 1, 12, tzinfo=UTC).timestamp()) * 1000
    times = Times(DUBLIN, Moment(5000))
    assert times.told(Moment(7000, june + 250)) == "2026-06-01 13:00:00"
    assert times.written(Moment(7000, june + 250)) == "2026-06-01T13:00:00.250+01:00"
    assert times.told(Moment(5000 + 3_725_999)) == "+01:02:05"
    assert times.written(Moment(5000)) == "+00:00:00"


READ = {
    "since the beginning": ("+1:02:03", At("+1:02:03", since_ms=3_723_000)),
    "many hours": ("+100:00:00", At("+100:00:00", since_ms=360_000_000)),
    "local": ("2026-06-01T13:00", At("2026-06-01T13:00", wall=datetime(2026, 6, 1, 13))),  # noqa: DTZ001 - local on purpose
    "with its offset": (
        "2026-06-01T13:00+02:00",
        At(
            "2026-06-01T13:00+02:00",
            wall=datetime(2026, 6, 1, 13, tzinfo=timezone(timedelta(hours=2))),
        ),
    ),
}


@pytest.mark.parametrize(("text", "at"), READ.values(), ids=READ.keys())
def test_a_time_is_read(text: str, at: At) -> None:
    """Local, or since the beginning; also with a space in it."""
    assert At.read(text.replace("T", " ")).wall == at.wall
    assert At.read(text) == at


@pytest.mark.parametrize("text", ["", "20:01", "+1:2:3", "+1:60:00", "soon", "2026-13-01"])
def test_what_is_no_time_is_refused(text: str) -> None:
    """Before anything is opened."""
    with pytest.raises(NoTimeError, match="is neither a time like"):
        At.read(text)


def test_local_time_is_the_site_s() -> None:
    """Whatever the machine's zone is."""
    june = int(datetime(2026, 6, 1, 12, tzinfo=UTC).timestamp()) * 1000
    near = Moment(900, june)
    assert At.read("2026-06-01T13:00:01").moment(Moment(0), near, DUBLIN) == Moment(
        1900, june + 1000
    )
    assert At.read("2026-06-01T12:00:00+00:00").moment(Moment(0), near, DUBLIN) == near
    assert At.read("2026-06-01T13:00").moment(Moment(0), Moment(900), DUBLIN) is None
    assert At.read("+0:00:02").moment(Moment(500), near, DUBLIN) == Moment(2500, june + 1600)


INSTANTS = {
    "before the empty spool": ("+0:01:16", "halted"),
    "after it": ("+0:01:18", "out of material"),
    "by the wall": ("2026-11-27T20:01:18", "out of material"),
    "at the beginning": ("+0:00:00", "idle"),
    "at the end": (None, "working"),
}


@pytest.mark.parametrize(("text", "rule"), INSTANTS.values(), ids=INSTANTS.keys())
def test_the_picture_is_that_of_the_instant(text: str | None, rule: str) -> None:
    """All that had happened by then, and nothing after."""
    then = pictured_at(_entries(), None if text is None else At.read(text))
    assert then.view.segments["door-frame"].rule == rule
    assert then.part == 1


def test_times_in_the_picture_are_of_the_instant_asked_for() -> None:
    """Not of the last event before it."""
    then = pictured_at(_entries(), At.read("+0:01:19"))
    assert then.moment == Moment(79_000, WALL_MS + 79_000)
    assert then.view.printers["kestrel"].facts["time-in-state"] == 4.0


@pytest.mark.parametrize("text", ["+0:05:01", "2026-11-27T19:59:59", "2026-11-27T20:05:01"])
def test_an_instant_outside_is_refused_with_what_there_is(text: str) -> None:
    """Nothing is known of it."""
    with pytest.raises(UnusableRecordingError) as error:
        pictured_at(_entries(), At.read(text))
    span = "which is from 2026-11-27 20:00:00 to 2026-11-27 20:05:00"
    assert str(error.value) == f"{text} is not in the recording, {span}"


def test_a_recording_without_settings_has_no_picture() -> None:
    """It was ended within its first second."""
    with pytest.raises(NothingDecidedError):
        pictured_at([Head.of("r", 1, 0, "0")], None)


def test_it_can_be_watched() -> None:
    """Ten times as fast: half a second takes fifty milliseconds."""
    slow: list[Entry] = [Occurred(Due(), Moment(ms)) for ms in (1000, 1000, 1500)]
    began = time.monotonic()
    assert list(paced(slow, 10)) == slow
    assert 0.05 <= time.monotonic() - began < 1
    assert list(paced(slow, None)) == slow
