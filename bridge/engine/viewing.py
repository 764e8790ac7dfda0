"""A picture of what is known and shown; making it changes nothing."""

from __future__ import annotations

from bridge.engine.deciding import Shown
from bridge.engine.running import Running
from bridge.engine.view import (
    ControllerView,
    PrinterView,
    SegmentView,
    View,
)
from bridge.facts.moment import Moment


def view_of(running: Running | None, now: Moment) -> View:
    """The whole picture; an empty one before the settings are known."""
    if running is None:
        return View(now.ms, {}, {}, {}, {}, {})
    return View(
        now_ms=now.ms,
        sources=dict(running.hearing.sources),
        printers={name: _printer(running, name, now) for name in running.hearing.printers},
        segments={name: _segment(running, name) for name in running.site.segments},
        controllers={
            name: ControllerView(name, c.contact, c.detail, c.restarts, c.attempt, c.busy)
            for name, c in running.showing.controllers.items()
        },
        counts=dict(running.counts()),
    )


def _printer(running: Running, name: str, now: Moment) -> PrinterView:
    hearing = running.hearing
    printer = hearing.printers[name]
    troubles = tuple(
        f"{address}: {result.taken.value}{': ' + result.detail if result.detail else ''}"
        for (owner, address), result in hearing.troubles.items()
        if owner == name
    )
    facts = running.minding.minds[name].picture(printer.whole(now), now)
    return PrinterView(name, facts, tuple(printer.words), troubles)


def _segment(running: Running, name: str) -> SegmentView:
    segment, shown = running.site.segments[name], running.deciding.shown[name]
    state = running.showing.controllers[segment.controller].segments[name]
    decision = shown.judged.decision if shown.judged is not None else None
    facts = running.minding.minds[shown.printer].facts if shown.printer else {}
    return SegmentView(
        name=name,
        controller=segment.controller,
        printers=segment.printers,
        pixels=segment.place.length,
        table=segment.table or "",
        rule=decision.row.name if decision else "",
        because=_because(shown, running),
        passed_over=tuple((p.row.name, p.because(facts)) for p in decision.passed_over)
        if decision
        else (),
        scene=shown.scene.name,
        since_ms=shown.since_ms,
        look=shown.chosen.look,
        kept=shown.chosen.kept,
        standing=state.standing,
        disagrees=state.disagrees,
        printer=shown.printer,
    )


def _because(shown: Shown, running: Running) -> str:
    if shown.judged is None:
        return shown.why
    return shown.judged.decision.because(running.minding.minds[shown.printer].facts)
