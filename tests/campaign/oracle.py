"""The judge of I1, I2, I3 and I5: it hears what the bridge hears and sees what comes of it.

Of I4 judges ``ledger``, which it asks for all that has a life of its own, of I7 ``neighbours`` and
``strangers``, of I6 ``glare`` and ``meter``.

It shares no code with the bridge. Quoted are the sentences of the design that a rule stands for.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from bridge.engine.actions import Request
from bridge.engine.events import (
    Answered,
    Clock,
    Event,
    Heard,
    NotRecorded,
    PollFailed,
    Recorded,
    SourceLost,
    SourceUp,
    Unanswered,
    Wished,
)
from tests.campaign.alarms import ACTIVE, Now
from tests.campaign.boards import Light
from tests.campaign.ears import FOREVER, Ear
from tests.campaign.eyes import Decided, comforts, decide, looks_like
from tests.campaign.glare import Glare
from tests.campaign.ledger import BrokenPromiseError, Ledger
from tests.campaign.meter import Meter
from tests.campaign.neighbours import Neighbours
from tests.campaign.sites import CABINET, PACES, SCENES, Strip, hangs
from tests.campaign.strangers import Strangers

#: "retried at the backoff cap"; the longest Retry-After of the simulated controllers is below it.
BACKOFF_CAP_MS: Final = 30_000
#: The longest time to a reply, ordinarily and while a controller is slow.
REPLY_MS: Final = 120
SLOW_REPLY_MS: Final = 1800
#: What is said of a controller that is not the one that the site names.
ANOTHER: Final = "what answers is not the controller that the site names"


class Wanted(NamedTuple):
    """What a segment should show; ``flash`` is its alarm's, ``new``: an unacknowledged one's."""

    scene: str
    share: float | None = None
    flash: str = ""
    new: bool = False


AT_REST: Final = Wanted("warm")


@dataclass
class Watch:
    """One segment: what it should show, what the bridge decided, and what it does show."""

    strip: Strip
    wanted: Wanted = AT_REST
    #: By printer: its row, whether the row's alarm is active, and since when it stands so.
    standings: dict[str, tuple[float, bool, int]] = field(default_factory=dict)
    #: Since when a comforting light would be a lie, and since when it wants this new alarm.
    unsure_since: int = FOREVER
    alarm_since: int = FOREVER
    decided: str = "warm"
    right: bool = False
    comfort: bool = False
    #: Nothing can be read back, and something happened that the bridge cannot know.
    blind: bool = False

    @property
    def is_suspect(self) -> bool:
        """Whether it is not as it must be, if that stays so."""
        lies = self.comfort and self.unsure_since < FOREVER
        return not self.blind and (lies or not self.right)


@dataclass
class Side:
    """One controller, as its sender and a bystander see it."""

    name: str
    watches: list[Watch]
    sent: deque[int] = field(default_factory=deque)
    in_flight: Request | None = None
    #: "Reachable = answered every request since the change and lost no write": since when, and
    #: when the last failure was, while nothing was sent after it.
    reachable_since: int = 0
    failed_at: int | None = None
    #: When the first request of a row without answers went, and whether that was reported.
    unanswered_at: int | None = None
    reported: bool = False
    changed: int = 0
    upsets: deque[int] = field(default_factory=lambda: deque((-FOREVER,), maxlen=3))
    slow_until: int = -FOREVER
    #: Since when another has its address, ``None`` where it has it itself.
    swapped_at: int | None = None

    def known_after(self, due: int) -> int:
        """When it can be told whether it was reachable until then.

        "Answered every request since the change": one that went in time and is still under way
        may turn out not to be answered at all.
        """
        if self.in_flight is None or self.sent[-1] > due:
            return due
        return max(due, self.sent[-1] + PACES[self.name].timeout_ms)


class Oracle:
    """Judges after every step; ``look`` gives the light of a segment."""

    def __init__(self, strips: tuple[Strip, ...], look: Callable[[Strip], Light]) -> None:
        self.now = self.checks = 0
        self._look = look
        self.ledger, self.neighbours = Ledger(strips), Neighbours(strips)
        self._strangers, self._glare, self.meter = (
            Strangers(),
            Glare(),
            Meter(is_there=hangs(strips)),
        )
        #: What the wall clock shows more than virtual time, ``None`` until the bridge knows it.
        self.wall_ahead: int | None = None
        self._decided: dict[tuple[str, str], Decided] = {}
        self._ears = {name: Ear(name) for name in ("kestrel", "plover", "heron")}
        self._watches = [Watch(strip) for strip in strips]
        self._sides = {
            name: Side(name, [w for w in self._watches if w.strip.controller == name])
            for name in {strip.controller: None for strip in strips}
        }
        self._feeds = CABINET.feeds if hangs(strips) else ()
        self._alive_since = self._next_expiry = FOREVER
        #: When the last poll went, and when it came back (``None``: it has not).
        self._polled_at: int | None = None
        self._poll_back_at: int | None = 0
        self._page = b""

    # What the bridge hears ---------------------------------------------------------------------

    @property
    def _clocks(self) -> Now:
        ahead = self.wall_ahead
        return Now(self.now, None if ahead is None else self.now + ahead)

    def began(self, life: int, heard_until: int | None, *, keeps: bool) -> None:
        """A new bridge knows nothing of what was said or sent before, but what was kept."""
        self._alive_since = self.now
        self.neighbours.began(life)
        self._strangers.began()
        self.meter.began()
        self.ledger.began(heard_until, self._clocks, keeps=keeps)
        self._polled_at, self._poll_back_at = None, self.now
        for ear in self._ears.values():
            ear.lost()
        for side in self._sides.values():
            side.in_flight, side.reachable_since, side.failed_at = None, self.now, None
            side.unanswered_at, side.reported = None, False
        for watch in self._watches:
            watch.blind, watch.decided = False, "warm"
            watch.standings.clear()
        self._decide()

    def ended(self) -> None:
        """Nothing is promised while no bridge runs."""
        self._alive_since = FOREVER

    def hears(self, event: Event) -> None:
        """The bridge is about to be handed this."""
        match event:
            case Heard("http", _, body):
                self._poll_back_at = self.now
                self._page = self._page if body is None else body
                # "an equal body or a 304 too": both say that it is the last one again.
                self._ears["plover"].hear("page", self._page, self.now, retained=False)
            case Heard(_, address, body) if body is not None:
                _, printer, matter = address.split("/", 2)
                self._ears[printer].hear(matter, body, self.now, retained=event.retained)
            case SourceUp():
                self._ears["kestrel"].hears = self._ears["heron"].hears = True
            case SourceLost():
                self._ears["kestrel"].lost()
                self._ears["heron"].lost()
            case PollFailed():
                self._poll_back_at = self.now
            case Answered() | Unanswered():
                self._answered(event)
                return
            case Wished():
                self.ledger.wished(event, self._clocks)
            case Recorded() | NotRecorded():
                self.ledger.journal(event)
            case Clock():
                self.ledger.clock(self._clocks)
            case _:
                return
        self._decide()

    def _decide(self) -> None:
        now, ledger = self._clocks, self.ledger
        ledger.settle(now)
        for name, ear in self._ears.items():
            ledger.minds[name].judge(ear.facts(self.now), now)
        self._decided.clear()
        for watch in self._watches:
            wanted, unsure = self._wanted(watch)
            if not unsure or SCENES[wanted.scene].comforts:
                watch.unsure_since = FOREVER
            elif watch.unsure_since == FOREVER:
                watch.unsure_since = self.now
            if wanted != watch.wanted:
                watch.wanted = wanted
                watch.alarm_since = self.now if wanted.new else FOREVER
                self._sides[watch.strip.controller].changed = self.now
                self._see(watch)
        dues = [doc.until + 1 for ear in self._ears.values() for doc in ear.docs.values()]
        dues += ledger.dues()
        self._next_expiry = min((at for at in dues if self.now < at < FOREVER), default=FOREVER)

    def _wanted(self, watch: Watch) -> tuple[Wanted, bool]:
        """What a segment should show, and whether comfort would be a lie.

        "Unacknowledged alarms, its own or carried > hold > table > resting scene."
        """
        strip, minds = watch.strip, self.ledger.minds
        if not strip.printers:
            lives = (life for mind in minds.values() for life in mind.lives.values())
            # What escalates shows on one of those without a printer.
            if strip.name == "lamp" and any(life.carried for life in lives):
                return Wanted("empty", None, "normal", new=True), False
            return Wanted(self.ledger.holds.scene(strip.name) or "warm"), False
        decided = {name: self._decided_of(strip.table, name) for name in strip.printers}
        name = self._worst(watch, decided)
        row, unsure = decided[name].row, any(each.unsure for each in decided.values())
        held = None if row.cuts_in else self.ledger.holds.scene(strip.name)
        if held is not None:
            return Wanted(held), unsure
        flash = minds[name].lives[row.alarm].motion if row.alarm else ""
        share = minds[name].facts["progress"] if row.scene == "filling" else None
        return Wanted(row.scene, share, flash, row.cuts_in), unsure

    def _decided_of(self, table: str, printer: str) -> Decided:
        """Each once."""
        key = table, printer
        if key not in self._decided:
            self._decided[key] = decide(table, self.ledger.minds[printer].facts)
        return self._decided[key]

    def _worst(self, watch: Watch, decided: dict[str, Decided]) -> str:
        """Of ``worst``: "within a row active before returned, then oldest, then name"."""
        for name, each in decided.items():
            alarm = each.row.alarm
            active = not alarm or self.ledger.minds[name].lives[alarm].state in ACTIVE
            if watch.standings.get(name, ())[:2] != (each.place, active):
                watch.standings[name] = (each.place, active, self.now)

        def precedence(name: str) -> tuple[float, bool, int, str]:
            place, active, since = watch.standings[name]
            return place, not active, since, name

        return min(decided, key=precedence)

    def _answered(self, event: Answered | Unanswered) -> None:
        for side in self._sides.values():
            request = side.in_flight
            if request is not None and request.number == event.request:
                side.in_flight = None
                if isinstance(event, Answered):
                    side.unanswered_at = None
                    self.neighbours.answered(request, event)
                    if self._strangers.answered(request, event):
                        self.neighbours.stranger(side.name)
                else:
                    self._strangers.unanswered(request)
                    if side.unanswered_at is None:
                        side.unanswered_at = side.sent[-1]
                if isinstance(event, Unanswered) or event.status != 200 or b"fal" in event.body:
                    side.reachable_since, side.failed_at = FOREVER, self.now
                    for watch in side.watches:
                        watch.blind = False  # whoever fails may have lost its power: it is known
                    return
                side.reachable_since = min(side.reachable_since, self.now)
                for watch in side.watches:
                    watch.blind = watch.blind and not watch.right

    # What the bridge does ----------------------------------------------------------------------

    def polled(self) -> None:
        """Beside the promises: "gentle intervals ..., never under 1 s", one at a time."""
        too_soon = self._polled_at is not None and self.now - self._polled_at < 1000
        if too_soon or self._poll_back_at is None:
            raise BrokenPromiseError("I5", f"polled at {self._polled_at} and at {self.now}")
        self._polled_at, self._poll_back_at = self.now, None

    def sent(self, request: Request) -> None:
        """A request goes."""
        # I5: "No address sees more than its dialect's limits, counted at the sender, across
        # restarts"; "n/s means at most n in any second"; "one in flight".
        side, most = self._sides[request.controller], PACES[request.controller].requests
        while side.sent and side.sent[0] < self.now - 1000:
            side.sent.popleft()
        side.sent.append(self.now)
        if len(side.sent) > most:
            raise BrokenPromiseError("I5", f"{side.name} is sent {most + 1} within a second")
        if side.in_flight is not None:
            raise BrokenPromiseError("I5", f"{side.name} has two requests in flight")
        side.in_flight, side.failed_at = request, None
        self.neighbours.sent(request)
        self._strangers.sent(request)

    def said_of_supply(self, *, too_much: bool) -> None:
        """The bridge says that it is asked for more than it bears, or no longer is."""
        self.meter.said(too_much=too_much, now=self.now)

    def reported(self, controller: str, what: str) -> None:
        """The bridge says how a controller does."""
        if what == ANOTHER:
            self._strangers.noted(controller)
        else:
            self._sides[controller].reported = what == "controller does not answer"

    def decided(self, segment: str, scene: str) -> None:
        """The bridge says what it decided."""
        next(watch for watch in self._watches if watch.strip.name == segment).decided = scene

    def handled(self, deadline: int | None) -> None:
        """The bridge is done with what it was handed."""
        # "facts, alarms and decisions never depend on how late a timer fired": what it decided is
        # right now, and it wants to be woken before that may end.
        self.ledger.handled(self._clocks)
        self._strangers.handled()
        for watch in self._watches:
            wanted = watch.wanted
            if watch.decided != wanted.scene:
                promise = "I1" if SCENES[watch.decided].comforts else "I2"
                how = f"{watch.strip.name} was decided {watch.decided}, not {wanted.scene}"
                raise BrokenPromiseError("I3" if wanted.new else promise, how)
        if self._next_expiry < FOREVER and (deadline is None or deadline > self._next_expiry):
            docs = (doc.until + 1 for ear in self._ears.values() for doc in ear.docs.values())
            how = f"wakes at {deadline}, but something is due at {self._next_expiry}"
            raise BrokenPromiseError("I1" if self._next_expiry in docs else "I3", how)

    # What there is to see ----------------------------------------------------------------------

    def touched(self, controller: str, *, upset: bool, slow_until: int = 0) -> None:
        """A controller's light may be another; ``upset``: not by the bridge that lives."""
        side = self._sides[controller]
        side.slow_until = max(side.slow_until, slow_until)
        if upset:
            side.upsets.append(self.now)
        for watch in side.watches:
            watch.blind = watch.blind or (upset and not PACES[controller].read_every_ms)
            self._see(watch)

    def unlike(self, controller: str) -> None:
        """What a controller shows may not be what the bridge that lives told it last."""
        for watch in self._sides[controller].watches:
            self.meter.unlike(watch.strip)
            self._glare.anew(watch.strip)

    def taken(self, controller: str, segments: tuple[str, ...]) -> None:
        """A controller does what the bridge that lives told it of these."""
        for watch in self._sides[controller].watches:
            if watch.strip.name in segments:
                self.meter.told(watch.strip)

    def moved(self, names: tuple[str, str], *, swapped: bool) -> None:
        """Two have each other's address, or their own again.

        Meanwhile none of them can be reached; "retried at the backoff cap", it is right again.
        """
        for name in names:
            side = self._sides[name]
            side.swapped_at = self.now if swapped else None
            side.upsets.append(self.now + (0 if swapped else BACKOFF_CAP_MS))
            self.neighbours.moved(name, self.now)
            self.unlike(name)

    def _see(self, watch: Watch) -> None:
        light = self._look(watch.strip)
        self._glare.shows(watch.strip, light, self.now)
        self.meter.shows(watch.strip, light)
        wanted = watch.wanted
        watch.right = looks_like(watch.strip, wanted.scene, wanted.share, light, wanted.flash)
        watch.comfort = bool(watch.strip.table) and comforts(watch.strip, light)

    # What must be ------------------------------------------------------------------------------

    def advance(self, now: int) -> None:
        """Time goes on: what stops being known on the way, and what is overdue by then.

        Nothing else changed since the last step, so what is wrong at its end was wrong all along.
        """
        while self._next_expiry <= now:
            self._judge(self._next_expiry - 1)
            self.now = self._next_expiry
            self._decide()
        self._judge(now)
        self.now = now
        self.meter.judge(now, lambda: sum(self._budget(self._sides[n], now) for n in self._feeds))

    def _judge(self, now: int) -> None:
        self.checks += 1
        if self._alive_since < FOREVER:
            if self._poll_back_at is not None and now > self._poll_back_at + BACKOFF_CAP_MS + 1000:
                raise BrokenPromiseError("I2", f"not polled again since {self._poll_back_at}")
            for side in self._sides.values():
                if side.failed_at is not None and now > side.failed_at + BACKOFF_CAP_MS + 2000:
                    raise BrokenPromiseError(
                        "I2", f"{side.name} is not tried again after {side.failed_at}"
                    )
                # I3: "an unreachable controller is reported within three time-outs of the first
                # unanswered request".
                first_ms, bound_ms = side.unanswered_at, 3 * PACES[side.name].timeout_ms
                if first_ms is not None and not side.reported and now > first_ms + bound_ms:
                    how = f"{side.name} has not answered since {first_ms}, and that is not reported"
                    raise BrokenPromiseError("I3", how)
                self._judge_side(side, now)

    @staticmethod
    def _budget(side: Side, now: int) -> int:
        """Of one controller.

        "Budget = 1 s + (segments of that controller to change) x max(limiter slot, reply) +
        time-out."
        """
        pace = PACES[side.name]
        reply = SLOW_REPLY_MS if side.slow_until > now - 60_000 else REPLY_MS
        each = max(1000 // pace.requests + 1, reply)
        return 1000 + len(side.watches) * each + pace.timeout_ms

    def _judge_side(self, side: Side, now: int) -> None:
        suspects = [watch for watch in side.watches if watch.is_suspect]
        if not suspects and side.swapped_at is None:
            return
        pace, budget = PACES[side.name], self._budget(side, now)
        if side.name in self._feeds:
            # "Lowering is answered before anything is raised", on the others of its supply too.
            others = (name for name in self._feeds if name != side.name)
            budget += sum(self._budget(self._sides[name], now) for name in others)
        read_ms = pace.read_every_ms + pace.settles_in_ms if pace.read_every_ms else 0
        since = max(self._alive_since, side.reachable_since)
        upset = max(side.upsets)
        if len(side.upsets) == 3 and side.upsets[0] > now - 120_000:
            upset += BACKOFF_CAP_MS  # "except what is ... disagreeing until its next retry"
        # I2: "When nothing changes, each reachable controller holds what the table decides within
        # a read interval + `settles_in` + budget".
        i2_due = max(since, side.changed, upset) + read_ms + budget
        if side.swapped_at is not None:
            # "A restart is a boot mark that changed ...; then identity": by the next read-back.
            asked_due = side.known_after(max(since, upset) + read_ms + budget)
            if now > asked_due and not self._strangers.at[side.name].stranger:
                how = f"{side.name} is another since {side.swapped_at}, and was not asked by {now}"
                raise BrokenPromiseError("I2", how)
            return
        for watch in suspects:
            # I3: "A fault known true without a break past its on-delay, from normal, returned or
            # latched, is sent within the budget unless a graver one shows".
            i3_due = max(since, watch.alarm_since, upset + read_ms) + budget
            if now > side.known_after(i3_due) and not watch.right:
                how = f"{watch.strip.name} does not show {watch.wanted} since {i3_due} at {now}"
                raise BrokenPromiseError("I3", how)
            if now > side.known_after(i2_due) and not watch.right:
                how = f"{watch.strip.name} does not show {watch.wanted} since {i2_due} at {now}"
                raise BrokenPromiseError("I2", how)
            # I1: "No `well` or `resting` row stays shown on a reachable controller longer than the
            # budget after a fact that it, or a row above it, reads became unknown".
            i1_due = max(since, watch.unsure_since, upset + read_ms) + budget
            if now > side.known_after(i1_due) and watch.comfort:
                raise BrokenPromiseError("I1", f"{watch.strip.name} comforts at {now}, not knowing")
