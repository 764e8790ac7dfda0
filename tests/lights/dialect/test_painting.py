"""A painted frame becomes as few requests as the controller bears, and only what changed."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.lights.dialect.grammar import ColourCodec, Limits, RequestTemplate, TimeCodec
from bridge.lights.dialect.painting import Painter, Run, runs_of
from bridge.lights.look import Still
from bridge.lights.place import Place
from tests.lights.dialect.building import PAINT, RANGES, grammar_of

RED, GREEN, DARK = bytes([255, 0, 0]), bytes([0, 255, 0]), bytes(3)
RACK = Place("rack", 2, 12, 6)


def painter(template: RequestTemplate, body_bytes: int = 1500, **changes: Any) -> Painter:  # noqa: ANN401
    """The painter of a template under a limit."""
    return Painter(grammar_of(limits=Limits(body_bytes=body_bytes), **changes), template)


def bodies(made: Painter, frame: bytes, before: bytes | None = None) -> list[Any]:
    """What is sent, as values."""
    return [
        json.loads(request.body) for request in made.requests(RACK, frame, before) if request.body
    ]


RUNS = [
    (RED * 4, None, [(0, 4)]),
    (RED * 2 + DARK * 2, None, [(0, 2), (2, 2)]),
    (RED * 4, RED * 4, []),
    (RED * 4, RED * 3 + DARK, [(3, 1)]),
    (RED * 4, DARK + RED * 2 + DARK, [(0, 4)]),
    (RED * 4, RED + DARK + RED * 2, [(1, 1)]),
    (RED * 2 + GREEN * 2, RED * 3 + GREEN, [(2, 1)]),
    (b"", None, []),
]


@pytest.mark.parametrize(("frame", "before", "expected"), RUNS)
def test_runs_hold_what_changed(
    frame: bytes, before: bytes | None, expected: list[tuple[int, int]]
) -> None:
    """Runs of one colour, trimmed to their first and last pixel that differ."""
    assert [(run.first, run.length) for run in runs_of(frame, before)] == expected


PIXELS = st.sampled_from([RED, GREEN, DARK])
FRAMES = st.lists(PIXELS, min_size=6, max_size=6).map(b"".join)


@settings(deadline=None)
@given(FRAMES, FRAMES | st.none(), st.integers(30, 300))
def test_painting_ranges_turns_one_frame_into_the_other(
    frame: bytes, before: bytes | None, limit: int
) -> None:
    """Applied to what was there, all ranges together give the frame, each body within the limit."""
    made = painter(RANGES, limit)
    there = bytearray(before or b"\x07" * 18)
    for request in made.requests(RACK, frame, before):
        assert request.body is not None
        strokes = json.loads(request.body)["strokes"]
        assert len(request.body) <= limit or len(strokes) == 1
        for first, length, colour in strokes:
            start = first - RACK.first
            there[3 * start : 3 * (start + length)] = bytes.fromhex(colour) * length
    assert bytes(there) == frame


@settings(deadline=None)
@given(
    st.integers(1, 40).flatmap(lambda n: st.binary(min_size=3 * n, max_size=3 * n)),
    st.integers(40, 200),
)
def test_painting_pixels_is_divided_without_a_gap(frame: bytes, limit: int) -> None:
    """The parts begin where the last ended, hold every pixel once, each within the limit."""
    place = Place("rack", 2, 12, len(frame) // 3)
    painted = b""
    for request in painter(PAINT, limit).requests(place, frame, None):
        assert request.body is not None
        body = json.loads(request.body)
        assert len(request.body) <= limit
        assert body["from"] == place.first + len(painted) // 3
        painted += bytes.fromhex("".join(body["cells"]))
    assert painted == frame


def test_an_equal_frame_needs_no_request() -> None:
    """What is there already is not painted again."""
    assert painter(PAINT).requests(RACK, RED * 6, RED * 6) == ()


def test_a_frame_of_another_length_is_not_what_is_there() -> None:
    """Where the segment grew, everything is painted."""
    assert bodies(painter(RANGES), RED * 6, RED * 5) == [{"strokes": [[12, 6, "ff0000"]]}]


def test_at_most_so_many_parts_go_in_a_request() -> None:
    """A controller that takes four at a time gets four, and then the rest."""
    template = RequestTemplate(
        "POST", "/dots", body={"each": "pixel", "put": ["{pixel}", "{colour}"], "most": 4}
    )
    sent = bodies(painter(template), RED * 6)
    assert [[number for number, _ in part] for part in sent] == [[12, 13, 14, 15], [16, 17]]


def test_what_cannot_be_divided_goes_whole() -> None:
    """Where no request can say where it begins, the frame is one request."""
    template = RequestTemplate(
        "PUT", "/{number}", body={"each": "pixel", "put": "{colour}", "joined": ""}
    )
    assert bodies(painter(template, 10), RED * 6) == ["ff0000" * 6]


def test_a_single_part_goes_though_it_is_too_long() -> None:
    """It is for the findings to say that a dialect cannot work; nothing is held back for ever."""
    assert len(bodies(painter(RANGES, 5), RED * 3 + GREEN * 3)) == 2


def test_painted_pixels_have_a_codec_of_their_own() -> None:
    """Where pixels are written otherwise than colours are."""
    made = painter(PAINT, pixel_colour=ColourCodec(mark="#", order="GRB"))
    assert bodies(made, RED + DARK * 5)[0]["cells"][:2] == ["#00ff00", "#000000"]


def test_painted_pixels_may_have_a_white_of_their_own() -> None:
    """Of each pixel what its three channels have in common."""
    put = ["{pixel}", "{red}", "{green}", "{blue}", "{white}"]
    template = RequestTemplate("POST", "/dots", body={"each": "pixel", "put": put})
    frame = bytes((200, 90, 30)) + RED + bytes((8, 8, 8)) + DARK * 3
    assert bodies(painter(template), frame)[0][:4] == [
        [12, 170, 60, 0, 30],
        [13, 255, 0, 0, 0],
        [14, 0, 0, 0, 8],
        [15, 0, 0, 0, 0],
    ]


EASED = [
    {"ease": "{fade}", "c": {"each": "pixel", "put": "{colour}"}},
    {"c": {"each": "pixel", "put": ["{pixel}", "{colour}", "{fade}"]}},
    {"c": {"each": "range", "put": ["{first}", "{colour}", "{fade}"]}},
    {"each": "segment", "put": {"n": "{fade}", "c": {"each": "pixel", "put": "{colour}"}}},
]


@pytest.mark.parametrize("body", EASED)
def test_painted_pixels_fade_as_it_is_told(body: Any) -> None:  # noqa: ANN401
    """In whole units, beside the pixels or with each of them; where nobody asks, at once."""
    made = painter(RequestTemplate("PUT", "/", body=body), fade=TimeCodec(100))

    def told(fade_ms: int) -> set[int]:
        (sent,) = made.requests(RACK, RED * 6, None, fade_ms)
        return {number for number in _numbers(json.loads(sent.body or b"")) if number < 10}

    assert told(401) == {5}
    assert told(0) == {0}
    assert made.fade_ms(Still(RED * 6, 401)) == 500


def _numbers(value: Any) -> Iterator[int]:  # noqa: ANN401
    if isinstance(value, int):
        yield value
    elif isinstance(value, dict | list):
        for each in value.values() if isinstance(value, dict) else value:
            yield from _numbers(each)


def test_what_follows_may_tell_the_fade() -> None:
    """It is then that the pixels change."""
    made = painter(replace(PAINT, then=RequestTemplate("POST", "/up/{fade}")))
    *_, last = made.requests(RACK, RED * 6, None, 400)
    assert last.path == "/up/400"
    assert made.fade_ms(Still(RED * 6, 400)) == 400


def test_without_a_word_for_it_nothing_fades() -> None:
    """The pixels are there at once."""
    assert painter(PAINT).fade_ms(Still(RED * 6, 400)) == 0
    assert painter(PAINT).requests(RACK, RED * 6, None, 400) == painter(PAINT).requests(
        RACK, RED * 6, None
    )


def test_what_shows_it_follows_once() -> None:
    """The request that makes the painted parts visible comes last."""
    template = RequestTemplate(
        "POST",
        "/dots",
        body={"each": "pixel", "put": ["{pixel}", "{colour}"], "most": 4},
        then=RequestTemplate("POST", "/up/{number}"),
    )
    assert [request.path for request in painter(template).requests(RACK, RED * 6, None)] == [
        "/dots",
        "/dots",
        "/up/2",
    ]


@pytest.mark.parametrize(("frame", "lit"), [(DARK * 5 + RED, True), (DARK * 6, False)])
def test_a_stretch_is_lit_if_any_pixel_is(frame: bytes, lit: bool) -> None:
    """The flag beside the pixels says whether any light comes out."""
    template = RequestTemplate(
        "PUT",
        "/",
        body={"lit": "{on}", "all": "{level}", "c": {"each": "pixel", "put": "{colour}"}},
    )
    (body,) = bodies(painter(template), frame)
    assert (body["lit"], body["all"]) == (lit, 255)


def test_a_segment_of_a_list_is_painted_in_it() -> None:
    """Where a request repeats segments, the painted one is its only."""
    put = {"n": "{number}", "c": {"each": "pixel", "put": "{colour}", "joined": ""}}
    template = RequestTemplate("PUT", "/", body={"each": "segment", "put": put})
    assert bodies(painter(template), RED * 6) == [[{"n": 2, "c": "ff0000" * 6}]]


def test_a_run_is_placed_where_the_segment_is() -> None:
    """Runs count from the frame's start, in a request from the controller's first pixel."""
    assert runs_of(DARK + RED * 2) == [Run(0, 1, (0, 0, 0)), Run(1, 2, (255, 0, 0))]
    assert bodies(painter(RANGES), DARK + RED * 5)[0]["strokes"][1] == [13, 5, "ff0000"]
