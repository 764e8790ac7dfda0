"""Scenes that can be taken for one another: by colour alone, and too near for some sight."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bridge.check.finding import Finding, Kind
from bridge.check.meeting import Meeting, Meetings
from bridge.check.remedy import Remedies
from bridge.check.staging import Clash, stages, worst_clashes
from bridge.engine.site import Site
from bridge.rules.table import Source
from bridge.scenes.alike import Alike
from bridge.scenes.patterns import DARK
from bridge.scenes.sight import Sight

#: What an eye of that sight lacks.
_LACKS: Final[dict[Sight, str]] = {
    "normal": "normal sight",
    "protanopia": "who sees no red (protanopia)",
    "deuteranopia": "who sees no green (deuteranopia)",
    "tritanopia": "who sees no blue (tritanopia)",
}


def legibility_findings(site: Site) -> Iterator[Finding]:
    """One for each scene that is too much like another one that it can meet: the worst of them."""
    meetings = Meetings(site)
    on = stages(meetings)
    worst = worst_clashes(on)
    remedies = Remedies(meetings, on)
    for name in site.scenes:
        if name in worst:
            yield _finding(site, name, worst[name], remedies)


def _finding(site: Site, name: str, clash: Clash, remedies: Remedies) -> Finding:
    one, other = clash.one, clash.other
    if one[0].scene != name:
        one, other = other, one
    remedy = remedies.of(one, other)
    instead = f"write {remedy}" if remedy else _otherwise(clash)
    message = (
        f"scene {_named(one[0])} can be taken for {_named(other[0])} on {clash.stage.segment.name}"
        f"{clash.stage.time}: {_how(clash)}; {instead}"
    )
    source = site.scene_sources.get(name, Source("legend.yaml", 1, 1))
    return Finding(Kind.TOO_ALIKE, "warning", source, message, about=(("scene", name),))


def _named(meeting: Meeting) -> str:
    return meeting.scene if meeting.answer == "normal" else f"{meeting.scene}, {meeting.answer},"


def _how(clash: Clash) -> str:
    face, found = clash.one[1], clash.alike
    if face.pattern == DARK:
        return "both are dark"
    return f"the pattern ({face.pattern}) is the same, and {_apart(found)}"


def _apart(found: Alike) -> str:
    return (
        f"to {_LACKS[found.sight]} the colours are {found.apart:.1f} apart (CIEDE2000), where we "
        f"ask for {found.asked:g}"
    )


def _otherwise(clash: Clash) -> str:
    """Where neither a colour nor a pattern is free."""
    if clash.stage.time.quiet is not None or clash.stage.time.is_scarce:
        return "no other colour of its hue and no pattern helps: leave more light then"
    return (
        "no other colour of its hue and no pattern is free: let both rules show one scene, or "
        "make it brighter or darker"
    )
