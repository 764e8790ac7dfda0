"""What was read back is a look of ours again, as far as it tells."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.lights.dialect.codecs import CodecError
from bridge.lights.dialect.decoding import decoded, known
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.dialect.grammar import (
    FrameCodec,
    NativeEffect,
    RequestTemplate,
    Rounding,
    ScaleCodec,
)
from bridge.lights.dialect.problems import problems_of
from bridge.lights.dialect.readback import Observation
from bridge.lights.look import Native
from tests.lights.dialect.building import EFFECTS, WALL, grammar_of, read_of, values_of

CASES: list[tuple[dict[str, Any], dict[str, Any]]] = [
    ({}, {}),
    ({"colour": "c85a1e"}, {"colour": (200, 90, 30)}),
    ({"colour": "amber"}, {}),
    ({"level": 51}, {"level": 0.2}),
    ({"level": 300}, {}),
    ({"on": False}, {"on": False}),
    ({"on": "dim"}, {}),
    ({"effect": "plain"}, {"effect": "steady"}),
    ({"effect": "beat"}, {"effect": "flash", "rate": "normal"}),
    ({"effect": "toll"}, {"effect": "flash", "rate": "slow"}),
    ({"effect": "swirl"}, {}),
    ({"effect": None}, {}),
    ({"effect": {"effect": "flash", "period_ms": 1600}}, {"effect": "flash", "rate": "slow"}),
    ({"red": 200, "green": 90, "blue": 30}, {"colour": (200, 90, 30)}),
    ({"red": 200, "green": 90}, {}),
    ({"red": 200, "green": 90, "blue": 300}, {}),
    ({"red": 170, "green": 60, "blue": 0, "white": 30}, {"colour": (200, 90, 30)}),
    # Both may have been rounded up, and more than that was never written.
    ({"red": 225, "green": 60, "blue": 0, "white": 32}, {"colour": (255, 92, 32)}),
    ({"red": 226, "green": 60, "blue": 0, "white": 32}, {}),
    ({"red": 170, "green": 60, "blue": 0, "white": 300}, {}),
    ({"hue": 0, "saturation": 100, "value": 100}, {"colour": (255, 0, 0)}),
    ({"hue": 120, "saturation": 100, "value": 50}, {"colour": (0, 128, 0)}),
    ({"hue": 360, "saturation": 0, "value": 100}, {"colour": (255, 255, 255)}),
    ({"pixels": "ff000000ff00"}, {"frame": b"\xff\x00\x00\x00\xff\x00"}),
    ({"pixels": "ff000"}, {}),
]


@pytest.mark.parametrize(("seen", "expected"), CASES)
def test_a_reading_is_decoded(seen: dict[str, Any], expected: dict[str, Any]) -> None:
    """What cannot be told, or cannot have been written, is left out."""
    assert decoded(grammar_of(frame=FrameCodec("text")), seen) == expected


def test_a_colour_without_its_white_is_not_known() -> None:
    """Where a part of it is told as white, the other three are less than the colour."""
    seen: dict[str, object] = {"red": 170, "green": 60, "blue": 0}
    assert decoded(grammar_of(), seen, has_white=True) == {}
    assert decoded(grammar_of(), {**seen, "white": 30}, has_white=True)["colour"] == (200, 90, 30)


def test_a_rate_is_told_only_where_one_is_meant() -> None:
    """Two flashes of one name at two rates: a flash, of unknown rate."""
    effects = {"flash": (NativeEffect("beat", 640), NativeEffect("beat", 1600))}
    assert decoded(grammar_of(effects=effects), {"effect": "beat"}) == {"effect": "flash"}


def test_a_name_of_two_effects_is_neither() -> None:
    """One word for steady and flash tells nothing."""
    effects = EFFECTS | {"steady": (NativeEffect("beat"),)}
    assert decoded(grammar_of(effects=effects), {"effect": "beat"}) == {}


def test_what_does_not_decode_is_not_known() -> None:
    """The error of a codec is no answer; any other error is not swallowed."""

    def refuse() -> int:
        raise CodecError(1, "a colour")

    assert known(lambda: 7) == 7
    assert known(refuse) is None
    with pytest.raises(ZeroDivisionError):
        known(lambda: 1 // 0)


LOOKS = st.builds(
    Native,
    st.sampled_from(["steady", "flash"]),
    st.tuples(st.integers(0, 255), st.integers(0, 255), st.integers(0, 255)),
    st.floats(0, 1),
    st.sampled_from(["slow", "normal"]),
)


FOUR = {"r": "{red}", "g": "{green}", "b": "{blue}", "w": "{white}"}
FOUR_READ = values_of(
    {"/r": "red", "/g": "green", "/b": "blue", "/w": "white", "/l": "level", "/e": "effect"}
)


@settings(deadline=None)
@given(LOOKS, st.sampled_from([255, 1023, 65_535]))
def test_every_look_comes_back_by_four_channels(look: Native, most: int) -> None:
    """A number each, white among them: the light that they make together is the colour."""
    scale = ScaleCodec(high=most)
    show = RequestTemplate("PUT", "/", body={**FOUR, "l": "{level}", "e": "{effect}"})
    grammar = grammar_of(
        show=show,
        read=read_of(each=None, match=(), values=FOUR_READ),
        level=ScaleCodec(high=4095),
        red=scale,
        green=scale,
        blue=scale,
        white=scale,
    )
    assert problems_of(grammar) == []
    dialect = Dialect(grammar)
    said = dialect.show([(WALL, look)]).body
    assert said is not None
    told = json.loads(said)
    assert min(told["r"], told["g"], told["b"]) == 0
    seen = dialect.observed(said, [WALL])
    assert isinstance(seen, Observation)
    assert dialect.differences(WALL, look, seen.seen["wall"]) == ()
    assert dialect.decode(seen.seen["wall"])["colour"] == look.colour
    # A colour that is mixed without the white is another one to the controller.
    if look.lit and min(look.colour) > 0:
        mixed = {**seen.seen["wall"], "white": 0}
        assert dialect.differences(WALL, look, mixed) == ("white",)


@settings(deadline=None)
@given(LOOKS, st.sampled_from([1, 100, 255, 1023]), st.sampled_from(["nearest", "down", "up"]))
def test_a_folded_level_comes_out_of_four_channels(
    look: Native, most: int, rounding: Rounding
) -> None:
    """Whatever the scale and the rounding, the light is told to within a step of each number."""
    scale = ScaleCodec(high=most, rounding=rounding, digits=2 if most == 1 else 0)
    grammar = grammar_of(
        show=RequestTemplate("PUT", "/", body=[*FOUR.values(), "{effect}"]),
        red=scale,
        green=scale,
        blue=scale,
        white=scale,
    )
    colour, level = Dialect(grammar).comes_out(look)
    assert level == 1.0
    step = 255 * 10.0**-scale.digits / most
    for out, wished in zip(colour, look.colour, strict=True):
        assert abs(out - wished * look.level) <= 2 * step + 0.5


@settings(deadline=None)
@given(LOOKS)
def test_every_look_comes_back(look: Native) -> None:
    """Sent, answered as sent, and decoded: the same effect, colour, rate, and level to a step."""
    dialect = Dialect(grammar_of(level=ScaleCodec(high=4095), read=read_of(each=None, match=())))
    body = dialect.show([(WALL, look)]).body
    assert body is not None
    said = json.loads(body)
    seen = {"colour": said["paint"], "level": said["drive"], "effect": said["motion"]}
    assert dialect.differences(WALL, look, seen) == ()
    values = dialect.decode(seen)
    assert (values["effect"], values["colour"]) == (look.effect, look.colour)
    assert values.get("rate") == (look.rate if look.effect == "flash" else None)
    assert values["level"] == pytest.approx(look.level, abs=1 / 4095)
