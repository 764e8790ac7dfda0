"""One dialect, from looks to requests and from answers back."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from bridge.facts.places import compile_place
from bridge.lights.dialect.dialect import (
    Dialect,
    Identity,
    Misread,
    Observation,
    Verdict,
    problems_of,
)
from bridge.lights.dialect.grammar import (
    ColourCodec,
    Limits,
    ReplyCheck,
    RequestTemplate,
    TimeCodec,
)
from bridge.lights.look import Moving, Native, Still
from bridge.lights.place import Place
from bridge.scenes.calibration import AS_IT_IS, Calibration
from tests.lights.board import PEGS
from tests.lights.dialect.building import RACK, WALL, grammar_of, read_of, values_of

RED = Native("steady", (255, 0, 0), 1.0)
FRAME = bytes.fromhex("ff0000") * 6
EACH = RequestTemplate(
    "PUT",
    "/",
    body={"each": "segment", "put": {"bar": "{number}", "paint": "{colour}", "drive": "{level}"}},
)


def dialect(**changes: Any) -> Dialect:  # noqa: ANN401
    """The usual dialect, with changes."""
    return Dialect(grammar_of(**changes))


def test_the_usual_dialect_has_no_problems() -> None:
    """What every other test builds on is sound."""
    assert problems_of(grammar_of()) == []


@pytest.mark.parametrize(
    ("name", "absent"),
    [
        ("paints", {"paint": None}),
        ("reads", {"read": None}),
        ("identifies", {"identify": None}),
        ("read_every_ms", {"read": None}),
    ],
)
def test_it_says_what_it_can(name: str, absent: dict[str, Any]) -> None:
    """What has no template cannot be done."""
    assert getattr(dialect(), name)
    assert not getattr(dialect(**absent), name)


def test_it_says_how_it_sends() -> None:
    """One segment at a time or several, only the changed or all."""
    all_of_them = RequestTemplate(EACH.method, EACH.path, body=EACH.body, sends="all")
    assert (dialect().batch, dialect().echoes) == (False, False)
    assert (dialect(show=EACH).batch, dialect(show=EACH).echoes) == (True, False)
    assert dialect(show=all_of_them).echoes


@pytest.mark.parametrize(
    ("absent", "call"),
    [
        ("show", lambda made: made.show([(WALL, RED)])),
        ("show", lambda made: made.after_show([(WALL, RED)])),
        ("show", lambda made: made.answer("show", 200, b"")),
        ("paint", lambda made: made.paint(WALL, FRAME, None)),
        ("paint", lambda made: made.answer("paint", 200, b"")),
        ("read", lambda made: made.observed(b"{}", [])),
        ("identify", lambda made: made.identify()),
        ("identify", lambda made: made.identity(b"{}")),
    ],
)
def test_what_is_not_there_cannot_be_asked_for(absent: str, call: Any) -> None:  # noqa: ANN401
    """A mistake of the caller, named."""
    with pytest.raises(LookupError, match=f"dialect bars has no {absent}"):
        call(dialect(**{absent: None}))


def test_without_a_show_no_effect_is_its_own() -> None:
    """Everything is painted then."""
    assert dialect(show=None).can("steady", "normal") is None
    assert dialect(read=None).reads_for([WALL]) == ()


def test_equal_looks_are_made_once() -> None:
    """Looks repeat: the ready request is the same object."""
    made = dialect()
    assert made.show([(WALL, RED)]) is made.show([(WALL, Native("steady", (255, 0, 0), 1.0))])
    assert made.paint(RACK, FRAME, None) is made.paint(RACK, bytes(FRAME), None)
    assert made.show([(WALL, RED)]) is not made.show([(RACK, RED)])


def test_all_that_was_read_is_sent_again() -> None:
    """Where the dialect sends all, the last reading is the rest of the request."""
    show = RequestTemplate(EACH.method, EACH.path, body=EACH.body, sends="all")
    made = dialect(show=show)
    seen = made.observed(b'{"list":[{"bar":9,"x":1},{"bar":2,"paint":"000000"}]}', [RACK])
    assert isinstance(seen, Observation)
    assert made.show([(RACK, RED)], seen.items).body == (
        b'[{"bar":9,"x":1},{"bar":2,"paint":"ff0000","drive":255}]'
    )
    assert made.show([(RACK, RED)]).body == b'[{"bar":2,"paint":"ff0000","drive":255}]'


@pytest.mark.parametrize(("limit", "expected"), [(10, 1), (78, 1), (79, 2), (1500, 5)])
def test_so_many_segments_fit_in_one_body(limit: int, expected: int) -> None:
    """As many as the limit bears, and at least one; an item has 38 bytes, the list 79 for two."""
    made = dialect(show=EACH, limits=Limits(body_bytes=limit))
    items = [(Place(f"s{n}", n, n, 1), RED) for n in range(5)]
    assert made.fitting(items) == expected
    assert dialect().fitting(items) == 1
    assert made.fitting([]) == 0


def test_painted_segments_may_be_read_elsewhere() -> None:
    """They are asked for by their own request, whose answer is known by what it holds."""
    read_paint = read_of(
        request=RequestTemplate("GET", "/cells/{number}"),
        each=None,
        match=(),
        values=values_of({"/cells": "pixels"}),
    )
    made = dialect(read_paint=read_paint)
    assert [(request.path, about) for request, about in made.reads_for([WALL, RACK], ["rack"])] == [
        ("/bars", (WALL,)),
        ("/cells/2", (RACK,)),
    ]
    seen = made.observed(b'{"cells":["ff0000"]}', [RACK])
    assert isinstance(seen, Observation)
    assert seen.seen == {"rack": {"pixels": ["ff0000"]}}
    assert made.differences(RACK, Still(bytes.fromhex("ff0000")), seen.seen["rack"]) == ()
    plain = made.observed(b'{"list":[{"bar":2,"drive":1}]}', [RACK])
    assert isinstance(plain, Observation)
    assert plain.seen == {"rack": {"level": 1}}


PARTS = ["{red}", "{green}", "{blue}"]
CHANNELS: list[tuple[dict[str, Any], int]] = [
    ({}, 3),
    ({"colour": ColourCodec(order="GRBW")}, 4),
    ({"pixel_colour": ColourCodec("object", keys=("r", "g", "b", "w"))}, 4),
    ({"show": RequestTemplate("PUT", "/", body=PARTS), "effects": {}}, 3),
    ({"show": RequestTemplate("PUT", "/", body=[*PARTS, "{white}"]), "effects": {}}, 4),
    (
        {"paint": RequestTemplate("PUT", "/", body={"each": "pixel", "put": [*PARTS, "{white}"]})},
        4,
    ),
]


@pytest.mark.parametrize(("changes", "channels"), CHANNELS)
def test_a_white_of_its_own_is_a_fourth_channel(changes: dict[str, Any], channels: int) -> None:
    """However it is told, since it can be driven too."""
    assert dialect(**changes).channels == channels


def test_a_colour_is_known_with_its_white_only() -> None:
    """Where the answer leaves the white out, no colour is made of the rest."""
    show = RequestTemplate("PUT", "/", body=[*PARTS, "{white}"])
    seen = {"red": 170, "green": 60, "blue": 0}
    made = dialect(show=show, effects={})
    assert made.decode(seen) == {}
    assert made.decode({**seen, "white": 30}) == {"colour": (200, 90, 30)}
    assert dialect().decode(seen) == {"colour": (170, 60, 0)}


def test_each_look_fades_as_its_own_request_tells() -> None:
    """What moves is there at once, and so is what no request tells to fade."""
    eased = dialect(
        paint=RequestTemplate("PUT", "/{fade}", body={"each": "pixel", "put": "{colour}"}),
        fade=TimeCodec(1000),
    )
    looks = (Native("steady", (255, 0, 0), 1.0, fade_ms=400), Still(FRAME, 400))
    assert [eased.fade_ms(look) for look in looks] == [0, 1000]
    assert eased.fade_ms(Moving((FRAME, FRAME), (1250,))) == 0
    assert [request.path for request in eased.paint(RACK, FRAME, None, 400)] == ["/1"]
    assert [request.path for request in eased.paint(RACK, FRAME, None)] == ["/0"]


def test_each_purpose_has_its_own_answer() -> None:
    """A read is judged by its own reply, a show by its."""
    read = read_of(request=RequestTemplate("GET", "/", reply=ReplyCheck(compile_place("/ok"), 1)))
    made = dialect(read=read)
    assert made.answer("show", 200, b'{"done":true}').ok
    assert made.answer("read", 200, b'{"done":true}').verdict is Verdict.NOT_CONFIRMED
    assert made.answer("identify", 200, b"").ok
    assert made.answer("paint", 302, b"").verdict is Verdict.REDIRECTED


IDENTITIES = [
    (b'{"name":"A41","count":180}', Identity("A41", 180)),
    (b'{"name":7,"count":"180"}', Identity("7", 180)),
    (b'{"name":"A41"}', Identity("A41", None)),
    (b'{"count":"many"}', Identity(None, None)),
    (b"[]", Identity(None, None)),
]


@pytest.mark.parametrize(("body", "expected"), IDENTITIES)
def test_a_controller_says_who_it_is(body: bytes, expected: Identity) -> None:
    """What is not in the answer is not known."""
    assert dialect().identity(body) == expected


def test_an_identity_that_cannot_be_read_says_why() -> None:
    """In one sentence."""
    said = dialect().identity(b"<html>")
    assert isinstance(said, Misread)
    assert "not JSON" in str(said)


def test_a_strip_is_told_what_it_needs_to_look_right() -> None:
    """Shown and painted, and what it answers is held to what it was told, not to what was meant."""
    place = Place("s", 1, 0, 2, Calibration((255, 216, 176), 2.2))
    plain = replace(place, calibration=AS_IT_IS)
    dialect = Dialect(PEGS)
    look = Native("steady", (255, 255, 255), 1.0)
    told = json.loads(dialect.show([(place, look)]).body or b"")
    assert told["tint"] == "ffd8b0"
    assert json.loads(dialect.show([(plain, look)]).body or b"")["tint"] == "ffffff"
    answer = {"tint": "ffd8b0", "push": told["push"], "act": "calm"}
    seen = dialect.observed(json.dumps({"pegs": [{"peg": 1, **answer}]}).encode(), [place])
    assert isinstance(seen, Observation)
    assert dialect.differences(place, look, seen.seen["s"]) == ()
    assert dialect.differences(plain, look, seen.seen["s"]) == ("colour",)
    (painted,) = dialect.paint(place, bytes((255, 255, 255)) * 2, None)
    assert json.loads(painted.body or b"")["row"] == ["ffd8b0"] * 2
