"""Dialects from the file to their grammar."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.facts.places import compile_place
from bridge.lights.dialect.grammar import (
    ColourCodec,
    CountCodec,
    FrameCodec,
    Limits,
    NativeEffect,
    ReplyCheck,
    RequestTemplate,
    Restart,
    ScaleCodec,
    Told,
    WordCodec,
)
from bridge.settings.load import load_site
from tests.settings.copies import GOOD, copy_of_good, lines_of, load_edited, wrong

BARS = "dialects/bars.yaml"


def test_a_dialect_is_what_was_written() -> None:
    """Times in milliseconds, places compiled, templates as they stand."""
    bars = load_site(GOOD).dialects["bars"]
    assert bars.limits == Limits(8, 1000, 1, 1500, 3000, 300)
    assert bars.colour == ColourCodec("hex")
    assert bars.level == ScaleCodec(high=4095.0)
    assert bars.effects == {
        "steady": (NativeEffect("plain"),),
        "flash": (NativeEffect("beat", 600), NativeEffect("toll", 1600)),
    }
    assert bars.show == RequestTemplate(
        method="PUT",
        path="/bars/{number}",
        body={"paint": "{colour}", "drive": "{level}", "motion": "{effect}"},
        reply=ReplyCheck(compile_place("/done"), wanted=True),
    )
    assert bars.read is not None
    assert bars.read.every_ms == 15_000
    assert bars.read.each == compile_place("/list")
    assert bars.read.match == ((compile_place("/bar"), "{number}"),)
    assert bars.read.values[0] == (compile_place("/paint"), "colour")
    assert bars.read.restart == Restart(compile_place("/awake"), "uptime", 1000.0)
    assert bars.identify is not None
    assert bars.identify.pixels == compile_place("/count")


CODECS = "codecs:\n  colour: hex\n"
READ: list[tuple[str, str, str, object]] = [
    (
        "colour: hex",
        'colour: {form: hex, mark: "#", after: "00", case: upper, order: GRB}',
        "colour",
        ColourCodec("hex", "#", "00", "upper", "GRB"),
    ),
    (
        "colour: hex",
        "colour: {form: object, to: 1, digits: 2, keys: [r, g, b]}",
        "colour",
        ColourCodec("object", to=1, digits=2, keys=("r", "g", "b")),
    ),
    (
        "colour: hex",
        "colour: hex\n  pixel_colour: {form: css, between: ' '}",
        "pixel_colour",
        ColourCodec("css", between=" "),
    ),
    (
        "colour: hex",
        "colour: hex\n  frame: {form: list, colour_at: /ink}",
        "frame",
        FrameCodec("list", compile_place("/ink")),
    ),
    (
        "{to: [0, 4095]}",
        "{to: [100, 0], round: down, digits: 1, least: 8, as: text, after: ' %'}",
        "level",
        ScaleCodec(100.0, 0.0, "down", 1, 8.0, "text", "", " %"),
    ),
    ("colour: hex", "colour: hex\n  hue: {digits: 1}", "hue", ScaleCodec(high=360.0, digits=1)),
    ("colour: hex", "colour: hex\n  white: {to: [0, 9]}", "white", ScaleCodec(high=9.0)),
    ("colour: hex", "colour: hex\n  on: {lit: 1, dark: 0}", "on", WordCodec(1, 0)),
    (
        "colour: hex",
        "colour: hex\n  number: {from: 1, as: text, before: bar-}",
        "number",
        CountCodec(1, "text", "bar-"),
    ),
]


@pytest.mark.parametrize(("old", "new", "field", "codec"), READ)
def test_a_codec_is_what_was_written(
    old: str, new: str, field: str, codec: object, tmp_path: Path
) -> None:
    """Every key reaches the grammar."""
    bars = load_edited(tmp_path, (BARS, old, new)).dialects["bars"]
    assert getattr(bars, field) == codec


def test_the_rarer_keys_of_requests(tmp_path: Path) -> None:
    """Statuses, forms, a request that must follow, effects told by a place."""
    bars = load_edited(
        tmp_path,
        (
            BARS,
            "  reply: {at: /done, is: true}",
            "  accepts: [202]\n  then: {method: POST, path: /hoist, query: {bar: '{number}'}}",
        ),
        (BARS, "steady: {name: plain}", "steady: {name: plain, told: {at: /still, is: 1}}"),
        (BARS, "worst: full}", "worst: steady, adds: {beat: 1}, told: /beat}"),
        (BARS, "restart: {uptime: /awake, unit: s}", "restart: {mark: /born}\n  must: {/main: 9}"),
        (BARS, ", /motion: effect}", "}"),
        (BARS, "8/s", "30/min"),
    ).dialects["bars"]
    assert bars.limits.window_ms == 60_000
    assert bars.show is not None
    assert bars.show.accepts == (202,)
    assert bars.show.then == RequestTemplate("POST", "/hoist", {"bar": "{number}"})
    assert bars.effects["steady"][0].told == Told(compile_place("/still"), 1)
    assert bars.effects["flash"][0] == NativeEffect(
        "beat", 600, "steady", {"beat": 1}, Told(compile_place("/beat"))
    )
    assert bars.read is not None
    assert bars.read.restart == Restart(compile_place("/born"), "mark")
    assert bars.read.must == (ReplyCheck(compile_place("/main"), 9),)


UPTIMES = [
    ("unit: ms", Restart(compile_place("/awake"), "uptime", 1.0)),
    ("unit: h", Restart(compile_place("/awake"), "uptime", 3_600_000.0)),
    ('unit: "h:m:s"', Restart(compile_place("/awake"), "uptime", written="h:m:s")),
    ("unit: iso 8601", Restart(compile_place("/awake"), "uptime", written="iso 8601")),
]


@pytest.mark.parametrize(("unit", "restart"), UPTIMES)
def test_an_uptime_has_a_unit_or_a_form(unit: str, restart: Restart, tmp_path: Path) -> None:
    """Milliseconds inside."""
    read = load_edited(tmp_path, (BARS, "unit: s", unit)).dialects["bars"].read
    assert read is not None
    assert read.restart == restart


REFUSED = [
    ("period: 600ms, ", "", "8:7: flash: needs a period: without one"),
    ("{name: plain}", "{name: plain, period: 1s}", "6:25: period: is for flash only"),
    ("{to: [0, 4095]}", "{to: [7, 7]}", "4:15: to: goes from 7 to 7, so it says"),
    ("{to: [0, 4095]}", "{to: [0, 9], least: 10}", "4:30: least: 10 lies outside 0 to 9"),
    (
        "colour: hex",
        "colour: {form: object, keys: [r, r, b]}",
        "3:32: keys: r, r, b are not unlike",
    ),
    ("colour: hex", "colour: hexa", "3:11: colour: is 'hexa', expected hex, list, object"),
    ("colour: hex", "colour: hex\n  number: {before: b}", "4:12: before: is for texts: add as"),
    ("list: /list", "list: /list\n  keyed: {at: /a, key: x}", "20:10: keyed: cannot stand beside"),
    ('  match: {/bar: "{number}"}\n', "", "19:9: list: has no match, so no item"),
    ("  list: /list\n", "", "19:10: match: is for the items of a list"),
    ("identity: /name, pixels: /count", "accepts: [200]", "23:11: identify: asks for nothing"),
    ("{/paint: colour", "{paint: colour", "21:12: paint: 'paint' is no place"),
    ("{at: /done", "{at: done", "14:15: at: 'done' is no place"),
    ("{uptime: /awake, unit: s}", "{uptime: awake, unit: s}", "22:21: uptime: 'awake' is no"),
    ("{uptime: /awake, unit: s}", "{uptime: /awake}", "22:3: restart: needs 'unit'"),
    ("path: /who", "path: who", "23:31: path: is 'who', expected a path that begins with /"),
    ("method: PUT", "method: put", "11:11: method: is 'put', expected a method in capitals"),
    ("  reply:", "  sends: most\n  reply:", "14:10: sends: is 'most', expected changed or all"),
    ("colour: hex", "colour: {order: RGG}", "3:19: order: 'RGG' names no order of channels"),
    ("colour: hex", "colour: {order: RGX}", "3:19: order: is 'RGX', expected an order of R"),
    ("  steady:", "  swell: {name: sigh}\n  steady:", "6:3: swell: is part of the grammar but not"),
]


@pytest.mark.parametrize(("old", "new", "start"), REFUSED)
def test_a_wrong_dialect_is_told(old: str, new: str, start: str, tmp_path: Path) -> None:
    """Once, at its place."""
    (line,) = wrong(tmp_path, (BARS, old, new))
    assert line.startswith(f"{BARS}:{start}")


def test_a_dialect_that_shows_nothing_is_none(tmp_path: Path) -> None:
    """It needs one of two requests."""
    site = copy_of_good(tmp_path)
    (site / BARS).write_text("effects: {}\n")
    (line,) = lines_of(site)
    assert line == "dialects/bars.yaml:1:1: shows nothing; expected a show or a paint request"


def test_every_problem_is_told_at_once(tmp_path: Path) -> None:
    """What is wrong in one part hides nothing of another, and a misread part is judged no more."""
    lines = wrong(
        tmp_path,
        (BARS, "{to: [0, 4095]}", "{to: [7, 7]}"),
        (BARS, '  match: {/bar: "{number}"}', '  match: {bar: "{number}"}'),
        (BARS, "identity: /name, pixels: /count", "accepts: [200]"),
    )
    assert [line.split(": ")[1] for line in lines] == ["to", "bar", "identify"]
