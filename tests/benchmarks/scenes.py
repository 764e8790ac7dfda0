"""Group ``scenes``: what ``check`` takes for a site with a legend of 200 scenes that all can meet.

No room has so many, and so many cannot be told apart: nearly each is found to be like another, and
for each a remedy is looked for among all of them, which is the most that there is to do.
"""

from __future__ import annotations

import random
import statistics
import time
from dataclasses import replace
from pathlib import Path
from typing import Final

from bridge.check.finding import Kind
from bridge.check.site import findings
from bridge.engine.site import Draws, QuietHours, Site, Supply
from bridge.facts.reader import Interval
from bridge.facts.vocabulary import GRAVITY
from bridge.rules.conditions import NumberIn, SymbolIs
from bridge.rules.day_times import DayTime, Span
from bridge.rules.table import Row, Source, Table, alarm_stands
from bridge.scenes.alike import told_apart
from bridge.scenes.eyes import labs_of
from bridge.scenes.light import dimmed
from bridge.scenes.patterns import faces
from bridge.scenes.scene import Scene
from bridge.scenes.temperature import kelvin_to_colour
from bridge.settings.load import load_site
from tests.benchmarks.result import Result

CLUB: Final = load_site(Path(__file__).parents[2] / "config")
_HERE: Final = Source("rules.yaml", 1, 1)
_NIGHT: Final = Span(DayTime("clock", 22 * 3600), DayTime("clock", 7 * 3600))
#: Red, amber, blue, green, and two whites: a legend has few hues and many brightnesses.
_HUES: Final = (
    (255, 42, 26),
    (255, 176, 0),
    (42, 96, 255),
    (0, 176, 128),
    (216, 216, 208),
    kelvin_to_colour(2700),
)


def measure(quick: bool) -> list[Result]:
    """All figures of the group."""
    many = 40 if quick else 200
    return [_check(f"legibility-{many}-scenes-seconds", many, 1 if quick else 5, 2.0)]


def _check(name: str, many: int, repeats: int, goal: float) -> Result:
    """Everything that check does with the site, nothing remembered from the site before."""
    times, found = [], 0
    for number in range(repeats):
        site = made(random.Random(number), many)
        for remembering in (told_apart, labs_of, faces, dimmed):
            remembering.cache_clear()
        began = time.perf_counter()
        found = sum(each.kind is Kind.TOO_ALIKE for each in findings(site))
        times.append(time.perf_counter() - began)
    against = f"by chance, {found} of them too alike, 3 segments, quiet hours, one supply"
    spread = (min(times), max(times))
    return Result(name, statistics.median(times), "s", against, None, spread, goal)


def made(rng: random.Random, many: int) -> Site:
    """The club with so many scenes beside its own: each by a rule of table wall, a few by alarms.

    Its segments are dimmed at night, and its supply bears less than all of them want.
    """
    scenes = {f"scene-{number}": _scene(rng, f"scene-{number}") for number in range(many)}
    wall = CLUB.tables["wall"]
    alarms = list(CLUB.alarms)
    rows = [
        _row(number, scene, many, alarms[number] if number < len(alarms) else None)
        for number, scene in enumerate(scenes.values())
    ]
    draws = Draws(12_000, 1000)
    return replace(
        CLUB,
        scenes={**CLUB.scenes, **scenes},
        tables={**CLUB.tables, "wall": Table("wall", tuple(rows), wall.otherwise)},
        quiet_hours={"night": QuietHours("night", _NIGHT, 0.3, tuple(CLUB.segments))},
        controllers={name: replace(each, draws=draws) for name, each in CLUB.controllers.items()},
        supplies={"cabinet": Supply("cabinet", 4_000_000, tuple(CLUB.controllers))},
    )


def _scene(rng: random.Random, name: str) -> Scene:
    return Scene(
        name,
        rng.choice(GRAVITY),
        rng.choice(("steady", "steady", "flash", "gauge")),
        rng.choice(_HUES) if rng.random() < 0.5 else _any(rng),
        rng.randint(5, 100) / 100,
        rng.choice(("whole", "every-third")),
        rng.choice(("slow", "normal")),
        background=_any(rng),
    )


def _any(rng: random.Random) -> tuple[int, int, int]:
    return rng.randrange(256), rng.randrange(256), rng.randrange(256)


def _row(number: int, scene: Scene, many: int, alarm: str | None) -> Row:
    if alarm is not None:
        return Row(f"rule {number}", (alarm_stands(alarm),), scene.name, scene.says, _HERE)
    least, most = number / many, (number + 1) / many
    when = (
        SymbolIs("state", frozenset({"processing"})),
        NumberIn("progress", Interval(least, most, most_included=False), f"{least} to {most}"),
    )
    return Row(f"rule {number}", when, scene.name, scene.says, _HERE)
