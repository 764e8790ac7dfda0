"""Every codec is two-way: what is written is read back as what was meant."""

from __future__ import annotations

from typing import Any, get_args

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bridge.facts.places import ABSENT, compile_place
from bridge.lights.dialect.codecs import (
    CodecError,
    decode_colour,
    decode_count,
    decode_frame,
    decode_scale,
    decode_time,
    decode_word,
    encode_colour,
    encode_count,
    encode_frame,
    encode_scale,
    encode_time,
    encode_turn,
    encode_word,
    least_proportion,
    number_of,
    part_of_scale,
    round_to,
    same_json,
    shown,
    told_ms,
)
from bridge.lights.dialect.grammar import (
    ColourCodec,
    CountCodec,
    FrameCodec,
    Rounding,
    ScaleCodec,
    TimeCodec,
    WordCodec,
)

CHANNELS = st.integers(0, 255)
COLOURS = st.tuples(CHANNELS, CHANNELS, CHANNELS)
AFFIXES = st.text("abc-: %", max_size=3)


@st.composite
def colour_codecs(draw: st.DrawFn) -> ColourCodec:
    """Any colour codec that keeps eight bits."""
    to = draw(st.sampled_from([255, 1, 256, 1000, 1023, 65535]))
    return ColourCodec(
        form=draw(st.sampled_from(["hex", "list", "object", "css", "integer"])),
        mark=draw(st.sampled_from(["", "#", "0x"])),
        after=draw(st.sampled_from(["", "00"])),
        case=draw(st.sampled_from(["lower", "upper"])),
        order="".join(draw(st.permutations(draw(st.sampled_from(["RGB", "RGBW"]))))),
        white=draw(st.sampled_from(["dark", "extract"])),
        function=draw(st.sampled_from(["rgb", "hsl"])),
        keys=draw(st.sampled_from([("r", "g", "b"), ("r", "g", "b", "w")])),
        to=to,
        digits=draw(st.integers(3, 6)),
        between=draw(st.sampled_from([", ", " ", ","])),
    )


@st.composite
def scale_codecs(draw: st.DrawFn) -> ScaleCodec:
    """Any scale with two unlike ends, rising or falling."""
    low, high = draw(st.integers(-1000, 70_000)), draw(st.integers(-1000, 70_000))
    assume(low != high)
    return ScaleCodec(
        low=low,
        high=high,
        rounding=draw(st.sampled_from(get_args(Rounding))),
        digits=draw(st.integers(0, 4)),
        written=draw(st.sampled_from(["number", "text"])),
        before=draw(st.sampled_from(["", "to "])),
        after=draw(st.sampled_from(["", " %"])),
    )


@settings(deadline=None)
@given(colour_codecs(), COLOURS)
def test_a_colour_comes_back(codec: ColourCodec, colour: tuple[int, int, int]) -> None:
    """At eight bits or more, decoding is the inverse of encoding."""
    assert decode_colour(codec, encode_colour(codec, colour)) == colour


@settings(deadline=None)
@given(st.integers(1, 255), COLOURS)
def test_a_coarse_colour_comes_back_as_written(to: int, colour: tuple[int, int, int]) -> None:
    """With fewer steps than eight bits, what was written is written again."""
    codec = ColourCodec("list", to=to, digits=0)
    written = encode_colour(codec, colour)
    assert encode_colour(codec, decode_colour(codec, written)) == written


@settings(deadline=None)
@given(scale_codecs(), st.floats(0, 1))
def test_a_proportion_comes_back_within_a_step(codec: ScaleCodec, proportion: float) -> None:
    """Decoding is the inverse of encoding to within the one rounding."""
    step = 10.0**-codec.digits / abs(codec.high - codec.low)
    decoded = decode_scale(codec, encode_scale(codec, proportion))
    assert decoded == pytest.approx(proportion, abs=step + 1e-6)


@settings(deadline=None)
@given(scale_codecs(), st.floats(0, 1))
def test_a_number_comes_back_as_written(codec: ScaleCodec, proportion: float) -> None:
    """What was written is written again, whatever the rounding."""
    written = encode_scale(codec, proportion)
    assert encode_scale(codec, decode_scale(codec, written)) == written


@settings(deadline=None)
@given(
    st.builds(
        CountCodec,
        st.integers(0, 1),
        st.sampled_from(["number", "text"]),
        AFFIXES,
        AFFIXES,
    ),
    st.integers(0, 10_000) | st.from_regex(r"[a-z]{1,8}", fullmatch=True),
)
def test_a_count_or_a_name_comes_back(codec: CountCodec, count: int | str) -> None:
    """Numbers are counted from the codec's start and back; names stay as they are."""
    assert decode_count(codec, encode_count(codec, count)) == count


JSON_VALUES = st.none() | st.booleans() | st.integers(-5, 5) | st.text(max_size=3)


@settings(deadline=None)
@given(JSON_VALUES, JSON_VALUES, st.booleans())
def test_a_flag_comes_back(lit: Any, dark: Any, value: bool) -> None:  # noqa: ANN401
    """Any two unlike JSON values can stand for lit and dark, true and 1 included."""
    assume(not same_json(lit, dark))
    codec = WordCodec(lit, dark)
    assert decode_word(codec, encode_word(codec, value)) is value


@settings(deadline=None)
@given(
    colour_codecs(),
    st.binary(max_size=60).map(lambda data: data[: len(data) // 3 * 3]),
    st.sampled_from(["list", "text"]),
)
def test_a_frame_comes_back(colour: ColourCodec, frame: bytes, form: Any) -> None:  # noqa: ANN401
    """A frame of any length is decoded to its bytes."""
    assume(form == "list" or colour.form == "hex")
    codec = FrameCodec(form, between="|" if colour.mark else "")
    assert decode_frame(codec, colour, encode_frame(codec, colour, frame)) == frame


ROUNDINGS: list[tuple[float, Rounding, int, float]] = [
    (157.5, "nearest", 0, 158),
    (156.5, "nearest", 0, 157),
    (63.7, "down", 0, 63),
    (0.29 * 100, "down", 0, 29),  # 28.999999999999996 in binary
    (0.1 + 0.2, "up", 1, 0.3),  # 0.30000000000000004 in binary
    (63.2, "up", 0, 64),
    (0.78431, "nearest", 3, 0.784),
    (-0.5, "nearest", 0, 0),
]


@pytest.mark.parametrize(("number", "rounding", "digits", "expected"), ROUNDINGS)
def test_rounding(number: float, rounding: Rounding, digits: int, expected: float) -> None:
    """A half goes up, and binary noise decides nothing."""
    assert round_to(number, rounding, digits) == expected


COLOUR_CASES = [
    (ColourCodec(), 1.0, "c85a1e"),
    (ColourCodec(mark="#", case="upper", after="00"), 1.0, "#C85A1E00"),
    (ColourCodec(order="GRB"), 1.0, "5ac81e"),
    (ColourCodec("list", order="BGR"), 1.0, [30, 90, 200]),
    (ColourCodec("list", order="RGBW"), 1.0, [200, 90, 30, 0]),
    (ColourCodec("list", order="WGRB", white="extract"), 1.0, [30, 60, 170, 0]),
    (ColourCodec("list", order="RGBW", white="extract", to=1), 1.0, [0.666, 0.235, 0.0, 0.118]),
    (ColourCodec(order="GRBW", white="extract"), 1.0, "3caa001e"),
    (ColourCodec("integer", order="RGBW", white="extract"), 1.0, 0xAA3C001E),
    (
        ColourCodec("object", keys=("r", "g", "b", "w"), white="extract"),
        1.0,
        {"r": 170, "g": 60, "b": 0, "w": 30},
    ),
    (ColourCodec("css", function="hsl"), 1.0, "hsl(21.18, 73.91%, 45.1%)"),
    (ColourCodec("list", to=1), 1.0, [0.784, 0.353, 0.118]),
    (ColourCodec("object", keys=("x", "y", "z"), to=1000), 1.0, {"x": 784, "y": 353, "z": 118}),
    (ColourCodec("css"), 1.0, "rgb(200, 90, 30)"),
    (ColourCodec("css", between=" "), 1.0, "rgb(200 90 30)"),
    (ColourCodec("integer"), 1.0, 0xC85A1E),
    (ColourCodec("integer", order="BGR"), 1.0, 0x1E5AC8),
    # The level is folded in with one rounding: 126, 56.7, 18.9.
    (ColourCodec(), 0.63, "7e3913"),
    (ColourCodec("list", to=1000), 0.5, [392, 176, 59]),
]


@pytest.mark.parametrize(("codec", "factor", "written"), COLOUR_CASES)
def test_a_colour_is_written(codec: ColourCodec, factor: float, written: Any) -> None:  # noqa: ANN401
    """The forms of a colour, for 200, 90, 30."""
    assert encode_colour(codec, (200, 90, 30), factor) == written


BAD_COLOURS = [
    (ColourCodec(), "c85a1"),
    (ColourCodec(), "c85a1g"),
    (ColourCodec(), 13130270),
    (ColourCodec(), None),
    (ColourCodec("list"), [1, 2]),
    (ColourCodec("list"), [1, 2, 3, 4]),
    (ColourCodec("list"), [1, 2, 256]),
    (ColourCodec("list"), [1, 2, -1]),
    (ColourCodec("list"), [1, True, 2]),
    (ColourCodec("list"), [1, float("inf"), 2]),
    (ColourCodec("list", to=1), [0, 0, 1.5]),
    (ColourCodec("object"), {"red": 1, "green": 2}),
    (ColourCodec("css"), "rgb(1, 2)"),
    (ColourCodec("css"), "rgb(1, 2, 256)"),
    (ColourCodec("integer"), 0x1000000),
    (ColourCodec("integer"), 1.5),
    (ColourCodec("integer"), ABSENT),
]


@pytest.mark.parametrize(("codec", "raw"), BAD_COLOURS)
def test_what_is_no_colour_is_refused(codec: ColourCodec, raw: Any) -> None:  # noqa: ANN401
    """Outside what the codec writes nothing is guessed or clamped."""
    with pytest.raises(CodecError, match="is not a"):
        decode_colour(codec, raw)


READ_ALIKE = [
    (ColourCodec(mark="#"), "#C85A1E"),
    (ColourCodec(mark="#"), "c85a1e"),
    (ColourCodec("css"), "RGB(200,90,30)"),
    (ColourCodec("integer"), "13130270"),
    (ColourCodec("list"), ["200", 90.0, 30]),
]


@pytest.mark.parametrize(("codec", "raw"), READ_ALIKE)
def test_a_controller_may_answer_otherwise_than_it_is_told(
    codec: ColourCodec,
    raw: Any,  # noqa: ANN401
) -> None:
    """Case, a mark, blanks, and numbers as texts make no difference to what is meant."""
    assert decode_colour(codec, raw) == (200, 90, 30)


SCALES = [
    (ScaleCodec(high=4095), 0.63, 2580),
    (ScaleCodec(high=100, rounding="down"), 0.637, 63),
    (ScaleCodec(high=250, least=8), 0.02, 8),
    (ScaleCodec(low=100, high=0), 0.63, 37),
    (ScaleCodec(low=100, high=0, least=95), 0.01, 95),
    (ScaleCodec(high=1, digits=2), 0.63, 0.63),
    (ScaleCodec(high=100, written="text"), 0.5, "50"),
    (ScaleCodec(high=1, digits=1, written="text"), 0.5, "0.5"),
    (ScaleCodec(high=100, after=" %"), 0.63, "63 %"),
]


@pytest.mark.parametrize(("codec", "proportion", "written"), SCALES)
def test_a_level_is_written(codec: ScaleCodec, proportion: float, written: Any) -> None:  # noqa: ANN401
    """Levels, darkness, and the least that any lit look gets."""
    assert encode_scale(codec, proportion) == written


def test_a_dark_look_needs_no_least_level() -> None:
    """Nought stays nought: the least level would light what should be dark."""
    codec = ScaleCodec(high=250, least=8)
    assert encode_scale(codec, 0.0, lit=False) == 0
    assert least_proportion(codec) == 0.032
    assert least_proportion(ScaleCodec()) == 0


@pytest.mark.parametrize(
    ("proportion", "written"), [(0.0, 0), (0.9999, 0), (0.5, 200), (0.998, 399)]
)
def test_a_whole_turn_of_hue_is_none(proportion: float, written: int) -> None:
    """A hue that rounds to a whole turn is written as nought, which every scale has."""
    assert encode_turn(ScaleCodec(high=400), proportion) == written


BAD_NUMBERS = ["", "x", "1e999", "nan", "1_0", " 1", True, None, [1], float("nan"), float("inf")]


@pytest.mark.parametrize("raw", BAD_NUMBERS)
def test_what_is_no_number_is_refused(raw: Any) -> None:  # noqa: ANN401
    """A flag, NaN and a text that only starts like a number are no numbers."""
    with pytest.raises(CodecError, match="is not a number"):
        number_of(raw)


@pytest.mark.parametrize("raw", [256, -1, "256"])
def test_a_number_outside_its_scale_is_refused(raw: Any) -> None:  # noqa: ANN401
    """Never clamped: a number that cannot be says nothing about what is shown."""
    with pytest.raises(CodecError, match="from 0 to 255"):
        decode_scale(ScaleCodec(), raw)


def test_an_affix_must_be_there_in_a_text() -> None:
    """A percentage is read with its sign, a bare number is a number."""
    codec = ScaleCodec(high=100, after=" %")
    assert part_of_scale(codec, "63 %") == 63
    assert part_of_scale(codec, 63) == 63
    with pytest.raises(CodecError, match="a text like 100 %"):
        part_of_scale(codec, "63")


@pytest.mark.parametrize(
    ("codec", "raw"),
    [
        (CountCodec(before="bar-"), "beam-1"),
        (CountCodec(), 1.5),
        (CountCodec(), None),
        (CountCodec(), "1.5"),
    ],
)
def test_what_is_no_count_is_refused(codec: CountCodec, raw: Any) -> None:  # noqa: ANN401
    """Half a pixel and another prefix are refused."""
    with pytest.raises(CodecError):
        decode_count(codec, raw)


def test_a_flag_of_another_word_is_refused() -> None:
    """The words are compared with their types."""
    with pytest.raises(CodecError, match="1 is not true or false"):
        decode_word(WordCodec(), 1)


@pytest.mark.parametrize(
    ("codec", "raw"),
    [
        (FrameCodec(), "ff0000"),
        (FrameCodec("text"), ["ff0000"]),
        (FrameCodec("text"), "ff000"),
        (FrameCodec(colour_at=compile_place("/1")), [[0]]),
    ],
)
def test_what_is_no_frame_is_refused(codec: FrameCodec, raw: Any) -> None:  # noqa: ANN401
    """A text for a list, a list for a text, a cut colour, an element without one."""
    with pytest.raises(CodecError):
        decode_frame(codec, ColourCodec(), raw)


def test_a_frame_is_found_in_pairs() -> None:
    """The colour may stand at a place of each element."""
    codec = FrameCodec(colour_at=compile_place("/1"))
    assert decode_frame(codec, ColourCodec(), [[60, "ff0000"], [61, "00ff00"]]) == (
        b"\xff\x00\x00\x00\xff\x00"
    )


def test_a_long_value_is_cut_in_a_sentence() -> None:
    """An error is one line, however large the value."""
    assert len(shown(list(range(1000)))) == 60
    assert shown(ABSENT) == "nothing"


@pytest.mark.parametrize(
    ("milliseconds", "unit_ms", "raw"),
    [(0, 100, 0), (400, 100, 4), (401, 100, 5), (60_000, 1000, 60)],
)
def test_a_time_is_written_in_whole_units(milliseconds: int, unit_ms: int, raw: int) -> None:
    """Rounded up: a look that is told to stay must not end early."""
    codec = TimeCodec(unit_ms)
    assert encode_time(codec, milliseconds) == raw
    assert 0 <= decode_time(codec, raw) - milliseconds < unit_ms
    assert encode_time(codec, decode_time(codec, raw)) == raw
    assert told_ms(codec, milliseconds) == decode_time(codec, raw)


@pytest.mark.parametrize("raw", ["soon", 1.5, -1, True])
def test_what_is_no_time_is_refused(raw: object) -> None:
    """As every other value that cannot have been written."""
    with pytest.raises(CodecError):
        decode_time(TimeCodec(), raw)


WRONG_COLOURS = [
    (ColourCodec("css", function="hsl"), "hsl(10, 120%, 3%)"),
    (ColourCodec("css", function="hsl"), "rgb(1, 2, 3)"),
    (ColourCodec(order="RGBW"), "00ff7f"),
    (ColourCodec("list", order="RGBW"), [1, 2, 3]),
    (ColourCodec("list", order="RGBW"), [200, 2, 3, 100]),
]


@pytest.mark.parametrize(("codec", "raw"), WRONG_COLOURS)
def test_what_cannot_have_been_written_is_refused(codec: ColourCodec, raw: object) -> None:
    """Four channels are not three, and no channel is fuller than full."""
    with pytest.raises(CodecError):
        decode_colour(codec, raw)
