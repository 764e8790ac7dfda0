"""Scenes that can be taken for one another are found, and how to mend it is said."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.check.finding import Finding, Kind
from bridge.check.legibility import legibility_findings
from bridge.check.site import findings
from bridge.engine.site import QuietHours, Site
from bridge.rules.day_times import DayTime, Span
from bridge.settings.load import load_site
from tests.check.test_site import CLUB

CONFIG = Path(__file__).parents[2] / "config"
NIGHT = Span(DayTime("clock", 22 * 3600), DayTime("clock", 7 * 3600))


def found_in(site: Site) -> dict[str, Finding]:
    """By the scene that each is about."""
    found = list(legibility_findings(site))
    assert {each.severity for each in found} <= {"warning"}
    by_scene = {dict(each.about)["scene"]: each for each in found}
    assert len(by_scene) == len(found)
    return by_scene


def test_no_scene_of_the_example_can_be_taken_for_another() -> None:
    """Not by any sight."""
    assert found_in(CLUB) == {}


def edited(directory: Path, before: str, after: str) -> Path:
    """A copy of the example with something else in its legend."""
    site = directory / "site"
    shutil.copytree(CONFIG, site, dirs_exist_ok=True)
    legend = site / "legend.yaml"
    text = legend.read_text("utf-8")
    assert text.count(before) == 1
    legend.write_text(text.replace(before, after), "utf-8")
    return site


LOOK_IN = "look-in: {says: notice, effect: steady, colour: abnormal, brightness: 100 %}"
DARKER = LOOK_IN.replace("100 %", "60 %")


def test_a_finding_says_where_whose_eyes_how_far_and_what_to_write(tmp_path: Path) -> None:
    """And what is to be written can be pasted: then nothing is found any more."""
    site = edited(tmp_path, LOOK_IN, DARKER)
    found = found_in(load_site(site))["look-in"]
    line = (site / "legend.yaml").read_text("utf-8").splitlines().index(f"  {DARKER}") + 1
    assert str(found).startswith(f"legend.yaml:{line}:3: warning: scene look-in can be taken for ")
    assert "trouble on door-frame: the pattern (whole) is the same" in found.message
    assert re.search(
        r"who sees no red \(protanopia\) the colours are 4\.\d apart \(CIEDE2000\), where we ask "
        r"for 10",
        found.message,
    )
    remedy = found.message.rpartition("; write ")[2]
    key = remedy.partition(":")[0]
    mended = DARKER.replace(f"{key}: abnormal", remedy)
    assert mended != DARKER
    legend = site / "legend.yaml"
    legend.write_text(legend.read_text("utf-8").replace(DARKER, mended), "utf-8")
    assert found_in(load_site(site)) == {}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"colour": (255, 42, 26)}, "to normal sight the colours are 0.0 apart"),
        ({"brightness": 0.0}, "both are dark; no other colour of its hue and no pattern is free"),
    ],
)
def test_the_worst_is_told(change: dict[str, object], words: str) -> None:
    """One finding a scene."""
    scene = replace(CLUB.scenes["look-in"], **change)  # type: ignore[arg-type]
    site = replace(CLUB, scenes={**CLUB.scenes, "look-in": scene})
    assert words in found_in(site)["look-in"].message


def test_quiet_hours_are_named_where_they_are_to_blame() -> None:
    """At full brightness nothing is wrong; at a tenth all that is mild is about black."""
    quiet = QuietHours("night", NIGHT, 0.1, tuple(CLUB.segments))
    found = found_in(replace(CLUB, quiet_hours={"night": quiet}))
    assert "ready" in found
    assert all(" in the quiet hours night: " in each.message for each in found.values())
    assert "trouble" not in found


def test_it_is_one_of_the_findings_and_can_be_accepted(tmp_path: Path) -> None:
    """By its scene; then it is a note with the reason."""
    site = edited(tmp_path, LOOK_IN, DARKER)
    before = [each for each in findings(load_site(site)) if each.kind is Kind.TOO_ALIKE]
    names = [dict(each.about)["scene"] for each in before]
    assert [each.severity for each in before] == ["warning"] * len(names)
    rules = site / "rules.yaml"
    accept = "\n".join(
        f"  - {{finding: too-alike, scene: {name}, because: all of us see red}}" for name in names
    )
    rules.write_text(f"{rules.read_text('utf-8')}\naccept:\n{accept}\n", "utf-8")
    after = [each for each in findings(load_site(site)) if each.kind is Kind.TOO_ALIKE]
    assert [each.severity for each in after] == ["note"] * len(names)
    assert {each.accepted for each in after} == {"all of us see red"}
