"""An answer tells what each segment shows, or in one sentence why it tells nothing."""

from __future__ import annotations

import json
from typing import Any

import pytest

from bridge.facts.places import compile_place
from bridge.lights.dialect.grammar import (
    NativeEffect,
    ReadTemplate,
    ReplyCheck,
    RequestTemplate,
    Restart,
    Told,
)
from bridge.lights.dialect.readback import Observation, Reading
from bridge.lights.dialect.replies import Misread
from tests.lights.dialect.building import EFFECTS, RACK, WALL, grammar_of, read_of, values_of

BARS = {
    "awake": 8,
    "list": [
        {"bar": 2, "paint": "00ff00", "drive": 9},
        {"bar": 1, "paint": "ff0000", "motion": "plain"},
    ],
}


def reading(read: ReadTemplate | None = None, **changes: Any) -> Reading:  # noqa: ANN401
    """A compiled read, of the usual dialect unless changed."""
    return Reading(grammar_of(**changes), read or read_of())


def observed(made: Reading, document: Any) -> Observation:  # noqa: ANN401
    """What the document tells of both segments."""
    seen = made.observed(json.dumps(document).encode(), [WALL, RACK])
    assert isinstance(seen, Observation)
    return seen


def test_the_items_of_a_list_are_matched() -> None:
    """In any order; a value that is not there has no entry."""
    seen = observed(reading(), BARS)
    assert seen.seen == {
        "wall": {"colour": "ff0000", "effect": "plain"},
        "rack": {"colour": "00ff00", "level": 9},
    }
    assert (seen.uptime_ms, seen.mark, seen.missing) == (8000, None, ())
    assert seen.items == tuple(BARS["list"])  # type: ignore[arg-type]


@pytest.mark.parametrize("number", [1, "1", 1.0])
def test_a_number_may_be_answered_as_a_text(number: Any) -> None:  # noqa: ANN401
    """One segment is meant, whichever way its number is written."""
    seen = observed(reading(), {"list": [{"bar": number, "paint": "ff0000"}]})
    assert "wall" in seen.seen


MISSING = [
    {"list": []},
    {"list": [{"bar": 3, "paint": "ff0000"}]},
    {"list": [{"paint": "ff0000"}]},
    {"list": [{"bar": 1, "other": "ff0000"}]},
    {"list": [None, 7, "bar", [1]]},
]


@pytest.mark.parametrize("document", MISSING)
def test_a_segment_that_is_not_told_is_missing(document: dict[str, Any]) -> None:
    """Absent, unmatched, or without any of its values: nothing is known, and that is said."""
    seen = observed(reading(), document)
    assert seen.missing == ("wall", "rack")
    assert seen.seen == {}


def test_an_answer_may_be_about_one_segment() -> None:
    """Each has a request of its own where the path names it."""
    read = read_of(request=RequestTemplate("GET", "/bars/{number}"), each=None, match=())
    made = reading(read)
    assert [(request.path, about) for request, about in made.requests([WALL, RACK])] == [
        ("/bars/1", (WALL,)),
        ("/bars/2", (RACK,)),
    ]
    seen = made.observed(b'{"paint":"ff0000"}', [WALL])
    assert isinstance(seen, Observation)
    assert seen.seen == {"wall": {"colour": "ff0000"}}


def test_one_request_tells_about_all_it_is_equal_for() -> None:
    """A list is asked for once."""
    ((request, about),) = reading().requests([WALL, RACK])
    assert (request.path, about) == ("/bars", (WALL, RACK))
    assert reading().requests([]) == []


KEYED = [
    (compile_place("/shelves"), {"shelves": {"s-1": {"paint": "ff0000"}}}),
    (None, {"s-1": {"paint": "ff0000"}}),
]


@pytest.mark.parametrize(("at", "document"), KEYED)
def test_an_item_may_stand_under_its_key(at: Any, document: dict[str, Any]) -> None:  # noqa: ANN401
    """At a place of the answer, or at its root."""
    seen = observed(
        reading(read_of(each=None, match=(), keyed="s-{number}", keyed_at=at)), document
    )
    assert seen.seen == {"wall": {"colour": "ff0000"}}
    assert seen.missing == ("rack",)


def test_keys_of_something_else_hold_nothing() -> None:
    """A list where an object should be tells of no segment."""
    made = reading(read_of(each=None, match=(), keyed="{number}", keyed_at=compile_place("/s")))
    assert observed(made, {"s": ["a", "b"]}).missing == ("wall", "rack")


def test_the_items_may_be_selected() -> None:
    """A JSONPath that selects several places gives the items."""
    made = reading(read_of(each=compile_place("$.parts[*].bars[*]")))
    document = {"parts": [{"bars": [{"bar": 1, "drive": 1}]}, {"bars": [{"bar": 2, "drive": 2}]}]}
    assert observed(made, document).seen == {"wall": {"level": 1}, "rack": {"level": 2}}


BAD = [
    (b"", "not JSON"),
    (b'{"list":{}}', "no list at /list"),
    (b'{"list":3}', "no list at /list"),
    (b"[]", "no list at /list"),
    (b"null", "no list at /list"),
    (b'{"list":[{"bar":1,"drive":NaN}]}', "a number that JSON does not have"),
]


@pytest.mark.parametrize(("body", "sentence"), BAD)
def test_an_answer_that_tells_nothing_says_why(body: bytes, sentence: str) -> None:
    """One sentence, never an exception."""
    seen = reading().observed(body, [WALL])
    assert isinstance(seen, Misread)
    assert sentence in str(seen)


RESTARTS = [
    (Restart(compile_place("/awake"), "uptime"), {"awake": 8}, 8000, None),
    (Restart(compile_place("/awake"), "uptime", 1.0), {"awake": "8123"}, 8123, None),
    (Restart(compile_place("/awake"), "uptime"), {"awake": "soon"}, None, None),
    (Restart(compile_place("/awake"), "uptime"), {"awake": True}, None, None),
    (Restart(compile_place("/awake"), "uptime"), {}, None, None),
    (Restart(compile_place("/a"), "uptime", written="h:m:s"), {"a": "2:15:33"}, 8133_000, None),
    (Restart(compile_place("/a"), "uptime", written="h:m:s"), {"a": 8133}, None, None),
    (
        Restart(compile_place("/a"), "uptime", written="iso 8601"),
        {"a": "PT2H15M33S"},
        8133_000,
        None,
    ),
    (Restart(compile_place("/starts"), "mark"), {"starts": 7}, None, "7"),
    (Restart(compile_place("/starts"), "mark"), {"starts": "b"}, None, "b"),
    (Restart(compile_place("/starts"), "mark"), {}, None, None),
    (None, {"awake": 8}, None, None),
]


@pytest.mark.parametrize(("restart", "document", "uptime_ms", "mark"), RESTARTS)
def test_a_restart_is_told(
    restart: Restart | None, document: dict[str, Any], uptime_ms: int | None, mark: str | None
) -> None:
    """An uptime in its unit or form, or a mark; what cannot be read is not known."""
    seen = observed(reading(read_of(restart=restart)), {"list": []} | document)
    assert (seen.uptime_ms, seen.mark) == (uptime_ms, mark)


TOLD = {
    "steady": (NativeEffect("glow", told=Told(compile_place("/glow"))),),
    "flash": (
        NativeEffect("throb", 600, told=Told(compile_place("/throb/ms"), 600)),
        NativeEffect("throb", 1800, told=Told(compile_place("/throb/ms"), 1800)),
    ),
}
TOLD_CASES = [
    ({"glow": {}}, {"effect": "steady", "period_ms": None}),
    ({"throb": {"ms": 600}}, {"effect": "flash", "period_ms": 600}),
    ({"throb": {"ms": 1800}}, {"effect": "flash", "period_ms": 1800}),
    ({"throb": {"ms": 900}}, None),
    ({"throb": {}}, None),
    ({}, None),
]


@pytest.mark.parametrize(("item", "effect"), TOLD_CASES)
def test_an_effect_is_told_by_what_is_there(item: dict[str, Any], effect: Any) -> None:  # noqa: ANN401
    """By a member that only that effect has, or by its value; another value is none of ours."""
    document = {"list": [{"bar": 1, "paint": "ff0000"} | item]}
    read = read_of(values=values_of({"/paint": "colour"}))
    assert observed(reading(read, effects=TOLD), document).seen["wall"].get("effect") == effect


def test_an_effect_without_a_name_is_told_by_none() -> None:
    """Where steady light has no word, the absence of one is steady light."""
    effects = EFFECTS | {"steady": (NativeEffect(None),)}
    document = {"list": [{"bar": 1, "paint": "ff0000"}]}
    assert observed(reading(effects=effects), document).seen["wall"]["effect"] is None
    assert "effect" not in observed(reading(), document).seen["wall"]


def test_what_must_hold_is_kept_beside_the_values() -> None:
    """A main brightness is looked at too, present or not."""
    made = reading(read_of(must=(ReplyCheck(compile_place("/main"), 250),)))
    document = {"list": [{"bar": 1, "drive": 1, "main": 40}, {"bar": 2, "drive": 1}]}
    seen = observed(made, document).seen
    assert (seen["wall"]["/main"], seen["rack"]["/main"]) == (40, None)


def test_the_place_of_an_item_is_found() -> None:
    """For a request that sends every item back."""
    made = reading()
    assert made.place_of({"bar": 2}, [WALL, RACK]) == RACK
    assert made.place_of({"bar": 7}, [WALL, RACK]) is None


def test_a_main_switch_is_looked_for_in_the_whole_answer() -> None:
    """Its places are told that are not as they must be; what is missing is not."""
    main = tuple(
        ReplyCheck(compile_place(at), wanted=wanted)
        for at, wanted in (("/main/awake", True), ("/main/strength", 1000))
    )
    made = reading(read_of(main=main))
    assert observed(made, {**BARS, "main": {"awake": True, "strength": 1000}}).main_unlike == ()
    assert observed(made, {**BARS, "main": {"awake": False, "strength": 1000}}).main_unlike == (
        "/main/awake",
    )
    assert observed(made, BARS).main_unlike == ("/main/awake", "/main/strength")
