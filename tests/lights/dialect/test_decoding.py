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
from bridge.lights.dialect.grammar import FrameCodec, NativeEffect, ScaleCodec
from bridge.lights.look import Native
from tests.lights.dialect.building import EFFECTS, WALL, grammar_of, read_of

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
