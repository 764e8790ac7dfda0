"""A recording's lines: heads, marks, events, what is cut off, and parts that follow each other."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from bridge.engine.actions import Action, Note, Poll
from bridge.engine.events import Clock, Due
from bridge.engine.site import Site
from bridge.facts.moment import Moment
from bridge.recording import RecordingError, event_text
from bridge.recording.lines import (
    FORMAT,
    ActionsDigest,
    CutOff,
    Head,
    Mark,
    Occurred,
    entries,
    joined,
    line_of,
)

HEAD = line_of(Head.of("abc", 1, 0, "0.1")) + "\n"
DUE = event_text(Due(), Moment(5)) + "\n"


def _no_site(_texts: Mapping[str, str]) -> Site:
    raise AssertionError


def test_what_is_written_is_read() -> None:
    """Head, event, mark."""
    lines = [HEAD, DUE, line_of(Mark("ff", 1)) + "\n"]
    head, event, mark = entries(lines, _no_site)
    assert head == Head(FORMAT, "abc", 1, 0, "0.1")
    assert event == Occurred(Due(), Moment(5))
    assert mark == Mark("ff", 1)


def test_a_later_part_says_that_it_begins_in_the_middle() -> None:
    """Whoever opens the file sees it on the first line."""
    assert "begins in the middle" in line_of(Head.of("abc", 2, 3, "0.1"))
    assert "begins in the middle" not in HEAD


@pytest.mark.parametrize("cut", [1, 8, len(DUE) - 2])
def test_half_a_last_line_is_no_error(cut: int) -> None:
    """The power went while it was written; what is before it counts."""
    assert list(entries([HEAD, DUE, DUE[:cut]], _no_site))[-1] == CutOff()
    # The newline alone is missing: the line is whole.
    assert list(entries([HEAD, DUE[:-1]], _no_site))[-1] == Occurred(Due(), Moment(5))


REFUSED = {
    "nothing like it": (["zone: UTC\n"], "line 1: not a recorded head: a recording begins with"),
    "no head": ([DUE], "line 1: not a recorded head"),
    "a newer one": ([HEAD.replace('"format":1', '"format":2')], "format 2 is newer than 1"),
    "a head with a field missing": (['{"begins":0}\n'], "line 1: .*missing: format"),
    "a head that is no JSON": (['{"begins":\n'], "line 1: .*not JSON"),
    "a broken line in the middle": ([HEAD, DUE[:9] + "\n", DUE], "line 2: not a recorded event"),
    "a mark of another form": ([HEAD, '{"actions":7,"events":1}\n'], "line 2: .*actions: 7 is no"),
}


@pytest.mark.parametrize(("lines", "why"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_no_recording_is_refused_with_its_line(lines: list[str], why: str) -> None:
    """One sentence."""
    with pytest.raises(RecordingError, match=why):
        list(entries(lines, _no_site))


def test_the_digest_tells_orders_and_events_apart() -> None:
    """The same actions after other events are not the same."""
    poll, note = Poll("a"), Note("info", "b")
    digests = set()
    orders: tuple[list[list[Action]], ...] = (
        [[poll, note], []],
        [[note, poll], []],
        [[poll], [note]],
        [[], [poll, note]],
    )
    for events in orders:
        digest = ActionsDigest()
        for actions in events:
            digest.take(actions)
        assert digest.mark().events == 2
        digests.add(digest.mark().actions)
    assert len(digests) == 4


def _part(recording: str, part: int, begins: int, *ms: int) -> list[str]:
    head = line_of(Head.of(recording, part, begins, "0"))
    return [f"{line}\n" for line in (head, *(event_text(Clock(), Moment(at)) for at in ms))]


def _read(*parts: list[str]) -> list[int]:
    read = joined(entries(part, _no_site) for part in parts)
    return [entry.moment.ms for entry in read if isinstance(entry, Occurred)]


def test_parts_go_on_where_the_one_before_ended() -> None:
    """The beginnings of later parts are left out, the first one's is not."""
    first, second = _part("r", 1, 0, 1, 2), _part("r", 2, 3, 7, 7, 7, 3, 4)
    assert _read(first, second) == [1, 2, 3, 4]
    assert _read(second) == [7, 7, 7, 3, 4]


WRONG_PARTS = {
    "another recording": (
        ("r", 1),
        ("s", 2),
        "it is of another recording than the file before, 'r'",
    ),
    "turned round": (("r", 2), ("r", 1), "it is part 1, the file before is part 2"),
    "one missing": (("r", 1), ("r", 3), "it is part 3, the file before is part 1"),
}


@pytest.mark.parametrize(("one", "two", "why"), WRONG_PARTS.values(), ids=WRONG_PARTS.keys())
def test_parts_that_do_not_follow_are_refused(
    one: tuple[str, int], two: tuple[str, int], why: str
) -> None:
    """Nothing is pieced together that never was."""
    with pytest.raises(RecordingError, match=why):
        _read(_part(*one, 0, 1), _part(*two, 0, 1))


def test_an_error_names_file_and_line() -> None:
    """From inside to outside."""
    error = RecordingError("x", "why").at_line(7).in_file("tonight")
    assert str(error) == "tonight: line 7: not a recorded event: why: 'x'"
