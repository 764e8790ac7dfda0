"""A codec that says nothing, or that could not be read back, is named at its key."""

from __future__ import annotations

import pytest

from bridge.lights.dialect.codec_problems import codec_problems
from bridge.lights.dialect.codecs import decode_colour, decode_frame, encode_colour, encode_frame
from bridge.lights.dialect.grammar import (
    ColourCodec,
    DialectGrammar,
    FrameCodec,
    ScaleCodec,
    WordCodec,
)
from bridge.scenes.scene import Colour
from tests.lights.dialect.building import grammar_of

PROBLEMS: list[tuple[DialectGrammar, tuple[str | int, ...], str]] = [
    (
        grammar_of(level=ScaleCodec(high=0)),
        ("codecs", "level", "to"),
        "goes from 0 to 0, so it says nothing; expected two unlike numbers",
    ),
    (
        grammar_of(level=ScaleCodec(high=1)),
        ("codecs", "level", "digits"),
        "0 with 0 to 1 leaves only its ends; expected 2 or more",
    ),
    (
        grammar_of(white=ScaleCodec(high=1)),
        ("codecs", "white", "digits"),
        "0 with 0 to 1 leaves only its ends; expected 2 or more",
    ),
    (
        grammar_of(hue=ScaleCodec(least=400, high=360)),
        ("codecs", "hue", "least"),
        "400 lies outside 0 to 360",
    ),
    (
        grammar_of(pixel_colour=ColourCodec("object", keys=("a", "a", "b"))),
        ("codecs", "pixel_colour", "keys"),
        "a, a, b are not unlike keys",
    ),
    (
        grammar_of(colour=ColourCodec("list", to=1, digits=0)),
        ("codecs", "colour", "digits"),
        "0 leaves only nought and one; expected more digits",
    ),
    (
        grammar_of(colour=ColourCodec(order="RGGB")),
        ("codecs", "colour", "order"),
        "'RGGB' names no order of channels; expected R, G, B and perhaps W, each once",
    ),
    (
        grammar_of(on=WordCodec("yes", "yes")),
        ("codecs", "on"),
        "lit and dark are alike, so the flag says nothing",
    ),
    (
        grammar_of(colour=ColourCodec("css", order="GRB")),
        ("codecs", "colour", "order"),
        "is for hex, list and integer; css writes red, green, blue",
    ),
    (
        grammar_of(colour=ColourCodec("object", order="RGBW", white="extract")),
        ("codecs", "colour", "order"),
        "is for hex, list and integer; an object has keys",
    ),
    (
        grammar_of(colour=ColourCodec("css", between="; ")),
        ("codecs", "colour", "between"),
        "'; ' between the numbers could not be read back; expected a comma, a blank, or both",
    ),
    (
        grammar_of(pixel_colour=ColourCodec("css", function="hsl", between="")),
        ("codecs", "pixel_colour", "between"),
        "'' between the numbers could not be read back; expected a comma, a blank, or both",
    ),
    (
        grammar_of(colour=ColourCodec(white="extract")),
        ("codecs", "colour", "white"),
        "extract wants a channel for it, and there is none; expected a W in order, such as RGBW",
    ),
    (
        grammar_of(pixel_colour=ColourCodec("object", white="extract")),
        ("codecs", "pixel_colour", "white"),
        "extract wants a channel for it, and there is none; expected a fourth key",
    ),
    (
        grammar_of(colour=ColourCodec("css", white="extract")),
        ("codecs", "colour", "white"),
        "extract wants a channel for it, and there is none; expected dark",
    ),
    (
        grammar_of(frame=FrameCodec("text"), colour=ColourCodec("integer")),
        ("codecs", "frame", "form"),
        "text without between cannot be taken apart, as integer colours differ in length; expected",
    ),
    (
        grammar_of(frame=FrameCodec("text", between=";"), pixel_colour=ColourCodec("list")),
        ("codecs", "frame", "form"),
        "text holds no colours of the form list; expected list, or hex colours",
    ),
    (
        grammar_of(frame=FrameCodec("text", between=", "), colour=ColourCodec("css")),
        ("codecs", "frame", "between"),
        "', ' may stand within a colour too; expected a text with something that no colour holds",
    ),
    (
        grammar_of(frame=FrameCodec("text", between="0"), pixel_colour=ColourCodec("integer")),
        ("codecs", "frame", "between"),
        "'0' may stand within a colour too",
    ),
    (
        grammar_of(frame=FrameCodec("text", between="#"), colour=ColourCodec(mark="#")),
        ("codecs", "frame", "between"),
        "'#' may stand within a colour too",
    ),
]


@pytest.mark.parametrize(("grammar", "path", "sentence"), PROBLEMS)
def test_a_bad_codec_has_its_sentence(
    grammar: DialectGrammar, path: tuple[str | int, ...], sentence: str
) -> None:
    """One mistake, one problem, at the key where it was made."""
    (found,) = codec_problems(grammar)
    assert found[0] == path
    assert found[1].startswith(sentence)
    assert not found[1].endswith(".")


#: Primary and full and dark colours, and one with every digit in its hex, packed and decimal text.
COLOURS: list[Colour] = [(0, 0, 0), (255, 255, 255), (1, 2, 3), (200, 90, 30), (0x4E, 0x6F, 0x78)]
FORMS = [
    ColourCodec("css", between=" "),
    ColourCodec("css", between=","),
    ColourCodec("css", between=" , ", function="hsl"),
    ColourCodec("list", order="GRBW", white="extract"),
    ColourCodec("integer", order="RGBW", white="extract"),
    ColourCodec("object", keys=("r", "g", "b", "w"), white="extract"),
]


@pytest.mark.parametrize("codec", FORMS)
def test_a_colour_that_is_let_through_comes_back(codec: ColourCodec) -> None:
    """What no problem is found in has an inverse."""
    assert list(codec_problems(grammar_of(colour=codec))) == []
    for colour in COLOURS:
        assert decode_colour(codec, encode_colour(codec, colour)) == colour


TEXTS = [
    (FrameCodec("text"), ColourCodec(mark="#", after="00")),
    (FrameCodec("text", between=" 0"), ColourCodec()),
    (FrameCodec("text", between=","), ColourCodec("integer")),
    (FrameCodec("text", between="1,1"), ColourCodec("integer", order="BGR")),
    (FrameCodec("text", between="; "), ColourCodec("css")),
    (FrameCodec("text", between=", "), ColourCodec("css", between=" ")),
]


@pytest.mark.parametrize(("frame", "colour"), TEXTS)
def test_a_text_that_is_let_through_can_be_taken_apart(
    frame: FrameCodec, colour: ColourCodec
) -> None:
    """Wherever one colour ends and the next begins."""
    assert list(codec_problems(grammar_of(frame=frame, colour=colour))) == []
    painted = b"".join(bytes((*one, *other)) for one in COLOURS for other in COLOURS)
    assert decode_frame(frame, colour, encode_frame(frame, colour, painted)) == painted
