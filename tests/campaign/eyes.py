"""What should show, and whether a light is that: the tables and scenes in plain Python.

It shares no code with the bridge. Quoted are the sentences of the design that a rule stands for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, Final, TypeAlias

from tests.campaign.controllers import Light
from tests.campaign.ears import Facts
from tests.campaign.sites import GAUGE_BACKGROUND, SCENES, Strip

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


def _some(facts: Facts, *wanted: str) -> Truth:
    """As the design has it: "true from known ones, everything else unknown until complete"."""
    if facts.get("reasons") is None:
        return None if "reasons" in facts else NEVER
    known, complete = facts["reasons"]
    found = any(word in reason for reason in known for word in wanted)
    return found if found or complete else None


def _wall(f: Facts) -> list[tuple[Truth, str]]:
    idle = _is(f, "state", lambda state: state == "idle")
    processing = _is(f, "state", lambda state: state == "processing")
    return [
        (_some(f, "material-empty"), "feed-me"),
        (_some(f, "error"), "trouble"),
        (f["stale"], "not-known"),
        (f["state"] is None, "not-known"),  # "the word `unknown` ... is a two-valued test"
        (_is(f, "state", lambda state: state == "stopped"), "see-me"),
        (_both(idle, _is(f, "job", lambda job: job == "aborted")), "clear-me"),
        (_both(processing, _is(f, "progress", lambda share: share >= 0.9)), "soon"),
        (processing, "filling"),
        (idle, "ready"),
    ]


def _door(f: Facts) -> list[tuple[Truth, str]]:
    fine = _not(_some(f, "cover-open", "material-empty"))
    busy = _is(f, "state", lambda state: state in {"processing", "stopped"})
    return [
        (_both(_not(busy), fine), "ready"),
        (_both(_is(f, "state", lambda state: state == "processing"), fine), "filling"),
        (_is(f, "state", lambda state: state == "stopped"), "see-me"),
    ]


def decide(table: str, facts: Facts) -> tuple[str, bool]:
    """The scene, and whether something that is not known keeps a comforting one from showing.

    "first hit wins"; "a `well` or `resting` row is passed over while a row above it is unknown
    because of a fact that this reader offers".
    """
    unsure = False
    for truth, scene in {"wall": _wall, "door": _door}[table](facts):
        if truth is True and not (unsure and SCENES[scene].comforts):
            return scene, unsure or scene == "not-known"
        unsure = unsure or truth is None
    return "not-known", unsure


def looks_like(strip: Strip, scene: str, share: float | None, light: Light) -> bool:
    """Whether that light is that scene, as far as this controller can show it.

    The rack has no flash of its own, the sill paints nothing. A gauge is filled to its share, and
    its edge may be anything between.
    """
    wanted, (motion, pixels) = SCENES[scene], light
    if motion != ("steady" if strip.controller == "rack" else wanted.motion):
        return False
    full = [channel * wanted.brightness for channel in wanted.colour]
    back = [channel * wanted.brightness for channel in GAUGE_BACKGROUND]
    form = "whole" if strip.controller == "sill" else wanted.form
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


def comforts(strip: Strip, light: Light) -> bool:
    """Whether that light says that all is well, at whatever progress."""
    if looks_like(strip, "ready", None, light):
        return True
    shares = (None, *(lit / strip.length for lit in range(strip.length + 1)))
    return any(looks_like(strip, "filling", share, light) for share in shares)
