"""What is kept: numbered records, who waits for each, and what is done where keeping fails.

Showing never waits for it. Where nothing is kept, whoever waits is answered at once, and told so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeAlias

from bridge.engine.actions import Action, Note, Record
from bridge.engine.records import Happening, StateRecord
from bridge.facts.moment import Moment

#: Called once, with whether the record is kept.
Confirmed: TypeAlias = Callable[[bool, Moment], None]

#: A disk that has not answered by then is not waited for any longer.
ANSWER_WITHIN_MS: Final = 5_000
#: How long after a failure everything that is not normal is recorded anew.
AGAIN_AFTER_MS: Final = 60_000


@dataclass(frozen=True, slots=True)
class _Waiting:
    until_ms: int
    confirmed: Confirmed


class Keeping:
    """The records of a running site. Mutable; owned by the core.

    ``again`` must record every state that is not normal: it is called when writing works again.
    """

    def __init__(self, emit: Callable[[Action], None], again: Callable[[Moment], None]) -> None:
        self.emit, self._again = emit, again
        self._number = 0
        self._waiting: dict[int, _Waiting] = {}
        self._again_ms: int | None = None
        #: Whether there is anything to keep records in.
        self.keeps = False
        #: Why the last one was not kept; empty while all are.
        self.failing = ""

    def state(
        self,
        record: StateRecord,
        now: Moment,
        confirmed: Confirmed | None = None,
        *,
        durable: bool = True,
    ) -> None:
        """Keep a state; ``confirmed`` is called when it is kept, or will not be."""
        if not self.keeps:
            if confirmed is not None:
                confirmed(False, now)  # noqa: FBT003 - the one argument it has
            return
        self._number += 1
        if confirmed is not None:
            self._waiting[self._number] = _Waiting(now.ms + ANSWER_WITHIN_MS, confirmed)
        self.emit(Record(self._number, record, durable))

    def happened(self, what: Happening) -> None:
        """Keep a line of history; nobody waits for it."""
        if self.keeps:
            self._number += 1
            self.emit(Record(self._number, what))

    def recorded(self, number: int, now: Moment) -> None:
        """Everything up to this number is kept."""
        for waiting in [each for each in self._waiting if each <= number]:
            self._waiting.pop(waiting).confirmed(True, now)  # noqa: FBT003 - as above
        if self.failing:
            self.failing, self._again_ms = "", None
            self.emit(Note("info", "states are kept again"))
            self._again(now)

    def not_recorded(self, number: int, why: str, now: Moment) -> None:
        """This one is not kept."""
        if not self.failing:
            fields = {"why": why, "meanwhile": "lights go on; a restart would not know of wishes"}
            self.emit(Note("error", "nothing is kept", fields))
        self.failing = why or "not kept"
        self._again_ms = now.ms + AGAIN_AFTER_MS
        waiting = self._waiting.pop(number, None)
        if waiting is not None:
            waiting.confirmed(False, now)  # noqa: FBT003 - as above

    def deadline(self) -> int | None:
        """When somebody has waited long enough, or everything is to be recorded anew."""
        dues = [each.until_ms for each in self._waiting.values()]
        if self._again_ms is not None:
            dues.append(self._again_ms)
        return min(dues, default=None)

    def settle(self, now: Moment) -> None:
        """Answer whoever waited long enough, and try again what failed."""
        overdue = [
            number for number, waiting in self._waiting.items() if waiting.until_ms <= now.ms
        ]
        for number in overdue:
            self.not_recorded(number, f"no answer within {ANSWER_WITHIN_MS} ms", now)
        if self._again_ms is not None and self._again_ms <= now.ms:
            self._again_ms = now.ms + AGAIN_AFTER_MS
            self._again(now)
