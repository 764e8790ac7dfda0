"""Quiet hours, the sun, and resting light by time of day, as they are written."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.engine.site import Site
from bridge.rules.day_times import DayTime, Location, Span
from bridge.settings.load import load_site
from tests.settings.copies import copy_of_good, lines_of

DUBLIN = "location: {latitude: 53.35, longitude: -6.26}\n"
QUIET = "quiet_hours:\n  night: {from: sunset + 30m, before: '07:00', brightness: 20 %}\n"
DAY = "[{from: sunrise, before: sunset, show: warm}, {show: warm}]"


def written(folder: Path, more: str, resting: str = "dark") -> Path:
    """The good site with more in it."""
    site = copy_of_good(folder)
    file = site / "site.yaml"
    text = file.read_text("utf-8").replace("\nresting: dark", f"\nresting: {resting}")
    file.write_text(text.rstrip() + "\n" + more, "utf-8")
    return site


def loaded(folder: Path, more: str, resting: str = "dark") -> Site:
    """The same, read."""
    return load_site(written(folder, more, resting))


def test_quiet_hours_may_follow_the_sun(tmp_path: Path) -> None:
    """With an offset; all segments where none is named."""
    site = loaded(tmp_path, DUBLIN + QUIET)
    night = site.quiet_hours["night"]
    assert site.location == Location(53.35, -6.26)
    assert (night.span.begin.base, night.span.begin.seconds) == ("sunset", 1800)
    assert (night.brightness, night.alarms, night.segments) == (0.2, "full", tuple(site.segments))


def test_resting_light_may_change_with_the_day(tmp_path: Path) -> None:
    """The last entry is for the rest of it."""
    site = loaded(tmp_path, DUBLIN, DAY)
    span = Span(DayTime("sunrise", 0, "sunrise"), DayTime("sunset", 0, "sunset"))
    resting = {(s.resting, s.resting_by_day) for s in site.segments.values()}
    assert ("warm", ((span, "warm"),)) in resting


WRONG = [
    (QUIET, "warm", "needs 'location', as 'sunset + 30m' is a time of the sun"),
    (DUBLIN + QUIET.replace("sunset + 30m", "dusk"), "warm", "from: is 'dusk', expected a time"),
    (DUBLIN + QUIET.replace("30m", "half"), "warm", "from: 'half' is no duration"),
    (DUBLIN + QUIET.replace("20 %", "0 %"), "warm", "brightness: leaves nothing to see"),
    (
        DUBLIN + QUIET.replace("20 %", "20 %, segments: [lam]"),
        "warm",
        "'lam' is no segment of site.yaml; did you mean 'lamp'?",
    ),
    (DUBLIN + QUIET.replace("sunset + 30m", "'07:00'"), "warm", "either always or never"),
    (DUBLIN, "[{show: warm}, {show: warm}]", "needs from and before; only the last entry"),
    (
        DUBLIN,
        "[{from: sunrise, before: sunset, show: warm}]",
        "is the last entry and has times",
    ),
    (DUBLIN, "[{show: ready}]", "'ready' says well, a resting scene must say resting"),
]


@pytest.mark.parametrize(("more", "resting", "says"), WRONG)
def test_what_is_wrong_is_said(more: str, resting: str, says: str, tmp_path: Path) -> None:
    """In one line, where it stands."""
    lines = lines_of(written(tmp_path, more, resting))
    assert len([line for line in lines if says in line]) >= 1
    assert all(line.startswith("site.yaml") for line in lines)
    assert len(lines) == len(set(lines))


def test_a_colour_may_follow_the_evening(tmp_path: Path) -> None:
    """Temperatures only; by itself it is the warmest of them."""
    site = written(tmp_path, DUBLIN)
    legend = site / "legend.yaml"
    text = legend.read_text("utf-8")
    assert "colour: 2700 K" in text
    evening = text.replace("colour: 2700 K", "colour: {sunset: 4000 K, '22:00': 2200 K}", 1)
    legend.write_text(evening, "utf-8")
    scene = load_site(site).scenes["warm"]
    assert [(when.base, kelvin) for when, kelvin in scene.evening] == [
        ("sunset", 4000.0),
        ("clock", 2200.0),
    ]
    legend.write_text(evening.replace("4000 K", "red"), "utf-8")
    assert any("'red' is no colour temperature" in line for line in lines_of(site))
