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
from bridge.lights import controller_state
from bridge.lights.limiter import Limiter
from bridge.rules.columns import SymbolColumn
from bridge.rules.compiled import Compiled
from tests.campaign.planted_alarms import ALARMS_PLANTED
from tests.campaign.planted_lights import LIGHTS_PLANTED
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


def failed_poll_is_the_last(patch: pytest.MonkeyPatch) -> None:
    """A poll that fails is waited for until the end of days."""

    def failed(original: Any, self: Any, *args: Any) -> None:
        original(self, *args)
        self._waiting = True

    wrap(patch, polling.PollSchedule, "failed", failed)


def chance_in_the_core(patch: pytest.MonkeyPatch) -> None:
    """The jitter is no hash of the seed."""
    jitter = random.Random(0)  # one stream for both lives, so that the second gets other numbers
    for module in (controller_state, polling):
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
        Planted(stored_counts_as_live, ("I1", "I2")),
        Planted(link_loss_keeps_documents, ("I1", "I2", "I3"), first=7),
        Planted(wake_up_dropped, ("I1",)),
        Planted(limits_fresh_at_start, ("I5",)),
        Planted(window_half_open, ("I5",)),
        Planted(failed_poll_is_the_last, ("I2",)),
        Planted(chance_in_the_core, ("I10",)),
        *LIGHTS_PLANTED,
        *ALARMS_PLANTED,
    )
}
