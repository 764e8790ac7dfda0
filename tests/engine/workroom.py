"""A small site, and a world that performs what the core wants done, in virtual time only."""

from __future__ import annotations

import heapq
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from zoneinfo import ZoneInfo

from bridge.engine.actions import Action, Ask, Note, Poll, Request
from bridge.engine.core import Core
from bridge.engine.events import (
    HTTP_SOURCE,
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
from bridge.engine.site import Asking, Broker, Controller, Endpoint, Printer, Segment, Site
from bridge.facts.moment import Moment
from bridge.facts.places import compile_place
from bridge.facts.reader import Alternative, FactRule, Input, Message, Reader, Scalar
from bridge.lights.dialect.dialect import Prepared
from bridge.rules.conditions import Keyword, ReasonsHave, SymbolIs, TruthIs
from bridge.rules.table import Row, Source, Table
from bridge.scenes.scene import Scene
from tests.lights.board import PEGS, PLACES, Board

FRESH_MS = 10_000
REPLY_MS = 20
WALL_MS = 1_700_000_000_000
SHED = "shed"
TOPIC, PAGE = "alder/kestrel/page", "plover page"
SNAGS = "alder/kestrel/snag/+"

_STATES: dict[Scalar, str | tuple[str, ...]] = {
    "at it": "processing",
    "aside": "idle",
    "stuck": "stopped",
}
_HERE = Source("rules.yaml", 1, 1)


def _reader(name: str, message: Message) -> Reader:
    at = compile_place
    rules = (
        FactRule("state", (Alternative(message.name, at("/doing"), values=_STATES),)),
        FactRule("progress", (Alternative(message.name, at("/share")),)),
        FactRule(
            "reasons",
            (
                Alternative(
                    message.name, at("/snag"), values={"spool": ("material-empty",), "": ()}
                ),
            ),
            union=True,
            absent_none=True,
        ),
    )
    messages = {message.name: message}
    if name == "pieces":
        # One topic a part, beside the page.
        snag = Message("snag", "text", FRESH_MS)
        messages["snag"] = snag
    return Reader(
        name, messages, {rule.fact: rule for rule in rules}, (), frozenset(r.fact for r in rules)
    )


def _table() -> Table:
    state = {word: SymbolIs("state", frozenset({word})) for word in ("processing", "idle")}
    empty = ReasonsHave("any", (Keyword("material-empty"),))
    return Table(
        "wall",
        (
            Row("out of material", (empty,), "feed-me", "act", _HERE),
            Row("silent", (TruthIs("stale", wanted=True),), "not-known", "unknown", _HERE),
            Row("working", (state["processing"],), "filling", "well", _HERE),
            Row("idle", (state["idle"],), "ready", "well", _HERE),
        ),
        Row("otherwise", (), "not-known", "unknown", _HERE),
    )


SCENES = {
    scene.name: scene
    for scene in (
        Scene("feed-me", "act", "flash", (0, 0, 255)),
        Scene("not-known", "unknown", "steady", (200, 200, 200), 0.2, pattern="every-third"),
        Scene("filling", "well", "gauge", (0, 176, 96), background=(0, 9, 0)),
        Scene("ready", "well", "steady", (0, 176, 96), 0.1),
        Scene("warm", "resting", "steady", (255, 150, 60), 0.3),
    )
}


def workroom() -> Site:
    """Two printers, one told of and one asked, three segments on one controller."""
    page = Message("page", "json", FRESH_MS, required=True)
    polled = Message("page", "json", 45_000, required=True)
    kestrel = Printer(
        "kestrel",
        _reader("pieces", page),
        (Input("page", SHED, TOPIC), Input("snag", SHED, SNAGS)),
        (Asking("all", SHED, "alder/kestrel/tell", b"all", every_ms=30_000),),
    )
    plover = Printer("plover", _reader("ledger", polled), (Input("page", HTTP_SOURCE, PAGE),))
    drives = {"s1": "kestrel", "s2": "plover"}
    return Site(
        zone=ZoneInfo("UTC"),
        brokers={SHED: Broker(SHED, "broker.club.example", 1883)},
        endpoints={PAGE: Endpoint(PAGE, "http://plover.club.example/ledger")},
        printers={"kestrel": kestrel, "plover": plover},
        controllers={"rail": Controller("rail", "http://rail.club.example", "pegs", 12)},
        dialects={"pegs": PEGS},
        segments={
            place.segment: Segment(
                place.segment,
                "rail",
                place,
                "warm",
                (drives[place.segment],) if place.segment in drives else (),
                "wall" if place.segment in drives else None,
            )
            for place in PLACES
        },
        tables={"wall": _table()},
        scenes=SCENES,
        off_watch="not-known",
        texts={"site.yaml": "zone: UTC\n"},
    )


def scattered() -> Site:
    """The same printers and segments, each segment on a controller of its own."""
    site = workroom()
    rail = site.controllers["rail"]
    names = {"s1": "rail", "s2": "post", "s3": "arch"}
    return replace(
        site,
        controllers={name: replace(rail, name=name) for name in names.values()},
        segments={
            name: replace(segment, controller=names[name])
            for name, segment in site.segments.items()
        },
    )


def said(**facts: object) -> bytes:
    """A page that a printer sends."""
    return json.dumps({"doing": "at it", **facts}).encode()


def heard(body: bytes | None, *, retained: bool = False, topic: str = TOPIC) -> Heard:
    """Kestrel says something."""
    return Heard(SHED, topic, body, retained)


def moment(ms: int) -> Moment:
    """An instant on both clocks."""
    return Moment(ms, WALL_MS + ms)


@dataclass
class World:
    """A core, its printers and its board. Events are delivered in order of time."""

    core: Core = field(default_factory=Core)
    site: Site = field(default_factory=workroom)
    board: Board = field(default_factory=Board)
    now_ms: int = 0
    #: What the wall clock says at 0 ms; ``None``: it is not known.
    wall_ms: int | None = WALL_MS
    #: What plover answers when it is polled; ``None``: it does not.
    page: bytes | None = None
    #: A controller that does not answer, and how long those take that are slow.
    silent: str = ""
    replies_ms: dict[str, int] = field(default_factory=dict)
    #: Every event with its instant, and every action with its own.
    events: list[tuple[int, Event]] = field(default_factory=list)
    actions: list[tuple[int, Action]] = field(default_factory=list)
    _coming: list[tuple[int, int, Event]] = field(default_factory=list)
    _sent: int = 0

    def begin(self, *, up: bool = True) -> World:
        """Started, settings, and the broker subscribed."""
        self.feed(Started("seed"))
        self.feed(Settings(self.site, "digest"))
        if up:
            self.feed(SourceUp(SHED))
        return self

    def feed(self, event: Event) -> list[Action]:
        """One event now; the actions that came of it, performed."""
        self.events.append((self.now_ms, event))
        wall_ms = None if self.wall_ms is None else self.wall_ms + self.now_ms
        actions = self.core.handle(event, Moment(self.now_ms, wall_ms))
        for action in actions:
            self.actions.append((self.now_ms, action))
            self._perform(action)
        return actions

    def _perform(self, action: Action) -> None:
        if isinstance(action, Request) and action.controller == self.silent:
            self._later(Unanswered(action.number, Fate.NEVER_LEFT, "gone"))
        elif isinstance(action, Request):
            prepared = Prepared(action.method, action.target, action.headers, action.body)
            status, body = self.board.perform(prepared, self.now_ms)
            after_ms = self.replies_ms.get(action.controller, REPLY_MS)
            self._later(Answered(action.number, status, body), after_ms)
        elif isinstance(action, Poll) and self.page is not None:
            self._later(Heard(HTTP_SOURCE, action.address, self.page))

    def _later(self, event: Event, after_ms: int = REPLY_MS) -> None:
        self._sent += 1
        heapq.heappush(self._coming, (self.now_ms + after_ms, self._sent, event))

    def run_until(self, end_ms: int) -> None:
        """Deliver what is coming, and wake the core at each of its deadlines."""
        while True:
            deadline = self.core.deadline()
            coming = self._coming[0][0] if self._coming else None
            following = min((at for at in (deadline, coming) if at is not None), default=None)
            if following is None or following > end_ms:
                break
            self.now_ms = max(self.now_ms, following)
            self.feed(heapq.heappop(self._coming)[2] if coming == following else Due())
        self.now_ms = end_ms

    def run_for(self, milliseconds: int) -> None:
        """As ``run_until``, from now."""
        self.run_until(self.now_ms + milliseconds)

    def notes(self, event: str = "") -> list[Mapping[str, object]]:
        """The fields of the notes of that event, or of all."""
        return [
            note.fields
            for _, note in self.actions
            if isinstance(note, Note) and event in ("", note.event)
        ]

    def instants(self, kind: type[Action]) -> list[int]:
        """When actions of this kind were given."""
        return [at for at, action in self.actions if isinstance(action, kind)]

    def rule(self, segment: str = "s1") -> str:
        """What decides for a segment."""
        return self.core.view().segments[segment].rule

    def all_shown(self) -> bool:
        """Whether every peg shows what its segment should."""
        segments = self.core.view().segments
        return all(
            look is not None and self.board.shows(place, look)
            for place in PLACES
            for look in [segments[place.segment].look]
        )


def kinds(actions: Iterable[Action]) -> list[str]:
    """The actions' kinds, notes by their event."""
    return [
        action.event if isinstance(action, Note) else type(action).__name__ for action in actions
    ]


__all__ = [
    "FRESH_MS",
    "PAGE",
    "REPLY_MS",
    "SHED",
    "SNAGS",
    "TOPIC",
    "WALL_MS",
    "Ask",
    "World",
    "heard",
    "kinds",
    "moment",
    "said",
    "workroom",
]
