"""Group ``controllers``: a storm of changes, growth with segments, the rate of painted frames.

The storm and the frames run in virtual time, so that their figures are the same on every machine.
"""

from __future__ import annotations

import heapq
import statistics
import time
from dataclasses import dataclass, field, replace
from itertools import count

from bridge.engine.actions import Action, Poll, Request
from bridge.engine.core import Core
from bridge.engine.events import (
    Answered,
    Due,
    Event,
    Fate,
    Heard,
    Settings,
    SourceUp,
    Started,
    Unanswered,
)
from bridge.engine.site import Segment, Site
from bridge.facts.moment import Moment
from bridge.facts.reader import Input
from bridge.lights.desired import Desired
from bridge.lights.dialect.dialect import Dialect, Prepared
from bridge.lights.look import Moving
from bridge.lights.place import Place
from bridge.lights.reconcile import Reconciler
from tests.benchmarks import stopping
from tests.benchmarks.result import Result
from tests.engine.workroom import SHED, said, workroom
from tests.lights.board import BOARD, MUTE_PEGS, PEGS, PLACES, Board

CONTROLLERS, DEAD, SLOW = 50, 5, 5
STORM_MS, EACH_MS = 10_000, 100
REPLY_MS, SLOW_REPLY_MS = 20, 900


def measure(quick: bool) -> list[Result]:
    """All figures of the group."""
    well, sick = Storm(sick=False), Storm(sick=True)
    calm_ms, storm_ms = well.settle(), sick.settle()
    return [
        Result(
            "storm-healthy-settle", storm_ms, "ms", "none sick", storm_ms / calm_ms,
            (storm_ms / calm_ms, storm_ms / calm_ms), 1.2,
        ),
        sick.requests(),
        sick.limits(),
        _growth(200 if quick else 1000),
        _paint_rate(),
        *stopping.measure(wall(10, 1, 10, mute=False), quick=quick),
    ]  # fmt: skip


def wall(controllers: int, each: int, printers: int, *, mute: bool) -> Site:
    """So many controllers with so many segments; each segment tells of one of the printers."""
    site = workroom()
    kestrel, rail = site.printers["kestrel"], site.controllers["rail"]
    names = [f"p{number}" for number in range(printers)]
    grammar = replace(MUTE_PEGS, limits=replace(MUTE_PEGS.limits, requests=None)) if mute else PEGS
    segments = {}
    number = count()
    for controller in range(controllers):
        for index in range(each):
            name = f"c{controller}s{index + 1}"
            place = Place(name, index + 1, 4 * index, 4)
            printer = names[next(number) % printers]
            segments[name] = Segment(name, f"c{controller}", place, "warm", (printer,), "wall")
    return replace(
        site,
        printers={
            name: replace(
                kestrel, name=name, inputs=(Input("page", SHED, f"wall/{name}"),), asks=()
            )
            for name in names
        },
        controllers={
            f"c{n}": replace(rail, name=f"c{n}", pixels=4 * each) for n in range(controllers)
        },
        dialects={"pegs": grammar},
        segments=segments,
    )


@dataclass
class Storm:
    """Every printer changes ten times a second; some controllers are dead or slow, or none."""

    sick: bool
    core: Core = field(default_factory=Core)
    now_ms: int = 0
    boards: dict[str, Board] = field(default_factory=dict)
    #: When each controller received a request, and what it was told of each segment.
    received: dict[str, list[int]] = field(default_factory=dict)
    shows: int = 0
    useless: int = 0
    _told: dict[tuple[str, str], bytes | None] = field(default_factory=dict)
    _coming: list[tuple[int, int, Event]] = field(default_factory=list)
    _number: count[int] = field(default_factory=count)

    def __post_init__(self) -> None:
        self.site = wall(CONTROLLERS, len(PLACES), CONTROLLERS, mute=False)
        self.boards = {name: Board() for name in self.site.controllers}
        self.received = {name: [] for name in self.boards}
        names = list(self.boards)
        self.dead = set(names[:DEAD]) if self.sick else set()
        self.slow = set(names[DEAD : DEAD + SLOW]) if self.sick else set()

    def settle(self) -> int:
        """From the last change until every healthy controller shows what it should, in ms."""
        for event in (Started("seed"), Settings(self.site, "digest"), SourceUp(SHED)):
            self._feed(event)
        last_ms = 0
        for at in range(5000, 5000 + STORM_MS, EACH_MS):
            for index, printer in enumerate(self.site.printers):
                snag = "spool" if (at // EACH_MS + index) % 2 else ""
                body = said(doing="aside", snag=snag)
                self._later(at + index, Heard(SHED, f"wall/{printer}", body))
                last_ms = at + index
        while self.now_ms < last_ms or not self._all_right():
            self._step()
        return self.now_ms - last_ms

    def _all_right(self) -> bool:
        view = self.core.view()
        healthy = self.boards.keys() - self.dead - self.slow
        return all(
            look is not None and self.boards[segment.controller].shows(place, look)
            for name in healthy
            for segment in (view.segments[f"{name}s{p.number}"] for p in PLACES)
            for place, look in [(replace(PLACES[0], number=int(segment.name[-1])), segment.look)]
        )

    def _step(self) -> None:
        deadline = self.core.deadline()
        coming = self._coming[0][0] if self._coming else None
        if coming is None or (deadline is not None and deadline < coming):
            if deadline is None:
                raise RuntimeError("nothing happens any more")
            self.now_ms = max(self.now_ms, deadline)
            self._feed(Due())
        else:
            self.now_ms, _, event = heapq.heappop(self._coming)
            self._feed(event)

    def _later(self, at_ms: int, event: Event) -> None:
        heapq.heappush(self._coming, (at_ms, next(self._number), event))

    def _feed(self, event: Event) -> None:
        for action in self.core.handle(event, Moment(self.now_ms)):
            self._perform(action)

    def _perform(self, action: Action) -> None:
        if isinstance(action, Poll) or not isinstance(action, Request):
            return
        name = action.controller
        self.received[name].append(self.now_ms)
        if name in self.dead:
            gone = Unanswered(action.number, Fate.MAYBE_APPLIED, "no answer")
            self._later(self.now_ms + action.timeout_ms, gone)
            return
        if action.purpose == "show" and name not in self.slow:
            self.shows += 1
            key = (name, action.target)
            self.useless += self._told.get(key, b"") == action.body
            self._told[key] = action.body
        elif action.purpose == "paint":
            self._told.clear()
        prepared = Prepared(action.method, action.target, action.headers, action.body)
        status, body = self.boards[name].perform(prepared, self.now_ms)
        took = SLOW_REPLY_MS if name in self.slow else REPLY_MS
        self._later(self.now_ms + took, Answered(action.number, status, body))

    def requests(self) -> Result:
        """Shows over those that told a segment something else than it was told last."""
        ratio = self.shows / (self.shows - self.useless)
        against = "shows that changed something"
        return Result("storm-requests", self.shows, "requests", against, ratio, (ratio, ratio), 1.1)

    def limits(self) -> Result:
        """The most requests in any closed second as the sender spaces them, over those allowed."""
        most = max(
            sum(at <= other <= at + 1000 for other in instants)
            for instants in self.received.values()
            for at in instants
        )
        allowed = PEGS.limits.requests or 1
        ratio = most / allowed
        return Result("storm-limit", most, "1/s", "allowed", ratio, (ratio, ratio), 1.0)


def _growth(events: int) -> Result:
    """CPU for a change, its request and its answer: 10,000 segments over ten."""
    small, large = _busy(wall(1, 10, 1, mute=True)), _busy(wall(1000, 10, 1000, mute=True))
    pairs = []
    for _ in range(5):
        ours, theirs = _cost(*large, events), _cost(*small, events)
        pairs.append(ours / theirs)
    ratio = statistics.median(pairs)
    spread = (min(pairs), max(pairs))
    return Result("reconcile-growth", ratio, "", "10 segments", ratio, spread, 1.5)


def _busy(site: Site) -> tuple[Core, count[int]]:
    """A core whose segments were all told, and its clock."""
    core, clock = Core(), count(1, 1000)
    waiting: list[Request] = []
    for event in (Started("seed"), Settings(site, "digest"), SourceUp(SHED)):
        waiting += _requests(core, event, next(clock))
    while waiting:
        request = waiting.pop()
        waiting += _requests(core, Answered(request.number, 200, b"{}"), next(clock))
    return core, clock


def _requests(core: Core, event: Event, now_ms: int) -> list[Request]:
    return [each for each in core.handle(event, Moment(now_ms)) if isinstance(each, Request)]


def _cost(core: Core, clock: count[int], events: int) -> float:
    """Seconds of CPU for each change."""
    spent = 0.0
    for number in range(events):
        heard = Heard(SHED, "wall/p0", said(doing="aside", snag="spool" if number % 2 else ""))
        now_ms = next(clock)
        began = time.process_time()
        waiting = _requests(core, heard, now_ms)
        while waiting:
            waiting += _requests(core, Answered(waiting.pop().number, 200, b"{}"), now_ms + 300)
        spent += time.process_time() - began
    return spent / events


def _paint_rate() -> Result:
    """Changes of a painted slow flash in a minute, over those that it should have."""
    look = Moving((bytes((255, 0, 0)) * 4, bytes((60, 0, 0)) * 4), (1250,))
    limits = replace(BOARD.limits, requests=8)
    reconciler = Reconciler("rail", Dialect(replace(BOARD, limits=limits)), PLACES, None, 12)
    reconciler.start("seed", 0)
    reconciler.desire("s1", Desired(look), 0)
    board, now_ms, changes = Board(), 0, 0
    while now_ms < 60_000:
        ready_ms = reconciler.ready_ms(now_ms)
        now_ms = now_ms + 1 if ready_ms is None else ready_ms
        planned = reconciler.choose(now_ms)
        if planned is not None:
            changes += planned.purpose == "paint"
            status, body = board.perform(planned.prepared, now_ms)
            now_ms += REPLY_MS
            reconciler.answered(status, body, None, now_ms)
    ratio = changes / (60_000 / 625)
    return Result(
        "paint-rate", changes, "1/min", "wished", ratio, (ratio, ratio), 0.95, goal_is_least=True
    )
