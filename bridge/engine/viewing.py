"""A picture of what is known and shown; making it changes nothing."""

from __future__ import annotations

from bridge.engine.deciding import Shown
from bridge.engine.running import Running
from bridge.engine.site import Segment
from bridge.engine.view import (
    AlarmView,
    ControllerView,
    HoldView,
    PrinterView,
    PromptView,
    SegmentView,
    View,
)
from bridge.facts.moment import Moment
from bridge.facts.vocabulary import UNKNOWN_WORD
from bridge.rules.alarming import AlarmMachine
from bridge.rules.prompting import PromptMachine


def view_of(running: Running | None, now: Moment) -> View:
    """The whole picture; an empty one before the settings are known."""
    if running is None:
        return View(now.ms, {}, {}, {}, {}, {})
    return View(
        now_ms=now.ms,
        sources=dict(running.hearing.sources),
        printers={name: _printer(running, name, now) for name in running.hearing.printers},
        segments={name: _segment(running, name, now) for name in running.site.segments},
        controllers={
            name: ControllerView(name, c.contact, c.detail, c.restarts, c.attempt, c.busy)
            for name, c in running.showing.controllers.items()
        },
        counts=dict(running.counts()),
        alarms=tuple(
            _alarm(each, now)
            for mind in running.minding.minds.values()
            for each in mind.alarms.values()
        ),
        prompts=tuple(
            _prompt(each)
            for mind in running.minding.minds.values()
            for each in mind.prompts.values()
        ),
        holds=tuple(
            HoldView(name, held.scene, held.until_wall_ms, held.due_ms, held.who)
            for name, held in running.holding.held.items()
        ),
    )


def _alarm(alarm: AlarmMachine, now: Moment) -> AlarmView:
    symbol, raised = alarm.symbol(), alarm.raised
    shelf = alarm.record(now).shelf
    return AlarmView(
        alarm=alarm.alarm.name,
        printer=alarm.printer,
        state=alarm.shown_state.value,
        shown=symbol if isinstance(symbol, str) else UNKNOWN_WORD,
        occurrence=alarm.occurrence,
        priority=alarm.alarm.priority,
        since_wall_ms=raised.wall_at(now) if raised is not None else None,
        since_ms=raised.ms if raised is not None else None,
        unconfirmed=alarm.unconfirmed_since() is not None,
        escalated=alarm.escalated,
        standing=alarm.is_standing(now),
        chattering=alarm.is_chattering(now),
        shelved_until_wall_ms=shelf.until_wall_ms if shelf is not None else None,
        cause=alarm.alarm.cause,
        response=alarm.alarm.response,
    )


def _prompt(prompt: PromptMachine) -> PromptView:
    return PromptView(
        prompt=prompt.prompt.name,
        printer=prompt.printer,
        waiting=prompt.is_waiting,
        occurrence=prompt.occurrence,
        since_ms=prompt.raised.ms if prompt.raised is not None else None,
        response=prompt.prompt.response,
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
    return PrinterView(name, facts, printer.words_record(now).words, troubles)


def _segment(running: Running, name: str, now: Moment) -> SegmentView:
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
        look=running.powering.as_dimmed(segment, shown.chosen.look),
        kept=shown.chosen.kept,
        standing=state.standing,
        disagrees=state.disagrees,
        printer=shown.printer,
        dimmed_by=_dimmed_by(running, segment, now),
    )


def _because(shown: Shown, running: Running) -> str:
    if shown.judged is None:
        return shown.why
    return shown.judged.decision.because(running.minding.minds[shown.printer].facts)


def _dimmed_by(running: Running, segment: Segment, now: Moment) -> str:
    words = (running.deciding.dimmed_by(segment, now), running.powering.dimmed_by(segment))
    return ", and ".join(filter(None, words))
