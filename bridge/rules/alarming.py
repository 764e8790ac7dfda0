"""One alarm of one printer over time: truths, wishes and instants in, changes out.

Before a wish ``settle(now)`` must have been called, as the core does before every event; truths,
clocks and edits do so themselves. Rules beside the table of ``alarm_states``:

1. A delay ends exactly at its start plus its length, however late it is settled.
2. An unknown truth freezes: no raise, no return; a delay starts anew when the truth is known.
3. An acknowledged alarm that, since it was last known to be true, was not so for longer than its
   off-delay, and unknown for a part of that, may have returned unseen: if it is true again, that
   is a new occurrence, at once.
4. An occurrence that is not acknowledged in time escalates once, also if it has returned; not
   while it is shelved or out of service.
5. What shows because of a wish waits for ``confirmed``; what a raise shows never waits.
"""

from __future__ import annotations

from collections import Counter, deque
from typing import Final

from bridge.facts.moment import Moment
from bridge.facts.stamp import Stamp, placed, wall_of
from bridge.facts.truth import Truth
from bridge.facts.values import Unknown, Why
from bridge.rules.alarm import Alarm, facts_text
from bridge.rules.alarm_records import (
    KIND_OF,
    Acknowledgement,
    AlarmRecord,
    Change,
    Kind,
    Occurrences,
    Refusal,
    WhyRefused,
    refused,
)
from bridge.rules.alarm_states import (
    ACTIVE,
    DELAYED,
    LOOKS,
    TRANSITIONS,
    UNACKNOWLEDGED,
    Signal,
    State,
    Variant,
    next_state,
)
from bridge.rules.shelving import Overlays
from bridge.rules.withheld import Withheld

#: EEMUA 191: three or more raise-and-return pairs in a minute.
CHATTERING_PAIRS: Final = 3
CHATTERING_MS: Final = 60_000
#: Active for longer than a day.
STANDING_MS: Final = 24 * 60 * 60 * 1000

_PERSONS: Final = frozenset({Signal.ACKNOWLEDGE, Signal.RESET})


class AlarmMachine:
    """The life of one alarm. Mutable; owned by the engine; no clock of its own."""

    def __init__(self, alarm: Alarm, printer: str, occurrences: Occurrences) -> None:
        self.alarm = alarm
        self.printer = printer
        #: Where it is, whether or not a lamp may show so yet.
        self.state = State.NORMAL
        #: The occurrence that stands; ``None`` while normal.
        self.occurrence: str | None = None
        #: When the occurrence began.
        self.raised: Stamp | None = None
        #: The last acknowledgement, kept for whoever acknowledges twice.
        self.acknowledged: Acknowledgement | None = None
        #: How often what happened in this start.
        self.counts: Counter[Kind] = Counter()
        self._occurrences = occurrences
        self._escalated = False
        self._truth = Truth.UNKNOWN
        self._since_ms = 0
        self._active: Stamp | None = None
        self._unconfirmed: Stamp | None = None
        #: When it was last known to be true, while it is not; and whether it was unknown since.
        self._left: Stamp | None = None
        self._unseen = False
        self._overlays = Overlays()
        self._withheld: Withheld[tuple[State, bool]] = Withheld()
        self._pairs: deque[int] = deque(maxlen=CHATTERING_PAIRS)
        self._number = self._taken_up_ms = 0
        #: The latest instant that anything was taken at: nothing happens before it any more.
        self._seen_ms: int | None = None

    # What it says

    def symbol(self) -> str | Unknown:
        """What ``alarm: NAME`` sees; unknown while normal with a condition that is unknown."""
        hidden = self._overlays.symbol
        if hidden is not None:
            return hidden
        state = self.shown_state
        if state is State.NORMAL and self._truth is Truth.UNKNOWN:
            return Unknown(Why.UNJUDGED, facts_text(self.alarm.when))
        return state.value

    @property
    def shown_state(self) -> State:
        """The state that a lamp may show: a wish changes it only when it is confirmed."""
        return self._withheld.shown((self.state, self._escalated))[0]

    @property
    def escalated(self) -> bool:
        """Whether other segments carry it, as far as a lamp may show."""
        if self._overlays.symbol is not None or self.alarm.escalate is None:
            return False
        return self._withheld.shown((self.state, self._escalated))[1]

    def look(self) -> Variant:
        """Which variant of its scene shows; ``normal`` where it shows nothing."""
        if self._overlays.symbol is not None:
            return "normal"
        return LOOKS[self.shown_state, self.alarm.sequence]

    @property
    def is_active(self) -> bool:
        """Whether its condition holds, as far as is known: active goes before returned."""
        return self.state in ACTIVE

    def unconfirmed_since(self) -> Stamp | None:
        """Since when it goes on without its condition being known."""
        return None if self.state is State.NORMAL else self._unconfirmed

    def is_standing(self, now: Moment) -> bool:
        """Active for more than 24 h."""
        age = self._active.age_ms(now) if self._active is not None and self.is_active else None
        return age is not None and age > STANDING_MS

    def is_chattering(self, now: Moment) -> bool:
        """Raised and returned three times or more within the last minute."""
        full = len(self._pairs) == CHATTERING_PAIRS
        return full and now.ms - self._pairs[0] <= CHATTERING_MS

    def record(self, now: Moment) -> AlarmRecord:
        """All that crosses a start."""
        shelf, out = self._overlays.records(now)
        return AlarmRecord(
            alarm=self.alarm.name,
            printer=self.printer,
            when=self.alarm.when_text,
            state=self.state,
            written_wall_ms=now.wall_ms,
            occurrence=self.occurrence,
            raised_wall_ms=wall_of(self.raised, now),
            active_wall_ms=wall_of(self._active, now),
            unconfirmed_since_wall_ms=wall_of(self.unconfirmed_since(), now),
            true_until_wall_ms=wall_of(self._left, now),
            acknowledged=self.acknowledged,
            escalated=self._escalated,
            shelf=shelf,
            out_of_service=out,
        )

    # Truths and time

    def judge(self, truth: Truth, now: Moment) -> tuple[Change, ...]:
        """Take the truth of its condition, whenever that may have changed."""
        changes = self.settle(now)
        if truth is self._truth:
            return changes
        was, self._truth, self._since_ms = self._truth, truth, now.ms
        self._unconfirmed = Stamp.of(now) if truth is Truth.UNKNOWN else None
        if truth is not Truth.TRUE:
            if was is Truth.TRUE:
                self._left = Stamp.of(now)
            self._unseen = self._unseen or truth is Truth.UNKNOWN
        else:
            if self.state is State.ACKNOWLEDGED and self._may_have_returned(now):
                changes += (self._move(Signal.RAISE, now),)
            self._left, self._unseen = None, False
        return changes + self.settle(now)

    def deadline(self) -> int | None:
        """The next instant at which something happens with nothing heard."""
        return min((due for due, _ in self._dues()), default=None)

    def settle(self, now: Moment) -> tuple[Change, ...]:
        """Everything that is due at ``now``, each at its own due time."""
        changes: list[Change] = []
        while (first := min(self._dues(), default=None)) and first[0] <= now.ms:
            due_ms, what = first
            # What an edit or a clock made due in the past happens now, not then.
            self._seen_ms = due_ms if self._seen_ms is None else max(due_ms, self._seen_ms)
            changes.append(self._happen(what, now.at(self._seen_ms)))
        self._seen_ms = now.ms if self._seen_ms is None else max(now.ms, self._seen_ms)
        return tuple(changes)

    def clock(self, now: Moment) -> tuple[Change, ...]:
        """The wall clock became known or was stepped."""
        changes = self.settle(now)
        self._overlays.clock(now)
        self.raised = placed(self.raised, now)
        self._active = placed(self._active, now)
        self._unconfirmed = placed(self._unconfirmed, now)
        self._left = placed(self._left, now)
        return changes + self.settle(now)

    # Wishes

    def acknowledge(self, occurrence: str, who: str, now: Moment) -> Change | Refusal:
        """Somebody has seen this occurrence."""
        return self._wish(Signal.ACKNOWLEDGE, occurrence, who, now)

    def reset(self, occurrence: str, who: str, now: Moment) -> Change | Refusal:
        """Somebody ends what latched."""
        return self._wish(Signal.RESET, occurrence, who, now)

    def shelve(self, until_wall_ms: int, reason: str, who: str, now: Moment) -> Change | Refusal:
        """Put it aside; it comes back by itself."""
        refusal = self._overlays.shelve(until_wall_ms, reason, who, self._number + 1, now)
        return refusal or self._say(Kind.SHELVED, now, who=who, reason=reason, waits=True)

    def unshelve(self, who: str, now: Moment) -> Change | Refusal:
        """Take it back before its time."""
        return self._overlays.unshelve() or self._say(Kind.UNSHELVED, now, who=who)

    def out_of_service(self, reason: str, who: str, now: Moment) -> Change | Refusal:
        """Take it out of service until somebody returns it."""
        refusal = self._overlays.take_out(reason, who, self._number + 1, now)
        return refusal or self._say(Kind.OUT_OF_SERVICE, now, who=who, reason=reason, waits=True)

    def return_to_service(self, who: str, now: Moment) -> Change | Refusal:
        """Back in service, as its condition is by now."""
        return self._overlays.return_to_service() or self._say(Kind.IN_SERVICE, now, who=who)

    def confirmed(self, number: int) -> None:
        """The record of a change that waits is durable, or will not be kept: now it may show."""
        self._withheld.confirmed(number)
        self._overlays.confirmed(number)

    # Edits and starts

    def adopt(self, alarm: Alarm, now: Moment) -> tuple[Change, ...]:
        """The same alarm after an edit; another ``when`` closes what stands."""
        changes = self.settle(now)
        if frozenset(alarm.when) != frozenset(self.alarm.when):
            changes += self.withdraw(now, _EDITED)
        elif not _has(alarm, self.state):
            changes += (self._move(Signal.WITHDRAW, now, reason=_UNLATCHED),)
        if not _has(alarm, self.shown_state):
            self._withheld.drop()
        self.alarm = alarm
        return changes + self.settle(now)

    def withdraw(self, now: Moment, reason: str = "it was taken out") -> tuple[Change, ...]:
        """An edit took it away, with its shelf and its out-of-service mark."""
        had_overlay = self._overlays.any
        self._overlays.clear()
        self._truth, self._unconfirmed = Truth.UNKNOWN, Stamp.of(now)
        self._pairs.clear()
        if self.state is not State.NORMAL:
            return (self._move(Signal.WITHDRAW, now, reason=reason),)
        return (self._say(Kind.WITHDRAWN, now, reason=reason),) if had_overlay else ()

    def restore(
        self, record: AlarmRecord, now: Moment, heard_until_wall_ms: int | None = None
    ) -> tuple[Change, ...]:
        """As an earlier start left it; nothing is known of its condition yet.

        ``heard_until_wall_ms``: until when that start is known to have heard. Without it, what was
        acknowledged counts as unseen since the record was written.
        """
        self.state, self.occurrence = record.state, record.occurrence
        self.acknowledged, self._escalated = record.acknowledged, record.escalated
        self.raised = Stamp.restored(record.raised_wall_ms, now)
        self._active = Stamp.restored(record.active_wall_ms, now)
        # What became due while the bridge was down happens now.
        self._seen_ms = self._taken_up_ms = now.ms
        self._overlays.restore(record.shelf, record.out_of_service, now)
        heard_ms = heard_until_wall_ms or record.written_wall_ms
        self._unconfirmed = Stamp(None, record.unconfirmed_since_wall_ms or heard_ms).placed(now)
        self._left = Stamp(None, record.true_until_wall_ms or heard_ms).placed(now)
        self._unseen = True
        changes: tuple[Change, ...] = ()
        if record.when != self.alarm.when_text:
            changes = self.withdraw(now, _EDITED)
        elif not _has(self.alarm, self.state):
            changes = (self._move(Signal.WITHDRAW, now, reason=_UNLATCHED),)
        return changes + self.settle(now)

    # Within

    def _dues(self) -> list[tuple[int, str]]:
        """What is due when; of what is due at once, the first by name happens first."""
        dues: list[tuple[int, str]] = []
        signal = DELAYED.get((self.state, self._truth))
        if signal is not None:
            alarm = self.alarm
            delay_ms = alarm.on_delay_ms if signal is Signal.RAISE else alarm.off_delay_ms
            dues.append((self._since_ms + delay_ms, "delay"))
        if self._overlays.due_ms is not None:
            dues.append((self._overlays.due_ms, "unshelve"))
        escalate, raised_ms = self.alarm.escalate, None if not self.raised else self.raised.ms
        waits = self.state in UNACKNOWLEDGED and not self._escalated
        if escalate and waits and not self._overlays.symbol:
            # Where nobody knows since when it stands, it is at least since this start.
            since_ms = self._taken_up_ms if raised_ms is None else raised_ms
            dues.append((since_ms + escalate.after_ms, "escalate"))
        return dues

    def _happen(self, what: str, at: Moment) -> Change:
        if what == "delay":
            return self._move(DELAYED[self.state, self._truth], at)
        if what == "escalate":
            self._escalated = True
            return self._say(Kind.ESCALATED, at)
        self._overlays.unshelve()
        return self._say(Kind.UNSHELVED, at, reason="its time is over")

    def _wish(self, signal: Signal, occurrence: str, who: str, now: Moment) -> Change | Refusal:
        if occurrence != self.occurrence:
            stands = f"{self.occurrence} stands" if self.occurrence else ""
            last = self.acknowledged
            if last and last.occurrence == occurrence and signal is Signal.ACKNOWLEDGE:
                return Refusal(WhyRefused.ALREADY_ACKNOWLEDGED, stands)
            return Refusal(WhyRefused.UNKNOWN_OCCURRENCE, stands)
        if (self.state, signal) not in TRANSITIONS[self.alarm.sequence]:
            return Refusal(refused(self.state, signal, self.alarm.sequence), occurrence)
        self._withheld.withhold(self._number + 1, (self.state, self._escalated))
        return self._move(signal, now, who=who)

    def _move(self, signal: Signal, at: Moment, *, who: str = "", reason: str = "") -> Change:
        before, occurrence = self.state, self.occurrence
        self.state = next_state(before, signal, self.alarm.sequence)
        if signal is Signal.RAISE:
            self._raise(before, at)
            occurrence = self.occurrence
        elif signal is Signal.RETURN and self._active is not None and self._active.ms is not None:
            self._pairs.append(self._active.ms)
        elif signal is Signal.ACKNOWLEDGE and occurrence is not None:
            self.acknowledged = Acknowledgement(occurrence, who, at.wall_ms)
            self._escalated = False
            # Who acknowledges has looked: what was not seen before that does not matter.
            self._left = self._left and Stamp.of(at)
        elif signal is Signal.WITHDRAW:
            self._withheld.drop()
        if self.state is State.NORMAL:
            self.occurrence = self.raised = None
            self._escalated = False
        if self.state not in ACTIVE:
            self._active = None
        waits = signal in _PERSONS
        return self._say(
            KIND_OF[signal], at, (before, occurrence), who=who, reason=reason, waits=waits
        )

    def _raise(self, before: State, at: Moment) -> None:
        self._active = Stamp.of(at)
        self._withheld.drop()
        if before not in UNACKNOWLEDGED:
            self.occurrence, self.raised = self._occurrences.name(), Stamp.of(at)
            self._escalated = False

    def _may_have_returned(self, now: Moment) -> bool:
        if not self._unseen or self._left is None:
            return False
        gone_ms = self._left.age_ms(now)
        return gone_ms is None or gone_ms > self.alarm.off_delay_ms

    def _say(
        self,
        kind: Kind,
        at: Moment,
        was: tuple[State, str | None] | None = None,
        *,
        who: str = "",
        reason: str = "",
        waits: bool = False,
    ) -> Change:
        before, occurrence = was or (self.state, self.occurrence)
        self._number += 1
        self.counts[kind] += 1
        return Change(
            kind=kind,
            name=self.alarm.name,
            printer=self.printer,
            occurrence=occurrence,
            before=before.value,
            after=self.state.value,
            at=at,
            who=who,
            reason=reason,
            number=self._number,
            waits=waits,
            record=self.record(at),
        )


_EDITED: Final = "what raises it was edited"
_UNLATCHED: Final = "its sequence no longer latches"


def _has(alarm: Alarm, state: State) -> bool:
    """Whether an alarm of this sequence can be in a state."""
    return (state, alarm.sequence) in LOOKS
