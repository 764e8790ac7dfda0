"""Wishes as JSON, there and back, and what is said of those that are none."""

from __future__ import annotations

import json
from typing import get_args

import pytest

from bridge.engine.wishes import (
    Acknowledge,
    Collected,
    Hold,
    OutOfService,
    Press,
    Release,
    Reset,
    ReturnToService,
    Shelve,
    Unshelve,
    Wish,
)
from bridge.service.wish_lines import MOST_MS, WISHES, NoWishError, wish_of, wish_plain

LINES: list[tuple[Wish, str]] = [
    (Acknowledge("s-1"), '{"wish": "acknowledge", "occurrence": "s-1"}'),
    (Reset("s-1"), '{"wish": "reset", "occurrence": "s-1"}'),
    (Collected("s-2"), '{"wish": "collected", "occurrence": "s-2"}'),
    (
        Shelve("jam", "kestrel", 7_200_000, "a spare part comes"),
        """{"wish": "shelve", "alarm": "jam", "printer": "kestrel", "for_ms": 7200000,
            "reason": "a spare part comes"}""",
    ),
    (Unshelve("jam", "kestrel"), '{"wish": "unshelve", "alarm": "jam", "printer": "kestrel"}'),
    (
        OutOfService("jam", "kestrel", "no sensor"),
        '{"wish": "out-of-service", "alarm": "jam", "printer": "kestrel", "reason": "no sensor"}',
    ),
    (
        ReturnToService("jam", "kestrel"),
        '{"wish": "return-to-service", "alarm": "jam", "printer": "kestrel"}',
    ),
    (
        Hold(("shelf", "all"), "dark", None),
        '{"wish": "hold", "segments": ["shelf", "all"], "scene": "dark", "for_ms": null}',
    ),
    (Release(("all",)), '{"wish": "release", "segments": ["all"]}'),
    (
        Press("acknowledge", ("kestrel",), ("jam",)),
        '{"wish": "press", "does": "acknowledge", "printers": ["kestrel"], "names": ["jam"]}',
    ),
]


@pytest.mark.parametrize(("wish", "line"), LINES)
def test_a_wish_is_written_and_read(wish: Wish, line: str) -> None:
    """Each of its fields by its name."""
    assert wish_plain(wish) == json.loads(line)
    assert wish_of(json.loads(line)) == wish


def test_every_wish_has_a_word() -> None:
    """And every word is tried above."""
    assert set(WISHES.values()) == set(get_args(Wish)) == {type(wish) for wish, _ in LINES}


def test_what_has_a_default_may_be_left_out() -> None:
    """A press means all."""
    assert wish_of({"wish": "press", "does": "reset"}) == Press("reset")


SHELVE = {"wish": "shelve", "alarm": "jam", "printer": "kestrel", "for_ms": 1, "reason": "so"}
WRONG: list[tuple[dict[str, object], list[str]]] = [
    ({}, ["wish: None is none, expected one of acknowledge, reset, collected, shelve,"]),
    ({"wish": "silence"}, ["wish: 'silence' is none, expected one of"]),
    ({"wish": ["reset"]}, ["is none, expected one of"]),
    (
        {"wish": "acknowledge"},
        ["occurrence is missing; expected", '{"wish": "acknowledge", "occurrence": text}'],
    ),
    (
        {"wish": "acknowledge", "occurence": "s-1"},
        ["'occurence' is not known", "occurrence is missing"],
    ),
    ({"wish": "acknowledge", "occurrence": 7}, ["occurrence: 7 is no str; expected", "text}"]),
    ({"wish": "acknowledge", "occurrence": None}, ["occurrence: None is no str"]),
    ({"wish": "acknowledge", "occurrence": ""}, ["occurrence: 0 characters, expected 1 to 500"]),
    ({"wish": "acknowledge", "occurrence": "x" * 501}, ["occurrence: 501 characters"]),
    ({**SHELVE, "for_ms": "2h"}, ["for_ms: '2h' is no int", f"milliseconds, 1 to {MOST_MS}"]),
    ({**SHELVE, "for_ms": 0}, ["for_ms: 0 is no time"]),
    ({**SHELVE, "for_ms": MOST_MS + 1}, ["is no time"]),
    ({**SHELVE, "for_ms": 10**400}, ["is no time"]),
    ({**SHELVE, "for_ms": True}, ["for_ms: True is no int"]),
    ({**SHELVE, "for_ms": 1.5}, ["for_ms: 1.5 is no int"]),
    ({**SHELVE, "for_ms": None}, ["for_ms: None is no int"]),
    ({"wish": "release", "segments": "all"}, ["segments: 'all' is no"]),
    ({"wish": "release", "segments": []}, ["segments: there is none"]),
    ({"wish": "release", "segments": [1]}, ["is no str"]),
    ({"wish": "release", "segments": ["a"] * 1001}, ["segments: 1001 are too many"]),
    ({"wish": "hold", "segments": ["a"], "scene": {}, "for_ms": 1}, ["scene: {} is no str"]),
    ({"wish": "press", "does": "shelve"}, ["does: 'shelve' is none, expected one of acknowledge"]),
    ({"wish": "press", "does": ["reset"]}, ["does: ['reset'] is none"]),
    ({"wish": "acknowledge", "does": "reset", "occurrence": "s"}, ["'does' is not known"]),
]


@pytest.mark.parametrize(("said", "parts"), WRONG)
def test_what_is_no_wish_is_told_with_what_was_expected(
    said: dict[str, object], parts: list[str]
) -> None:
    """Every problem at once, in one line that is not endless."""
    with pytest.raises(NoWishError) as caught:
        wish_of(said)
    (line,) = caught.value.lines()
    assert [part for part in parts if part not in line] == []
    assert "\n" not in line
    assert len(line) < 500
