"""A picture explained: the facts, the rule, why not the others, the requests."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

from bridge.cli.explained import (
    explained,
    explained_json,
    printer_lines,
    segment_lines,
    trouble_lines,
)
from bridge.cli.recorded import At, pictured_at
from bridge.recording.lines import entries
from bridge.settings.load import load_texts
from tests.recording.evening import an_evening, lines_of

THEN = pictured_at(entries(lines_of(an_evening()), load_texts), At.read("+0:01:18"))
SEGMENTS = THEN.view.segments


def test_a_segment_is_told_by_rule_scene_and_requests() -> None:
    """And why not the rules before it."""
    lines = segment_lines(explained(THEN.site, [SEGMENTS["shelf"]]))
    assert lines[0] == "segment shelf (table wall)"
    assert "  rule  halted: state is stopped (stopped)" in lines
    assert "  not   silent: stale is true: is not so, stale is false" in lines
    assert "  shows see-me" in lines
    assert any(line.startswith("  sends POST http://rack.club.example/") for line in lines)


def test_a_segment_at_rest_has_neither_table_nor_rule() -> None:
    """It says so."""
    lines = segment_lines(explained(THEN.site, [SEGMENTS["door-sill"]]))
    assert lines[:3] == ["segment door-sill", "  rule  none: its resting scene", "  shows warm"]


def test_a_segment_that_is_dimmed_says_by_what() -> None:
    """Beside the scene, for people and for programs; one that is not says nothing of it."""
    sill = replace(SEGMENTS["door-sill"], dimmed_by="to 9/16 by the supply cabinet")
    told = explained(THEN.site, [sill])
    assert segment_lines(told)[2] == "  shows warm, dimmed to 9/16 by the supply cabinet"
    (segment,) = cast("list[dict[str, object]]", explained_json(None, THEN.view, told)["segments"])
    assert segment["dimmed_by"] == "to 9/16 by the supply cabinet"


def test_a_printer_is_told_by_its_facts() -> None:
    """In columns."""
    lines = printer_lines(THEN.site.printers["kestrel"], THEN.view)
    assert lines[0] == "printer kestrel (reader pieces)"
    assert any(line.split() == ["state", "stopped"] for line in lines)


def test_trouble_with_messages_is_told_with_its_address() -> None:
    """One line each, in the words of the log."""
    kestrel = replace(THEN.view.printers["kestrel"], troubles=("bench/1/laid: not UTF-8: 0xff",))
    view = replace(THEN.view, printers={"kestrel": kestrel})
    assert trouble_lines("kestrel", view) == ["  not taken: bench/1/laid: not UTF-8: 0xff"]


def test_the_json_has_facts_only_of_a_printer() -> None:
    """Segments without a printer have none."""
    nobody = explained_json(None, THEN.view, explained(THEN.site, [SEGMENTS["door-sill"]]))
    assert nobody["facts"] == {}
    kestrel = explained_json(THEN.site.printers["kestrel"], THEN.view, ())
    assert kestrel["segments"] == []
    facts = kestrel["facts"]
    assert isinstance(facts, dict)
    assert facts["reasons"] == "material-empty-error"
