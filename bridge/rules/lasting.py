"""One row that must have held for a while before it shows, for one printer."""

from __future__ import annotations

from bridge.facts.truth import Truth
from bridge.facts.values import Facts, FactValue, Unknown, Why
from bridge.rules.alarm import facts_text
from bridge.rules.conditions import all_hold
from bridge.rules.table import Lasting, Row


class Lasted:
    """Since when a row's ``when`` holds without a break. Mutable; owned by the engine.

    Not knowing is a break, and says so: what is below the row may not reassure meanwhile.
    """

    def __init__(self, row: Row, lasting: Lasting) -> None:
        self.when = row.when
        self.fact = lasting.fact
        #: What the row's own fact is: a truth, or unknown while its condition is.
        self.value: FactValue = Unknown(Why.UNJUDGED, facts_text(row.when))
        self._for_ms = lasting.for_ms
        self._unknown = self.value
        self._since_ms: int | None = None

    def judge(self, facts: Facts, now_ms: int) -> bool:
        """Take the facts, whenever one of its conditions' may have changed; whether it changed."""
        before = self.value
        truth = all_hold(self.when, facts)
        if truth is not Truth.TRUE:
            self._since_ms = None
            self.value = False if truth is Truth.FALSE else self._unknown
        elif self._since_ms is None:
            self._since_ms = now_ms
            self.value = self._for_ms <= 0
        return self.settle(now_ms) or self.value is not before

    def settle(self, now_ms: int) -> bool:
        """Let it have lasted, if it is time; whether it changed."""
        due_ms = self.deadline()
        if due_ms is None or due_ms > now_ms:
            return False
        self.value = True
        return True

    def deadline(self) -> int | None:
        """When it will have lasted, with nothing heard."""
        if self._since_ms is None or self.value is True:
            return None
        return self._since_ms + self._for_ms
