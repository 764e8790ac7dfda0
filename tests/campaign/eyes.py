"""What should show, and whether a light is that: the tables and scenes in plain Python.

It shares no code with the bridge. Quoted are the sentences of the design that a rule stands for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import Any, Final, NamedTuple, TypeAlias

from tests.campaign.alarms import QUIET, UNSEEN
from tests.campaign.boards import Light
from tests.campaign.ears import Facts
from tests.campaign.sites import (
    CABINET,
    DIMMER,
    FLASHLESS,
    GAUGE_BACKGROUND,
    PAINTLESS,
    SCENES,
    Scene,
    Strip,
)

#: ``None``: unknown. ``"never"``: unknown of a fact that this printer's reader never offers.
Truth: TypeAlias = bool | str | None
NEVER: Final = "never"
TOLERANCE: Final = 2.0  # of 255: roundings on the way to the pixel


def _is(facts: Facts, name: str, test: Callable[[Any], bool]) -> Truth:
    if name not in facts:
        return NEVER
    return None if facts[name] is None else test(facts[name])


def _both(*truths: Truth) -> Truth:
    return next((truth for truth in (False, None, NEVER) if truth in truths), True)


def _not(truth: Truth) -> Truth:
    """As the design has it: "negations included, is unknown"."""
    return not truth if isinstance(truth, bool) else truth


def some(facts: Facts, *wanted: str) -> Truth:
    """Whether there is such a reason.

    As the design has it: "true from known ones, everything else unknown until complete".
    """
    if facts.get("reasons") is None:
        return None if "reasons" in facts else NEVER
    known, complete = facts["reasons"]
    found = any(word in reason for reason in known for word in wanted)
    return found if found or complete else None


class Row(NamedTuple):
    """One row of a table; ``alarm`` is the one that it is about, ``cuts_in`` its first copy."""

    truth: Truth
    scene: str
    alarm: str = ""
    cuts_in: bool = False


def _wall(f: Facts) -> list[Row]:
    idle = _is(f, "state", lambda state: state == "idle")
    processing = _is(f, "state", lambda state: state == "processing")
    return [
        Row(some(f, "material-empty"), "feed-me"),
        Row(some(f, "error"), "trouble"),
        Row(f["stale"], "not-known"),
        Row(f["state"] is None, "not-known"),  # "the word `unknown` ... is a two-valued test"
        Row(_is(f, "state", lambda state: state == "stopped"), "see-me"),
        Row(_both(idle, _is(f, "job", lambda job: job == "aborted")), "clear-me"),
        Row(_both(processing, _is(f, "progress", lambda share: share >= 0.9)), "soon"),
        Row(processing, "filling"),
        Row(idle, "ready"),
    ]


def _door(f: Facts) -> list[Row]:
    fine = _not(some(f, "cover-open", "material-empty"))
    busy = _is(f, "state", lambda state: state in {"processing", "stopped"})
    return [
        Row(_both(_not(busy), fine), "ready"),
        Row(_both(_is(f, "state", lambda state: state == "processing"), fine), "filling"),
        Row(_is(f, "state", lambda state: state == "stopped"), "see-me"),
    ]


def _desk(f: Facts) -> list[Row]:
    """As the design has it: "as if its unacknowledged alarm rows stood first"."""
    alarms = {"aground": "stuck", "out-of-material": "empty", "lid-open": "gaping"}
    idle = _is(f, "state", lambda state: state == "idle")
    processing = _is(f, "state", lambda state: state == "processing")
    return [
        *(
            Row(_is(f, f"alarm {name}", UNSEEN.__contains__), scene, name, cuts_in=True)
            for name, scene in alarms.items()
        ),
        # "True in every state except normal, shelved, suppressed and out of service."
        *(
            Row(_is(f, f"alarm {name}", lambda symbol: symbol not in QUIET), scene, name)
            for name, scene in alarms.items()
        ),
        Row(f["stale"], "not-known"),
        Row(_is(f, "part", bool), "clear-me"),
        Row(_both(processing, _is(f, "for", lambda seconds: seconds >= 70)), "soon"),
        Row(_both(idle, _is(f, "long at rest", bool)), "warm"),
        Row(processing, "filling"),
        Row(idle, "ready"),
    ]


_TABLES: Final = {"wall": _wall, "door": _door, "desk": _desk}


class Decided(NamedTuple):
    """The row that decides and its place (lower shows first).

    ``unsure``: something that is not known keeps a comforting row from showing.
    """

    row: Row
    place: float
    unsure: bool


def decide(table: str, facts: Facts) -> Decided:
    """What a table says of one printer.

    "first hit wins"; "a `well` or `resting` row is passed over while a row above it is unknown
    because of a fact that this reader offers"; "`otherwise` ranks just above the first `well` or
    `resting` row".
    """
    unsure, rows = False, _TABLES[table](facts)
    for place, row in enumerate(rows):
        if row.truth is True and not (unsure and SCENES[row.scene].comforts):
            return Decided(row, place, unsure or row.scene == "not-known")
        unsure = unsure or row.truth is None
    comfort = next(place for place, row in enumerate(rows) if SCENES[row.scene].comforts)
    return Decided(Row(None, "not-known"), comfort - 0.5, unsure)


@lru_cache(4096)
def looks_like(
    strip: Strip, scene: str, share: float | None, light: Light, flash: str = ""
) -> bool:
    """Whether that light is that scene, as far as this controller can show it.

    ``flash`` is the rate at which it flashes for its alarm, in place of its own motion.

    Some have no flash of their own, some paint nothing. A gauge is filled to its share, and its
    edge may be anything between. Of a painted flash either half will do.

    "Scale in 1/16 steps": what hangs on a supply may be dimmed to any of them.
    """
    wanted, (motion, pixels) = SCENES[scene], light
    flash = flash or wanted.motion
    if motion != ("steady" if strip.controller in FLASHLESS else flash):
        return False
    form = "whole" if strip.controller in PAINTLESS else wanted.form
    halves = (1.0, DIMMER) if strip.controller == "hood" and flash != "steady" else (1.0,)
    sixteenths = range(16, 0, -1) if strip.controller in CABINET.feeds else (16,)
    return any(
        _is_form(form, wanted, wanted.brightness * half * part / 16, share, pixels)
        for half in halves
        for part in sixteenths
    )


def _is_form(
    form: str,
    wanted: Scene,
    brightness: float,
    share: float | None,
    pixels: tuple[tuple[float, float, float], ...],
) -> bool:
    full = [channel * brightness for channel in wanted.colour]
    back = [channel * brightness for channel in GAUGE_BACKGROUND]
    if form == "gauge" and share is not None:
        lit = int(share * len(pixels))
        return _all_near(pixels[:lit], full) and _all_near(pixels[lit + 1 :], back)
    if form == "whole":
        return _all_near(pixels, full)
    first = 1 if form == "gauge" else 0  # of an unknown share the second of every three
    return all(_all_near(pixels[at::3], full if at == first else (0, 0, 0)) for at in range(3))


def _all_near(pixels: Iterable[tuple[float, float, float]], wanted: Iterable[float]) -> bool:
    red, green, blue = wanted
    return all(
        abs(r - red) <= TOLERANCE and abs(g - green) <= TOLERANCE and abs(b - blue) <= TOLERANCE
        for r, g, b in pixels
    )


@lru_cache(4096)
def comforts(strip: Strip, light: Light) -> bool:
    """Whether that light says that all is well, at whatever progress."""
    if any(looks_like(strip, scene, None, light) for scene in ("ready", "warm")):
        return True
    shares = (None, *(lit / strip.length for lit in range(strip.length + 1)))
    return any(looks_like(strip, "filling", share, light) for share in shares)
