"""Which pixels are whose, and who drives them."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.engine.site import Controller, Segment
from bridge.lights.place import Place
from bridge.rules.table import Source
from bridge.scenes.calibration import AS_IT_IS, Calibration
from bridge.settings.load import load_site
from tests.settings.copies import GOOD, Edit, load_edited, wrong

SITE = "site.yaml"


def test_segments_are_what_was_written() -> None:
    """With the key's position, for findings."""
    site = load_site(GOOD)
    assert site.segments["frame"] == Segment(
        name="frame",
        controller="door",
        place=Place("frame", 1, 0, 120),
        resting="dark",
        printers=("kestrel",),
        table="wall",
        source=Source("site.yaml", 21, 3),
    )
    assert site.segments["lamp"].resting == "warm"
    assert site.segments["lamp"].printers == ()
    assert site.controllers["door"] == Controller(
        name="door", url="http://door.club.example", dialect="bars", pixels=180, identity="D-4"
    )


def test_a_number_may_be_a_text(tmp_path: Path) -> None:
    """Some controllers call their segments by letters."""
    site = load_edited(tmp_path, (SITE, "number: 2", 'number: "aft"'))
    assert site.segments["sill"].place.number == "aft"


def test_segments_may_touch_and_end_with_the_run(tmp_path: Path) -> None:
    """The last pixel belongs to the run; the next begins one further."""
    site = load_edited(tmp_path, (SITE, "first: 120, length: 40", "first: 120, length: 1"))
    assert site.segments["lamp"].place.last == site.controllers["door"].pixels - 1


def test_a_segment_may_speak_of_several_printers(tmp_path: Path) -> None:
    """Of the worst, where nothing else is written; of each for five seconds where they rotate."""
    both = ["printers: [plover]", "printers: [plover, kestrel]"]
    sill = load_edited(tmp_path / "1", (SITE, both[0], both[1])).segments["sill"]
    assert (sill.printers, sill.share) == (("plover", "kestrel"), "worst")
    sill = load_edited(tmp_path / "2", (SITE, both[0], both[1] + ", share: rotate")).segments[
        "sill"
    ]
    assert (sill.share, sill.dwell_ms) == ("rotate", 5000)
    rotate = both[1] + ", share: rotate, each: 3s"
    sill = load_edited(tmp_path / "3", (SITE, both[0], rotate)).segments["sill"]
    assert (sill.share, sill.dwell_ms) == ("rotate", 3000)


def test_sets_name_several_segments(tmp_path: Path) -> None:
    """In the order in which they were written; a site without any has none."""
    assert load_site(GOOD).sets == {}
    sets = "sets: {window: [lamp, sill], door: [frame]}\nresting: dark"
    site = load_edited(tmp_path, (SITE, "resting: dark", sets))
    assert site.sets == {"window": ("lamp", "sill"), "door": ("frame",)}


def test_a_broken_set_makes_no_noise(tmp_path: Path) -> None:
    """Its members are not judged."""
    sets = "sets: {window: 7, door: [frame]}\nresting: dark"
    (line,) = wrong(tmp_path, (SITE, "resting: dark", sets))
    assert line == "site.yaml:24:16: window: is 7, expected a list ([…])"


DARK = "resting: dark"
REFUSED: list[tuple[Edit, list[str]]] = [
    (
        (SITE, "first: 120", "first: 119"),
        ["22:3: sill: overlaps frame in pixel 119 of door, and a pixel"],
    ),
    (
        (SITE, "first: 160, length: 20", "first: 160, length: 21"),
        ["23:51: length: ends at pixel 180, past the end of door, whose last of 180 is 179"],
    ),
    (
        (SITE, "first: 120, length: 40", "first: 0, length: 180"),
        [
            "22:3: sill: overlaps frame in pixels 0 to 119 of door, and a pixel",
            "23:3: lamp: overlaps sill in pixels 160 to 179 of door, and a pixel",
        ],
    ),
    ((SITE, "pixels: 180", "pixels: 179"), ["23:51: length: ends at pixel 179, past the end"]),
    ((SITE, "number: 3", 'number: "1"'), ["23:28: number: '1' is also the number of frame"]),
    ((SITE, ", resting: warm", ", printers: [kestrel]"), ["23:3: lamp: nobody drives it: it has"]),
    ((SITE, ", resting: warm", ", table: wall"), ["23:3: lamp: nobody drives it: it has a table"]),
    ((SITE, DARK, "resting: feed-me"), ["24:10: resting: 'feed-me' says act, a resting scene"]),
    ((SITE, "on: door, number: 3", "on: dor, number: 3"), ["23:14: on: 'dor' is no controller"]),
    ((SITE, "dialect: bars", "dialect: bar"), ["19:52: dialect: 'bar' is no dialect"]),
    (
        (SITE, "http://door.club.example", "http://door.club.example/x?y=1"),
        ["19:15: url: 'http://door.club.example/x?y=1' has a question mark"],
    ),
]


@pytest.mark.parametrize(("edit", "starts"), REFUSED)
def test_what_cannot_light_is_told(edit: Edit, starts: list[str], tmp_path: Path) -> None:
    """Each at the segment that is in the way, or at the value."""
    lines = wrong(tmp_path, edit)
    assert len(lines) == len(starts)
    for line, start in zip(lines, starts, strict=True):
        assert line.startswith(f"site.yaml:{start}")


def test_a_broken_segment_makes_no_noise(tmp_path: Path) -> None:
    """Its pixels, and the printer it may show, are not judged."""
    (line,) = wrong(tmp_path, (SITE, "first: 120, length: 40, printers: [plover]", "length: no"))
    assert line == "site.yaml:22:39: length: is 'no', expected a whole number"


BARS = "dialects/bars.yaml"
#: A controller that knows only pixels, and segments without a number.
BY_PIXELS = [
    (BARS, "/bars/{number}", "/bars/{first}"),
    (BARS, '{/bar: "{number}"}', '{/from: "{first}"}'),
    (SITE, "number: 1, ", ""),
    (SITE, "number: 2, ", ""),
    (SITE, "number: 3, ", ""),
]


def test_a_dialect_without_numbers_needs_none(tmp_path: Path) -> None:
    """Where a controller knows only pixels there is no number to give."""
    site = load_edited(tmp_path, *BY_PIXELS)
    assert site.segments["sill"].place == Place("sill", 0, 120, 40)


SHOWN = "  reply: {at: /done, is: true}"
THEN = f'{SHOWN}\n  then: {{method: PUT, path: "/up/{{number}}", reply: {{at: /done, is: true}}}}'
NUMBERED: list[Edit] = [
    (BARS, SHOWN, THEN),
    (BARS, "{name: beat, ", '{name: beat, adds: {bar: "{number}"}, '),
    (BARS, '{/from: "{first}"}', '{/bar: "bar {number}"}'),
    (BARS, "  method: GET", '  query: {bar: "{number}"}\n  method: GET'),
    (
        BARS,
        "identify:",
        'define: {method: PUT, path: "/{number}", body: ["{first}", "{last}"]}\nidentify:',
    ),
]


@pytest.mark.parametrize("edit", NUMBERED)
def test_a_number_is_needed_wherever_it_is_told(edit: Edit, tmp_path: Path) -> None:
    """In a request that follows, or what an effect adds, as in any other."""
    lines = wrong(tmp_path, *BY_PIXELS, edit)
    assert lines == [
        f"site.yaml:{line}:3: {name}: needs 'number', by which dialect bars tells it"
        for line, name in ((21, "frame"), (22, "sill"), (23, "lamp"))
    ]


def test_braces_of_ones_own_are_no_number(tmp_path: Path) -> None:
    """Written twice they are sent as braces."""
    edit = (BARS, "{name: beat, ", '{name: beat, adds: {bar: "{{number}}"}, ')
    assert wrong(tmp_path, *BY_PIXELS, edit) == []


def test_a_strip_is_calibrated_by_its_controller_or_by_itself(tmp_path: Path) -> None:
    """What a segment says counts for it; others are as they are."""
    at_door = (
        "site.yaml",
        "dialect: bars, ",
        'dialect: bars, calibration: {white: "#ffd8b0", gamma: 2.2}, ',
    )
    own = ("site.yaml", "{on: door, number: 2,", "{on: door, calibration: {gamma: 2}, number: 2,")
    segments = load_edited(tmp_path, at_door, own).segments
    found = {name: each.place.calibration for name, each in segments.items()}
    by_controller = Calibration((255, 216, 176), 2.2)
    assert found == {
        "frame": by_controller,
        "sill": Calibration((255, 255, 255), 2.0),
        "lamp": by_controller,
    }
    plain = load_edited(tmp_path / "plain").segments
    assert {each.place.calibration for each in plain.values()} == {AS_IT_IS}


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ('{white: "#ff00b0"}', "white: '#ff00b0' has a channel that is dark"),
        ("{white: whiteish}", "white: 'whiteish' is no colour"),
        ("{gamma: 0.5}", "gamma: is 0.5, expected at least 1"),
    ],
)
def test_a_calibration_that_cannot_be_is_told_once(tmp_path: Path, keys: str, says: str) -> None:
    """Though several segments are about it."""
    edit = ("site.yaml", "dialect: bars, ", f"dialect: bars, calibration: {keys}, ")
    (line,) = wrong(tmp_path, edit)
    assert says in line
