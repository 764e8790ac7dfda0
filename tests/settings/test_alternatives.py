"""Ways to find a fact."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from bridge.facts.places import compile_place
from bridge.facts.reader import Also, Alternative, EndsAt, Graded, Interval, Is, Unit
from bridge.facts.values import Severity
from bridge.settings.load import load_site
from tests.settings.copies import GOOD, load_edited, wrong

LEDGER = "readers/ledger.yaml"
OLD = "  progress: [{in: page, at: /share, scale: [0, 10000], no_value: [-1]}]"
OLD_REASONS = """\
  reasons:
    all_of: [{in: page, at: /trips, bits: {0: cover-open-error, 3: material-empty}}]"""

READ: list[tuple[str, str, dict[str, Any]]] = [
    ("progress", "at: /a, scale: [10, 0]", {"scale": (10.0, 0.0)}),
    ("progress", "at: /a, unit: '%'", {"unit": Unit("%", 0.01)}),
    ("progress", "at: /a, of: /b", {"of": compile_place("/b")}),
    ("layer", "at: /a, least: 0, most: 500", {"least": 0.0, "most": 500.0}),
    ("time-to-completion", "at: /a, minus: /b", {"minus": compile_place("/b")}),
    ("time-to-completion", "at: /a, unit: min", {"unit": Unit("min", 60.0)}),
    ("time-to-completion", "at: /a, unit: 0.5 h", {"unit": Unit("0.5 h", 1800.0)}),
    ("time-to-completion", "at: /a, unit: 'h:m:s'", {"unit": Unit("h:m:s", form="h:m:s")}),
    ("time-to-completion", "at: /a, unit: iso 8601", {"unit": Unit("iso 8601", form="iso 8601")}),
    ("time-to-completion", "at: /a, ends_at: clock", {"ends_at": EndsAt.CLOCK}),
    ("platform-temperature", "at: /a, unit: K", {"unit": Unit("K", 1.0, -273.15)}),
    ("job", "at: /a, is: [1, 2], gives: pending", {"is_": Is((1, 2)), "gives": "pending"}),
    ("job", "at: /a, is: null, gives: no-value", {"is_": Is((None,)), "gives": "no-value"}),
    ("job", "at: /a, is: {bit: 3}, gives: pending", {"is_": Is(bit=3), "gives": "pending"}),
    (
        "job",
        "at: /a, is: {above: 1, at_most: 5}, gives: pending",
        {"is_": Is(interval=Interval(1.0, 5.0, least_included=False)), "gives": "pending"},
    ),
    ("job", "at: /a, values: {x: unknown}", {"values": {"x": "unknown"}}),
    ("job-name", "at: /a, unless: ['', null]", {"unless": ("", None)}),
    ("layer", "at: /a, is: idle, gives: 0", {"is_": Is(("idle",)), "gives": 0}),
    (
        "job",
        "at: /a, also: [{at: /b, is: [1, null]}, {at: /c, absent: true}], gives: pending",
        {
            "also": (
                Also(compile_place("/b"), Is((1, None))),
                Also(compile_place("/c"), None),
            ),
            "gives": "pending",
        },
    ),
    (
        "job",
        "at: /a, is: {bit: 3}, base: 2, gives: pending",
        {"is_": Is(bit=3), "base": 2, "gives": "pending"},
    ),
    (
        "reasons",
        "at: /a, base: 16, bits: {1: door-open}",
        {"base": 16, "bits": {1: ("door-open",)}},
    ),
    (
        "reasons",
        "at: /a, flags: true, absent: none, others: none, values: {lid: door-open}",
        {
            "flags": True,
            "absent_none": True,
            "others_none": True,
            "values": {"lid": ("door-open",)},
        },
    ),
    (
        "reasons",
        "each: /b, at: /a, values: {1: other}, severity: {at: /c, values: {2: report, x: error}}",
        {
            "each": compile_place("/b"),
            "values": {1: ("other",)},
            "severity": Graded(compile_place("/c"), {2: Severity.REPORT, "x": Severity.ERROR}),
        },
    ),
    ("site-tide", "at: /a, gives: true", {"gives": True}),
    ("site-tide", "at: /a, unit: 0.1 min", {"unit": Unit("0.1 min", 6.0)}),
]


@pytest.mark.parametrize(("fact", "keys", "fields"), READ)
def test_a_way_is_what_was_written(
    fact: str, keys: str, fields: dict[str, Any], tmp_path: Path
) -> None:
    """Values keep their type, units become factors."""
    line = f"  {fact}: [{{in: page, {keys}}}]"
    old = OLD_REASONS if fact == "reasons" else OLD
    reader = load_edited(tmp_path, (LEDGER, old, line)).printers["plover"].reader
    expected = Alternative(message="page", at=compile_place("/a"), **fields)
    assert reader.facts[fact].alternatives == (expected,)


def test_a_fahrenheit_degree_is_five_ninths(tmp_path: Path) -> None:
    """Water freezes at 32 °F and boils at 212 °F."""
    site = load_edited(tmp_path, (LEDGER, "unit: 0.1 °C", "unit: °F"))
    unit = site.printers["plover"].reader.facts["extruder-temperature"].alternatives[0].unit
    assert unit is not None
    assert math.isclose(32 * unit.factor + unit.offset, 0, abs_tol=1e-9)
    assert math.isclose(212 * unit.factor + unit.offset, 100)


def test_reasons_have_words_bits_and_wildcards() -> None:
    """Keywords as they were written, none as no keyword."""
    site = load_site(GOOD)
    (way,) = site.printers["kestrel"].reader.facts["reasons"].alternatives
    assert way == Alternative(
        message="snag",
        wildcard=1,
        unless=("", "clear"),
        values={"spool": ("material-empty",), "lid": ("cover-open",)},
    )
    (way,) = site.printers["plover"].reader.facts["reasons"].alternatives
    assert way.bits == {0: ("cover-open-error",), 3: ("material-empty",)}


REFUSED = [
    ("progress", "at: a", "at: 'a' is no place"),
    ("progress", "at: /a, values: {1: full}", "values: gives words, progress is a number"),
    ("progress", "at: /a, gives: full", "gives: is 'full', expected a number for progress"),
    ("progress", "at: /a, gives: 7", "gives: 7 is outside what progress can be"),
    ("progress", "at: /a, unit: min", "unit: 'min' is no unit of progress, expected %"),
    ("layer", "at: /a, unit: '%'", "unit: '%' is no unit of layer, it has none"),
    ("layer", "at: /a, unit: dozen", "unit: is 'dozen', expected a unit"),
    ("layer", "at: /a, scale: [1, 1]", "scale: both ends are the same"),
    ("layer", "at: /a, scale: [1]", "scale: is a list, expected at least 2 entries"),
    ("layer", "at: /a, least: 5, most: 4", "most: 4 is below least, which is 5"),
    ("layer", "at: /a, ends_at: clock", "ends_at: is for time-to-completion, this is layer"),
    ("layer", "at: /a, bits: {1: other}", "bits: is for reasons, this is layer"),
    ("job", "at: /a, least: 1", "least: is for numbers, job is none"),
    ("job", "at: /a, values: {1: finished}", "values: 'finished' is no job"),
    ("job", "at: /a, values: {1: [idle]}", "values: is a list, expected one word for job"),
    ("job", "at: /a, values: {}", "values: is an empty mapping"),
    ("job", "at: /a, values: {1: 2}", "values: has the meaning 2, expected a word"),
    ("job", "at: /a, values: {1: pending}, gives: pending", "values: cannot stand beside gives"),
    ("job", "at: /a, is: [], gives: pending", "is: is an empty list"),
    ("job", "at: /a, is: {}, gives: pending", "is: is an empty test"),
    ("job", "at: /a, is: {bit: 64}, gives: pending", "bit: is 64, expected at most 63"),
    ("job", "at: /a, is: {bit: 1, above: 2}, gives: pending", "bit: cannot stand beside the ends"),
    ("job", "at: /a, is: {above: 2, below: 1}, gives: pending", "is: no number lies between"),
    ("job", "at: /a, gives: [pending]", "gives: is a list, expected one value for job"),
    ("job", "at: /a, part: layer", "part: 'layer' is no part of a form of page; there is none"),
    ("job", "at: /a, wildcard: 0", "wildcard: is 0, expected at least 1"),
    ("site-tide", "at: /a, split: ','", "split: is for reasons, this is site-tide"),
    ("job", "at: /a, flags: true", "flags: is for reasons, this is job"),
    ("job", "at: /a, each: /b", "each: is for reasons, this is job"),
    ("job", "at: /a, absent: none", "absent: is for reasons, this is job"),
    ("job", "at: /a, also: [{at: /b}]", "also: needs either 'is' or 'absent: true'"),
    ("job", "at: /a, also: [{at: /b, is: 1, absent: true}]", "also: needs either 'is' or"),
    ("job", "at: /a, also: [{at: b, is: 1}]", "at: 'b' is no place"),
    ("job", "at: /a, also: [{at: /b, is: []}]", "is: is an empty list"),
    ("job", "at: /a, also: []", "also: is empty, expected at least one entry"),
    ("job", "at: /a, base: 16, values: {a: pending}", "base: is for bits, or for is with a bit"),
    ("job", "at: /a, base: 7, is: {bit: 1}, gives: pending", "base: is 7, expected 2 or 16"),
]


@pytest.mark.parametrize(("fact", "keys", "message"), REFUSED)
def test_a_way_that_cannot_be_is_told(fact: str, keys: str, message: str, tmp_path: Path) -> None:
    """What a fact has no use for, or cannot be."""
    lines = wrong(tmp_path, (LEDGER, OLD, f"  {fact}: [{{in: page, {keys}}}]"))
    said = [line.split(": ", 1)[1] for line in lines]
    assert any(line.startswith(message) for line in said), lines
    assert all(line.startswith("readers/ledger.yaml:9:") for line in lines)


REASONS_REFUSED = [
    ("at: /a, flags: true, split: ','", "split: cannot stand beside flags"),
    ("at: /a, flags: true, is: 1, values: {x: other}", "is: cannot stand beside flags"),
    ("at: /a, each: /b, wildcard: 1", "wildcard: cannot stand beside each"),
    ("at: /a, each: '$.b[*]', values: {x: other}", "each: '$.b[*]' may be several places"),
    ("at: /a, expects: [x]", "expects: needs 'wildcard'"),
    ("at: /a, severity: {at: /b, values: {x: error}}", "severity: needs values, bits or gives"),
    (
        "at: /a, values: {1: door-open-error}, severity: {at: /b, values: {x: error}}",
        "values: 'door-open-error' has a suffix, which is what severity is for",
    ),
    (
        "at: /a, gives: [other, door-open-error], severity: {at: /b, values: {x: error}}",
        "gives: 'door-open-error' has a suffix",
    ),
    (
        "at: /a, values: {1: door-open}, severity: {at: /b, values: {x: grave}}",
        "values: 'grave' is no severity, expected report, warning or error",
    ),
]


@pytest.mark.parametrize(("keys", "message"), REASONS_REFUSED)
def test_a_way_to_reasons_that_cannot_be_is_told(keys: str, message: str, tmp_path: Path) -> None:
    """Keys that need others, or cannot stand beside them."""
    old = "at: /trips, bits: {0: cover-open-error, 3: material-empty}"
    lines = wrong(tmp_path, (LEDGER, old, keys))
    assert any(line.split(": ", 1)[1].startswith(message) for line in lines), lines


@pytest.mark.parametrize("key", ["also: [{at: /b, is: 1}]", "each: /b", "flags: true"])
def test_other_places_are_for_json(key: str, tmp_path: Path) -> None:
    """A text has none."""
    name = key.split(":", maxsplit=1)[0]
    lines = wrong(tmp_path, ("readers/pieces.yaml", "{in: snag, ", f"{{in: snag, {key}, "))
    assert any(f"{name}: is for JSON, the message snag is a text" in line for line in lines)


RATIOS = [
    ("progress", "[layer, state]", "'state' is no other fact that is a number"),
    ("progress", "[progress, layers]", "'progress' is no other fact that is a number"),
    ("progress", "[layer, lairs]", "'lairs' is no other fact that is a number"),
    ("job", "[layer, layers]", "is a number, job is none"),
]


@pytest.mark.parametrize(("fact", "ratio", "message"), RATIOS)
def test_a_ratio_is_of_two_numbers(fact: str, ratio: str, message: str, tmp_path: Path) -> None:
    """Of facts, other than itself."""
    old, new = "progress: [{ratio: [layer, layers]}]", f"{fact}: [{{ratio: {ratio}}}]"
    lines = wrong(tmp_path, ("readers/pieces.yaml", old, new))
    assert any(f"ratio: {message}" in line for line in lines)
