"""The agenda against a plain list of deadlines."""

from __future__ import annotations

from typing import get_args

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from bridge.engine.agenda import Agenda, Matter

ORDER = {matter: number for number, matter in enumerate(get_args(Matter))}
matters = st.sampled_from(get_args(Matter))
names = st.sampled_from(["door", "kestrel", "plover"])


class AgainstAList(RuleBasedStateMachine):
    """Whatever is set, brought forward, taken back and popped, both give the same."""

    def __init__(self) -> None:
        super().__init__()
        self.agenda = Agenda()
        self.plain: dict[tuple[Matter, str], int] = {}

    @rule(matter=matters, name=names, due_ms=st.none() | st.integers(0, 50))
    def set(self, matter: Matter, name: str, due_ms: int | None) -> None:
        """A deadline replaces the one before, or takes it away."""
        self.agenda.set(matter, name, due_ms)
        self.plain.pop((matter, name), None)
        if due_ms is not None:
            self.plain[matter, name] = due_ms

    @rule(matter=matters, name=names, due_ms=st.none() | st.integers(0, 50))
    def not_after(self, matter: Matter, name: str, due_ms: int | None) -> None:
        """A deadline is brought forward, never put off."""
        self.agenda.not_after(matter, name, due_ms)
        if due_ms is not None:
            self.plain[matter, name] = min(due_ms, self.plain.get((matter, name), due_ms))

    @rule(now_ms=st.integers(0, 60))
    def pop(self, now_ms: int) -> None:
        """What is due comes in due order; at one instant by matter, then by name."""
        expected = sorted(
            (due_ms, ORDER[matter], name, matter)
            for (matter, name), due_ms in self.plain.items()
            if due_ms <= now_ms
        )
        popped = list(self.agenda.pop_due(now_ms))
        assert popped == [(due_ms, matter, name) for due_ms, _, name, matter in expected]
        for _, matter, name in popped:
            del self.plain[matter, name]

    @invariant()
    def the_next_is_the_earliest(self) -> None:
        """Asking changes nothing."""
        assert self.agenda.next_ms() == min(self.plain.values(), default=None)


TestAgainstAList = AgainstAList.TestCase
TestAgainstAList.settings = settings(max_examples=60, stateful_step_count=30)


def test_what_becomes_due_while_popping_is_popped_too() -> None:
    """A deadline settled late may bring another that is also due, in its place in the order."""
    agenda = Agenda()
    agenda.set("facts", "kestrel", 10)
    agenda.set("facts", "plover", 30)
    seen = []
    for due_ms, matter, name in agenda.pop_due(40):
        seen.append((due_ms, name))
        if due_ms == 10:
            agenda.set(matter, name, 20)
    assert seen == [(10, "kestrel"), (20, "kestrel"), (30, "plover")]
