"""How alarms live, in plain Python: ISA-18.1 and 18.2 as the design has them.

It shares no code with the bridge. Quoted are the sentences of the design that a rule stands for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from tests.campaign.sites import Alarm

UNSEEN: Final = frozenset({"unacknowledged", "returned"})
ACTIVE: Final = frozenset({"unacknowledged", "acknowledged"})
QUIET: Final = frozenset({"normal", "shelved", "out-of-service"})


class Now(NamedTuple):
    """An instant on both clocks; ``wall`` is ``None`` until it is known."""

    ms: int
    wall: int | None


@dataclass
class Instant:
    """When something was: "recorded in wall time", and placed once the wall clock is known."""

    ms: int | None
    wall: int | None

    def place(self, now: Now) -> None:
        """On the monotonic clock, if that can be known; never in the future."""
        if self.ms is None and self.wall is not None and now.wall is not None:
            self.ms = now.ms - max(0, now.wall - self.wall)

    def kept(self, now: Now) -> int | None:
        """As it crosses a start."""
        if self.wall is None and self.ms is not None and now.wall is not None:
            return now.wall - now.ms + self.ms
        return self.wall


def kept(instant: Instant | None, now: Now) -> int | None:
    """The same of one that there may not be."""
    return None if instant is None else instant.kept(now)


class Kept(NamedTuple):
    """What a record of an alarm must hold."""

    state: str
    occurrence: str | None
    raised: int | None
    left: int | None
    written: int | None
    escalated: bool
    acknowledged: str | None
    shelf: int | None
    out: bool


@dataclass
class Overlay:
    """A shelf or an out-of-service mark; ``awaits`` is the wish whose record it waits for."""

    until: int | None
    due: int | None
    awaits: object


@dataclass
class Life:
    """One alarm of one printer. ``before`` shows while a wish in ``awaits`` is not yet kept."""

    alarm: Alarm
    printer: str
    state: str = "normal"
    #: Its name is told by the bridge; "" until then.
    occurrence: str | None = None
    acknowledged: str | None = None
    raised: Instant | None = None
    #: Since when it stands at least, where nobody knows since when: the start that took it up.
    taken_up: int = 0
    escalated: bool = False
    truth: bool | None = None
    since: int = 0
    #: When it was last known to be true, while it is not, and whether it was unknown since.
    left: Instant | None = None
    unseen: bool = False
    shelf: Overlay | None = None
    out: Overlay | None = None
    before: tuple[str, bool] | None = None
    awaits: set[object] = field(default_factory=set)
    #: Whether anything happened that must be recorded, and how often it was raised, escalated.
    news: bool = False
    raises: int = 0
    calls: int = 0

    @property
    def hidden(self) -> str:
        """What lies over it: only once kept, a shelf only once its end is known."""
        if self.out is not None and self.out.awaits is None:
            return "out-of-service"
        shelf = self.shelf
        acts = shelf is not None and shelf.awaits is None and shelf.due is not None
        return "shelved" if acts else ""

    @property
    def shown(self) -> tuple[str, bool]:
        """The state, and whether other segments carry it, as far as a lamp may show."""
        return self.before or (self.state, self.escalated)

    @property
    def symbol(self) -> str | None:
        """What tables see: "unknown while its machine is normal and its `when` unknown"."""
        state = self.hidden or self.shown[0]
        return None if state == "normal" and self.truth is None else state

    @property
    def motion(self) -> str:
        """ISA-18.1: flashing, then steady; ring-back flashes slowly after the return."""
        if self.hidden:
            return ""
        state = self.shown[0]
        if state in UNSEEN:
            return "normal"
        return "slow" if state == "latched" and self.alarm.sequence == "R" else ""

    @property
    def carried(self) -> bool:
        """Whether what it escalates to shows it."""
        return not self.hidden and self.shown[1] and self.shown[0] in UNSEEN

    # Time and truth

    def dues(self) -> Iterator[tuple[int, str]]:
        """What happens by itself, and when."""
        if self.truth is True and self.state in {"normal", "returned", "latched"}:
            yield self.since + self.alarm.on_ms, "raise"
        if self.truth is False and self.state in ACTIVE:
            yield self.since + self.alarm.off_ms, "return"
        waits = self.state in UNSEEN and not self.escalated and not self.hidden
        if self.alarm.escalates_ms and waits:
            raised = None if self.raised is None else self.raised.ms
            stands = self.taken_up if raised is None else raised
            yield stands + self.alarm.escalates_ms, "escalate"
        if self.shelf is not None and self.shelf.due is not None:
            yield self.shelf.due, "unshelve"

    def settle(self, now: Now) -> None:
        """All that is due."""
        while (first := min(self.dues(), default=None)) and first[0] <= now.ms:
            self.news = True
            match first[1]:
                case "raise":
                    self._raise(now)
                case "return":
                    self._return()
                case "escalate":
                    self.escalated = True
                    self.calls += 1
                case _:
                    self.shelf = None

    def judge(self, truth: bool | None, now: Now) -> None:
        """Take the truth. "Unknown freezes it: no raise, no return, delays restart when known"."""
        if truth is self.truth:
            return
        was, self.truth, self.since = self.truth, truth, now.ms
        if truth is not True:
            if was is True:
                self.left = Instant(*now)
            self.unseen = self.unseen or truth is None
            return
        # "An acknowledged one that was unknown for longer than its off-delay becomes a new
        # occurrence if it is then true."
        if self.state == "acknowledged" and self.unseen and self.left is not None:
            self.left.place(now)
            if self.left.ms is None or now.ms - self.left.ms > self.alarm.off_ms:
                self.news = True
                self._raise(now)
        self.left, self.unseen = None, False

    def _raise(self, now: Now) -> None:
        # "An occurrence ... lasts until acknowledged or closed (re-raising while unacknowledged
        # keeps it, re-raising after is new)."
        if self.state not in UNSEEN:
            self.occurrence, self.raised, self.escalated = "", Instant(*now), False
        self.state, self.before = "unacknowledged", None
        self.awaits.clear()
        self.raises += 1

    def _return(self) -> None:
        self._to("returned" if self.state == "unacknowledged" else self._end())

    def _end(self) -> str:
        return "normal" if self.alarm.sequence == "A" else "latched"

    def _to(self, state: str) -> None:
        self.state = state
        if state == "normal":
            self.occurrence, self.raised, self.escalated = None, None, False

    # Wishes: each says whether it is taken

    def acknowledge(self, wish: object, now: Now) -> bool:
        """Somebody has seen it."""
        if self.state not in UNSEEN:
            return False
        self._withhold(wish)
        self.acknowledged, self.escalated = self.occurrence, False
        self.left = None if self.left is None else Instant(*now)
        self._to("acknowledged" if self.state == "unacknowledged" else self._end())
        return True

    def reset(self, wish: object) -> bool:
        """Somebody ends what latched."""
        if self.state != "latched":
            return False
        self._withhold(wish)
        self._to("normal")
        return True

    def shelve(self, wish: object, for_ms: int, now: Now) -> bool:
        """Put aside; only the first has to wait until it is kept."""
        if now.wall is None:
            return False
        hides = self.shelf is not None and self.shelf.awaits is None
        self.shelf = Overlay(now.wall + for_ms, now.ms + for_ms, None if hides else wish)
        self.news = True
        return True

    def unshelve(self) -> bool:
        """Take it back."""
        was, self.shelf = self.shelf, None
        self.news = self.news or was is not None
        return was is not None

    def take_out(self, wish: object) -> bool:
        """Out of service."""
        if self.out is not None:
            return False
        self.out, self.news = Overlay(None, None, wish), True
        return True

    def put_back(self) -> bool:
        """In service again."""
        was, self.out = self.out, None
        self.news = self.news or was is not None
        return was is not None

    def _withhold(self, wish: object) -> None:
        if not self.awaits:
            self.before = self.shown
        self.awaits.add(wish)
        self.news = True

    def confirm(self, wish: object) -> None:
        """The wish is kept, or will not be: now it may show."""
        self.awaits.discard(wish)
        if not self.awaits:
            self.before = None
        for overlay in (self.shelf, self.out):
            if overlay is not None and overlay.awaits is wish:
                overlay.awaits = None

    # Clocks and starts

    def clock(self, now: Now) -> None:
        """The wall clock became known or was stepped."""
        for instant in (self.raised, self.left):
            if instant is not None:
                instant.place(now)
        if self.shelf is not None and self.shelf.until is not None and now.wall is not None:
            self.shelf.due = now.ms + self.shelf.until - now.wall

    @property
    def is_normal(self) -> bool:
        """Nothing that a restart would have to know."""
        return self.state == "normal" and self.shelf is None and self.out is None

    def keep(self, now: Now) -> Kept:
        """All that crosses a start."""
        shelf = None if self.shelf is None else self.shelf.until
        raised, left = kept(self.raised, now), kept(self.left, now)
        return Kept(
            self.state, self.occurrence, raised, left, now.wall, self.escalated,
            self.acknowledged, shelf, self.out is not None,
        )  # fmt: skip

    def restore(self, record: Kept, heard_until: int | None, now: Now) -> None:
        """As it was kept. "An unconfirmed raise is judged again from the facts"."""
        self.state, self.occurrence = record.state, record.occurrence
        self.escalated, self.acknowledged = record.escalated, record.acknowledged
        self.raised = None if record.raised is None else Instant(None, record.raised)
        self.left = Instant(None, record.left or heard_until or record.written)
        self.unseen, self.taken_up = True, now.ms
        self.shelf = None if record.shelf is None else Overlay(record.shelf, None, None)
        self.out = Overlay(None, None, None) if record.out else None
        self.clock(now)
