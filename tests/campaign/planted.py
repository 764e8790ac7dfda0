"""Bugs planted one at a time, to see that the campaign catches each, and by which promise.

A plant takes a ``MonkeyPatch`` and spoils one thing of the bridge. To add one: write the function,
name it in ``PLANTED`` with the promises that it breaks, and ``test_planted.py`` looks for it.
"""

# ruff: noqa: ANN401 - a plant stands in for methods of every shape

from __future__ import annotations

import random
from typing import Any, Final

import pytest

from bridge.engine import core, polling
from bridge.engine.agenda import Agenda
from bridge.facts.documents import MessageState
from bridge.facts.values import Why
from bridge.lights import reconcile
from bridge.lights.limiter import Limiter
from bridge.lights.reconcile import Reconciler
from bridge.lights.segment import SegmentState
from bridge.rules.columns import SymbolColumn
from bridge.rules.compiled import Compiled
from tests.campaign.planted_alarms import ALARMS_PLANTED
from tests.campaign.planting import Planted, wrap


def fresh_for_longer(patch: pytest.MonkeyPatch, by_ms: int = 1) -> None:
    """Off by one: a document counts a millisecond too long."""

    def count_from(original: Any, self: Any, held: Any, *args: Any) -> None:
        original(self, held, *args)
        if held.expires_ms is not None:
            held.expires_ms += by_ms

    wrap(patch, MessageState, "_count_from", count_from)


def fresh_for_less(patch: pytest.MonkeyPatch) -> None:
    """Off by one the other way: ``fresh_for`` is taken as exclusive."""
    fresh_for_longer(patch, -1)


def not_unknown_is_true(patch: pytest.MonkeyPatch) -> None:
    """The negation of an unknown taken as true."""

    def build(original: Any, self: Any, fact: str, every: int, tests: Any) -> None:
        original(self, fact, every, tests)
        negated = sum(1 << row for row, test in tests.items() if test.negated)
        possible, unknown = self.unknown
        self.unknown = (possible, unknown & ~negated)

    wrap(patch, SymbolColumn, "__init__", build)


def reassures_though_unsure(patch: pytest.MonkeyPatch) -> None:
    """A comforting row shown below one that cannot be judged."""
    judged = Compiled.judged
    patch.setattr(Compiled, "judged", lambda *args: (judged(*args)[0], 0))


def stored_counts_as_live(patch: pytest.MonkeyPatch) -> None:
    """A retained message taken as fresh."""

    def take(original: Any, self: Any, *args: Any, **_: Any) -> Any:
        return original(self, *args, retained=False)

    wrap(patch, MessageState, "take", take)


def link_loss_keeps_documents(patch: pytest.MonkeyPatch) -> None:
    """What was heard before the link went down counts again when it is back."""

    def drop(original: Any, self: Any, why: Why) -> None:
        if why is not Why.LINK_NOT_UP:
            original(self, why)

    wrap(patch, MessageState, "drop", drop)


def wake_up_dropped(patch: pytest.MonkeyPatch) -> None:
    """Now and then nobody is woken when something stops being known."""

    def not_after(original: Any, self: Any, matter: str, name: str, due_ms: int | None) -> None:
        if due_ms is None or due_ms % 7:
            original(self, matter, name, due_ms)

    wrap(patch, Agenda, "not_after", not_after)


def limits_fresh_at_start(patch: pytest.MonkeyPatch) -> None:
    """The limits do not count as used up at a start."""

    def start(original: Any, self: Any, count: int, window_ms: int, _: int) -> None:
        original(self, count, window_ms, -window_ms * 10)

    wrap(patch, Limiter, "__init__", start)


def window_half_open(patch: pytest.MonkeyPatch) -> None:
    """Off by one: requests exactly one window apart are let through."""

    def next_slot(original: Any, self: Any, now_ms: int) -> int:
        slot: int = original(self, now_ms)
        return slot - 1 if slot > now_ms else slot

    wrap(patch, Limiter, "next_slot", next_slot)


def two_in_flight(patch: pytest.MonkeyPatch) -> None:
    """Nobody waits for the reply to a read."""

    def choose(original: Any, self: Any, now_ms: int) -> Any:
        waiting = self._in_flight
        if waiting is not None and waiting.purpose == "read":
            self._in_flight = None
        planned = original(self, now_ms)
        self._in_flight = planned or waiting
        return planned

    wrap(patch, Reconciler, "choose", choose)


def told_stays_after_no_answer(patch: pytest.MonkeyPatch) -> None:
    """What was shown before an unanswered request is believed to show still."""

    def back_off(original: Any, self: Any, *args: Any, **named: Any) -> None:
        before = {name: state.standing for name, state in self.segments.items()}
        original(self, *args, **named)
        for name, state in self.segments.items():
            state.standing = before[name]
            self._mark(state)

    wrap(patch, Reconciler, "_back_off", back_off)


def restart_shows_nothing(patch: pytest.MonkeyPatch) -> None:
    """A restart is noticed, and nothing comes of it."""
    patch.setattr(Reconciler, "_restarted", lambda _: [])


def read_back_not_compared(patch: pytest.MonkeyPatch) -> None:
    """A segment that shows something else is never corrected."""
    patch.setattr(Reconciler, "_compared", lambda *_: [])


def newest_counts_as_sent(patch: pytest.MonkeyPatch) -> None:
    """An answer is taken for the look that is wanted by now, not for the one that was sent."""

    def tell(original: Any, self: Any, _: Any) -> None:
        original(self, self.desired)

    wrap(patch, SegmentState, "tell", tell)


def busy_is_deaf(patch: pytest.MonkeyPatch) -> None:
    """A decision that comes while a request is in flight is lost."""

    def desire(original: Any, self: Any, *args: Any) -> bool:
        return not self.busy and bool(original(self, *args))

    wrap(patch, Reconciler, "desire", desire)


def failed_poll_is_the_last(patch: pytest.MonkeyPatch) -> None:
    """A poll that fails is waited for until the end of days."""

    def failed(original: Any, self: Any, *args: Any) -> None:
        original(self, *args)
        self._waiting = True

    wrap(patch, polling.PollSchedule, "failed", failed)


def silence_unreported(patch: pytest.MonkeyPatch) -> None:
    """Nobody is told of a controller that does not answer."""

    def unanswered(original: Any, self: Any, **named: Any) -> Any:
        original(self, **named)
        return []

    wrap(patch, Reconciler, "unanswered", unanswered)


def chance_in_the_core(patch: pytest.MonkeyPatch) -> None:
    """The jitter is no hash of the seed."""
    jitter = random.Random(0)  # one stream for both lives, so that the second gets other numbers
    for module in (reconcile, polling):
        patch.setattr(module, "backoff_ms", lambda *_, **__: jitter.randint(0, 900))


def order_of_a_set(patch: pytest.MonkeyPatch) -> None:
    """Requests go out in the order of a set, which differs from run to run."""
    patch.setattr(core, "sorted", list, raising=False)


PLANTED: Final = {
    planted.plant.__name__: planted
    for planted in (
        Planted(fresh_for_longer, ("I1",)),
        Planted(fresh_for_less, ("I1", "I2")),
        Planted(not_unknown_is_true, ("I1",)),
        Planted(reassures_though_unsure, ("I1",)),
        Planted(stored_counts_as_live, ("I1",)),
        Planted(link_loss_keeps_documents, ("I1", "I2")),
        Planted(wake_up_dropped, ("I1",)),
        Planted(limits_fresh_at_start, ("I5",)),
        Planted(window_half_open, ("I5",)),
        Planted(two_in_flight, ("I5",)),
        Planted(told_stays_after_no_answer, ("I2", "I3")),
        Planted(restart_shows_nothing, ("I2", "I3")),
        Planted(read_back_not_compared, ("I2",)),
        Planted(newest_counts_as_sent, ("I2",)),
        Planted(busy_is_deaf, ("I2",)),
        Planted(failed_poll_is_the_last, ("I2",)),
        Planted(silence_unreported, ("I3",)),
        Planted(chance_in_the_core, ("I10",)),
        *ALARMS_PLANTED,
    )
}
