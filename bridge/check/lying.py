"""Segments that would go on saying what they last said when nobody is left to tell them."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.finding import Finding, Kind
from bridge.engine.leaving import telling_segments
from bridge.engine.site import Controller, Site
from bridge.lights.dialect.grammar import DialectGrammar


def lying_findings(site: Site) -> Iterator[Finding]:
    """For each controller whose looks do not expire, which ends it would not notice."""
    telling: dict[str, list[str]] = {}
    for segment in telling_segments(site):
        telling.setdefault(segment.controller, []).append(segment.name)
    for name, segments in telling.items():
        controller = site.controllers[name]
        grammar = site.dialects[controller.dialect]
        if grammar.lasts_ms is not None:
            continue
        source = site.segments[segments[0]].source
        for message in _messages(controller, grammar, ", ".join(segments)):
            yield Finding(
                Kind.GOES_ON_LYING, "note", source, message, about=(("controller", name),)
            )


def _messages(controller: Controller, grammar: DialectGrammar, segments: str) -> Iterator[str]:
    boot = "; its own look at power-up is off watch, which helps only where its power goes too"
    yield (
        f"controller {controller.name} ({grammar.name}): {segments} would go on showing what they "
        "were last told if the board that runs the bridge lost its power, as its looks do not "
        "expire; if it can show a look for a time only, have the dialect ask for that and say how "
        f"long it lasts{'' if grammar.boot is None else boot}"
    )
    login = controller.access.login
    if login is not None and login.token_at.startswith("$"):
        yield (
            f"controller {controller.name} ({grammar.name}): {segments} would go on showing what "
            f"they were last told if the bridge crashed, as a token at {login.token_at} is more "
            "than the stop step can find; a JSON Pointer like /token is not"
        )
