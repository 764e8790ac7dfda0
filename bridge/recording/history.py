"""What history adds up to: how alarms were answered, how jobs ended, how long nothing was known.

Times are wall times in ms. A line without one was written before the clock was known; it takes the
time of the next line that has one, for choosing only: no duration is made of it.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bridge.engine.records import Happening
from bridge.rules.alarm_records import Kind
from bridge.rules.alarming import CHATTERING_MS, CHATTERING_PAIRS, STANDING_MS

_RAISED: Final = Kind.RAISED.value
_ACKNOWLEDGED: Final = Kind.ACKNOWLEDGED.value
#: What ends the time in which the condition of an alarm held.
_ENDS: Final = frozenset({Kind.RETURNED.value, Kind.WITHDRAWN.value})


@dataclass(frozen=True, slots=True)
class Window:
    """From ``since_ms`` up to ``until_ms``, the latter not included; ``None`` is without end."""

    since_ms: int | None = None
    until_ms: int | None = None

    def has(self, wall_ms: int | None) -> bool:
        """Whether an instant lies in it; an unknown one only where it has no ends."""
        if wall_ms is None:
            return self.since_ms is None and self.until_ms is None
        return (self.since_ms is None or self.since_ms <= wall_ms) and (
            self.until_ms is None or wall_ms < self.until_ms
        )

    def shared_ms(self, begin_ms: int, end_ms: int) -> int:
        """How much of a span lies in it; nothing where the clock went back meanwhile."""
        begin = begin_ms if self.since_ms is None else max(begin_ms, self.since_ms)
        end = end_ms if self.until_ms is None else min(end_ms, self.until_ms)
        return max(0, end - begin)


@dataclass(frozen=True, slots=True)
class Chosen:
    """Of whom history is asked; ``None`` asks of all."""

    printer: str | None = None
    segment: str | None = None
    alarm: str | None = None

    def has(self, happening: Happening) -> bool:
        """Whether a line is about all that is named. A start is about everything."""
        if happening.subject == "start":
            return self == Chosen()
        is_alarm = happening.subject in {"alarm", "prompt"} and happening.name == self.alarm
        return (
            (self.printer is None or happening.printer == self.printer)
            and (self.segment is None or happening.segment == self.segment)
            and (self.alarm is None or is_alarm)
        )


@dataclass(frozen=True, slots=True)
class AlarmSummary:
    """One alarm of one printer. Times to the acknowledgement in ms, ``None`` where there was none.

    ``chattering``: how often it began to be raised and return three times or more in a minute
    (EEMUA 191). ``standing``: how many times it was active for more than a day (ISA-18.2).
    """

    alarm: str
    printer: str
    raised: int
    acknowledged: int
    median_ms: int | None
    longest_ms: int | None
    chattering: int
    standing: int


@dataclass(frozen=True, slots=True)
class PrinterSummary:
    """One printer: how its jobs ended, and how much of the time that the bridge ran it was unheard.

    Where the bridge ended without a word, what was after its last line does not count.
    """

    printer: str
    outcomes: Mapping[str, int]
    watched_ms: int
    unheard_ms: int

    @property
    def unheard(self) -> float | None:
        """The share of time without fresh facts, 0..1; ``None`` where nobody watched."""
        return self.unheard_ms / self.watched_ms if self.watched_ms else None


def chosen(happenings: Sequence[Happening], chosen: Chosen, window: Window) -> list[Happening]:
    """The lines that are asked for, in order."""
    placed = zip(happenings, _placed(happenings), strict=True)
    return [each for each, wall_ms in placed if chosen.has(each) and window.has(wall_ms)]


def alarm_summaries(
    happenings: Iterable[Happening], window: Window, now_ms: int
) -> tuple[AlarmSummary, ...]:
    """Of each alarm that did anything in the window. ``now_ms``: until when history is known."""
    lives: dict[tuple[str, str], _Life] = {}
    for each in happenings:
        if each.subject == "alarm":
            life = lives.setdefault((each.name, each.printer), _Life(window))
            life.take(each)
    summaries = (life.summary(*names, now_ms) for names, life in sorted(lives.items()))
    return tuple(each for each in summaries if each.raised or each.acknowledged or each.standing)


def printer_summaries(
    happenings: Iterable[Happening], printers: Iterable[str], window: Window, now_ms: int
) -> tuple[PrinterSummary, ...]:
    """Of each of these printers. ``now_ms``: until when the bridge is known to have run."""
    watch = _Watch(tuple(sorted(printers)), window)
    for each in happenings:
        watch.take(each)
    watch.pass_to(now_ms)
    return tuple(
        PrinterSummary(name, dict(+watch.outcomes[name]), watch.watched_ms, watch.unheard_ms[name])
        for name in watch.printers
    )


def _placed(happenings: Sequence[Happening]) -> list[int | None]:
    placed: list[int | None] = []
    after: int | None = None
    for each in reversed(happenings):
        after = each.wall_ms if each.wall_ms is not None else after
        placed.append(after)
    return placed[::-1]


def _median(values: list[int]) -> int | None:
    """The middle one, or half way between the two in the middle."""
    if not values:
        return None
    ordered, half = sorted(values), len(values) // 2
    return ordered[half] if len(values) % 2 else (ordered[half - 1] + ordered[half]) // 2


class _Life:
    """One alarm of one printer, line by line."""

    def __init__(self, window: Window) -> None:
        self._window = window
        self._raised = self._chattering = self._standing = 0
        self._waits: list[int] = []
        self._acknowledged = 0
        self._active_ms: int | None = None
        self._pairs: deque[int] = deque(maxlen=CHATTERING_PAIRS)
        self._chatters = False

    def take(self, each: Happening) -> None:
        """The next line."""
        is_asked = self._window.has(each.wall_ms)
        if each.what == _RAISED:
            self._raised += is_asked
            self._active_ms = each.wall_ms
        elif each.what == _ACKNOWLEDGED and is_asked:
            self._acknowledged += 1
            if each.after_ms is not None:
                self._waits.append(each.after_ms)
        elif each.what in _ENDS:
            self._end(each, is_asked=is_asked)

    def summary(self, alarm: str, printer: str, now_ms: int) -> AlarmSummary:
        """What it adds up to."""
        self._look_whether_it_stood(now_ms)
        return AlarmSummary(
            alarm,
            printer,
            self._raised,
            self._acknowledged,
            _median(self._waits),
            max(self._waits, default=None),
            self._chattering,
            self._standing,
        )

    def _end(self, each: Happening, *, is_asked: bool) -> None:
        began_ms, ended_ms = self._active_ms, each.wall_ms
        if ended_ms is not None:
            self._look_whether_it_stood(ended_ms)
        self._active_ms = None
        if began_ms is None or ended_ms is None or each.what == Kind.WITHDRAWN.value:
            self._pairs.clear()
            self._chatters = False
            return
        self._pairs.append(began_ms)
        is_full = len(self._pairs) == CHATTERING_PAIRS
        chatters = is_full and 0 <= ended_ms - self._pairs[0] <= CHATTERING_MS
        self._chattering += chatters and not self._chatters and is_asked
        self._chatters = chatters

    def _look_whether_it_stood(self, until_ms: int) -> None:
        began_ms, self._active_ms = self._active_ms, None
        if began_ms is not None and until_ms - began_ms > STANDING_MS:
            self._standing += self._window.shared_ms(began_ms, until_ms) > 0


class _Watch:
    """What was heard of the printers while the bridge ran, line by line."""

    def __init__(self, printers: tuple[str, ...], window: Window) -> None:
        self.printers = printers
        self.watched_ms = 0
        self.unheard_ms = dict.fromkeys(printers, 0)
        self.outcomes: dict[str, Counter[str]] = {name: Counter() for name in printers}
        self._window = window
        self._fresh: set[str] = set()
        #: The last known instant, while the bridge runs.
        self._at_ms: int | None = None

    def take(self, each: Happening) -> None:
        """The next line."""
        if each.subject == "start" and each.what == "started":
            # Where the line before is no "stopped", nobody knows how long the bridge still ran.
            self._at_ms = None
            self._fresh.clear()
        if each.wall_ms is not None:
            self.pass_to(each.wall_ms)
        if each.subject == "start" and each.what == "stopped":
            self._at_ms = None
        elif each.wall_ms is not None:
            self._at_ms = each.wall_ms
        if each.subject == "hearing":
            (self._fresh.add if each.what == "fresh" else self._fresh.discard)(each.printer)
        elif each.subject == "job" and each.printer in self.outcomes and each.what != "stalled":
            self.outcomes[each.printer][each.what] += self._window.has(each.wall_ms)

    def pass_to(self, wall_ms: int) -> None:
        """Time goes by."""
        if self._at_ms is None:
            return
        spent_ms = self._window.shared_ms(self._at_ms, wall_ms)
        self.watched_ms += spent_ms
        for name in self.printers:
            if name not in self._fresh:
                self.unheard_ms[name] += spent_ms
