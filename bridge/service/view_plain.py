"""The picture of a running site as JSON has it, for the local socket and for the page.

Instants of the monotonic clock mean nothing outside the daemon: they stand as ages and as what is
left, in ms, at the picture's ``now_ms``. Wall times are ms since 1970, ``null`` where not known.
"""

from __future__ import annotations

from typing import Any

from bridge.engine.view import (
    AlarmView,
    ControllerView,
    HoldView,
    PrinterView,
    PromptView,
    SegmentView,
    View,
)
from bridge.facts.values import FactValue, Reasons, Unknown
from bridge.facts.words import WordRecord
from bridge.lights.look import Look, Moving, Native


def view_plain(view: View) -> dict[str, Any]:
    """Everything, in the order of the site."""
    now_ms = view.now_ms
    return {
        "now_ms": now_ms,
        "sources": dict(view.sources),
        "printers": [_printer(each) for each in view.printers.values()],
        "segments": [_segment(each, now_ms) for each in view.segments.values()],
        "controllers": [_controller(each) for each in view.controllers.values()],
        "alarms": [_alarm(each, now_ms) for each in view.alarms],
        "prompts": [_prompt(each, now_ms) for each in view.prompts],
        "holds": [_hold(each, now_ms) for each in view.holds],
        "counts": dict(sorted(view.counts.items())),
    }


def _printer(printer: PrinterView) -> dict[str, object]:
    return {
        "printer": printer.name,
        "facts": {name: _fact(printer.facts[name]) for name in sorted(printer.facts)},
        "words": [_word(each) for each in printer.words],
        "troubles": list(printer.troubles),
    }


def _fact(value: FactValue) -> object:
    match value:
        case Unknown():
            return {"unknown": value.why.value, "detail": value.detail}
        case Reasons():
            known = [reason.said for reason in value.known]
            return {"reasons": known, "complete": value.complete}
        case _:
            return value


def _word(word: WordRecord) -> dict[str, object]:
    return {"fact": word.fact, "word": word.word, "message": word.message, "count": word.count}


def _segment(segment: SegmentView, now_ms: int) -> dict[str, object]:
    return {
        "segment": segment.name,
        "controller": segment.controller,
        "printers": list(segment.printers),
        "printer": segment.printer or None,
        "pixels": segment.pixels,
        "table": segment.table or None,
        "rule": segment.rule or None,
        "because": segment.because,
        "passed_over": [{"rule": rule, "because": why} for rule, why in segment.passed_over],
        "scene": segment.scene,
        "age_ms": now_ms - segment.since_ms,
        "look": _look(segment.look),
        "kept": segment.kept.value,
        "standing": segment.standing.value,
        "disagrees": segment.disagrees,
        "dimmed_by": segment.dimmed_by or None,
    }


def _look(look: Look | None) -> dict[str, object] | None:
    if look is None:
        return None
    if isinstance(look, Native):
        red, green, blue = look.colour
        return {
            "effect": look.effect,
            "colour": f"#{red:02x}{green:02x}{blue:02x}",
            "level": look.level,
            "rate": look.rate if look.effect == "flash" else None,
        }
    if isinstance(look, Moving):
        return {
            "frames": [each.hex() for each in look.frames],
            "period_ms": look.periods_ms[0],
        }
    return {"frame": look.frame.hex()}


def _controller(controller: ControllerView) -> dict[str, object]:
    return {
        "controller": controller.name,
        "contact": controller.contact.value,
        "detail": controller.detail,
        "restarts": controller.restarts,
        "attempt": controller.attempt,
        "busy": controller.busy,
    }


def _alarm(alarm: AlarmView, now_ms: int) -> dict[str, object]:
    return {
        "alarm": alarm.alarm,
        "printer": alarm.printer,
        "state": alarm.state,
        "shown": alarm.shown,
        "occurrence": alarm.occurrence,
        "priority": alarm.priority,
        "since_wall_ms": alarm.since_wall_ms,
        "age_ms": _age(alarm.since_ms, now_ms),
        "unconfirmed": alarm.unconfirmed,
        "escalated": alarm.escalated,
        "standing": alarm.standing,
        "chattering": alarm.chattering,
        "shelved_until_wall_ms": alarm.shelved_until_wall_ms,
        "cause": alarm.cause,
        "response": alarm.response,
    }


def _prompt(prompt: PromptView, now_ms: int) -> dict[str, object]:
    return {
        "prompt": prompt.prompt,
        "printer": prompt.printer,
        "waiting": prompt.waiting,
        "occurrence": prompt.occurrence,
        "age_ms": _age(prompt.since_ms, now_ms),
        "response": prompt.response,
    }


def _hold(hold: HoldView, now_ms: int) -> dict[str, object]:
    return {
        "segment": hold.segment,
        "scene": hold.scene,
        "until_wall_ms": hold.until_wall_ms,
        "left_ms": None if hold.until_ms is None else hold.until_ms - now_ms,
        "who": hold.who,
    }


def _age(since_ms: int | None, now_ms: int) -> int | None:
    return None if since_ms is None else now_ms - since_ms
