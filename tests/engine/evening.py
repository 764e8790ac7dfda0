"""A workroom with alarms, prompts, shared segments, and a disk that keeps, fails or is silent."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias
from zoneinfo import ZoneInfo

from bridge.engine.actions import Action, Publish, Record, Request, Tell
from bridge.engine.events import (
    Answered,
    Clock,
    Event,
    Heard,
    NotRecorded,
    Recorded,
    Restored,
    Settings,
    SourceLost,
    SourceUp,
    Started,
    Wished,
)
from bridge.engine.records import Happening, StateRecord, key_of
from bridge.engine.site import Broker, Controller, Printer, Segment, Site
from bridge.engine.view import AlarmView, PromptView, SegmentView
from bridge.engine.wishes import Wish
from bridge.facts.memory import OWN_REASONS, REASONS
from bridge.facts.places import compile_place
from bridge.facts.reader import Alternative, FactRule, Input, Interval, Message, Reader
from bridge.facts.vocabulary import BRIDGE_PREFIX
from bridge.lights.dialect.grammar import NativeEffect
from bridge.lights.place import Place
from bridge.rules.alarm import Alarm, Escalation, Prompt
from bridge.rules.conditions import (
    Condition,
    Keyword,
    NumberIn,
    ReasonsHave,
    SymbolIs,
    TimeOfDay,
    TruthIs,
)
from bridge.rules.table import (
    Row,
    Source,
    Table,
    alarm_stands,
    lasting_for,
    prompt_stands,
)
from bridge.scenes.scene import Scene
from tests.engine.workroom import World
from tests.lights.board import MUTE_PEGS

SHED, LOFT = "shed", "loft"
FRESH_MS = 60_000
ON_MS, OFF_MS = 5_000, 10_000
ESCALATES_MS = 30_000
HOUR_MS = 3_600_000
#: 2025-01-06 18:00:00 UTC, a Monday, which is also what a clock in the workroom shows.
SIX_PM = 1_736_186_400_000
ZONE = ZoneInfo("Europe/London")
LENGTH = 12
HERE = Source("rules.yaml", 1, 1)

MESSAGE = Message("page", "json", FRESH_MS, required=True)
STOPPED = SymbolIs("state", frozenset({"stopped"}))
WORKING = SymbolIs("state", frozenset({"processing"}))
IDLE = SymbolIs("state", frozenset({"idle"}))
DONE = SymbolIs("last-job", frozenset({"completed"}))
COOL = NumberIn("platform-temperature", Interval(most=40.0, most_included=False), "below 40 °C")


#: Neither read nor asked; it flashes at both rates.
PEGS = replace(
    MUTE_PEGS,
    name="pegs",
    effects={
        **MUTE_PEGS.effects,
        "flash": (NativeEffect("hop", period_ms=600), NativeEffect("lull", period_ms=1250)),
    },
)


def has(*keywords: str) -> ReasonsHave:
    """Any of these reasons holds, of the printer's or of the bridge's own."""
    own = all(keyword.startswith(BRIDGE_PREFIX) for keyword in keywords)
    fact = OWN_REASONS if own else REASONS
    return ReasonsHave("any", tuple(map(Keyword, keywords)), fact)


def reader() -> Reader:
    """One page says it all."""
    at = compile_place

    def only(place: str, **rest: object) -> tuple[Alternative, ...]:
        return (replace(Alternative("page", at(place)), **rest),)  # type: ignore[arg-type]

    states = {"at it": "processing", "aside": "idle", "stuck": "stopped"}
    outcomes = {"under way": "processing", "whole": "completed", "binned": "canceled"}
    snags = {"spool": ("material-empty",), "door": ("door-open",), "": ()}
    rules = (
        FactRule("state", only("/doing", values=states)),
        FactRule("progress", only("/share")),
        FactRule("job", only("/outcome", values=outcomes)),
        FactRule("job-name", only("/title")),
        FactRule("platform-temperature", only("/plate")),
        FactRule("reasons", only("/snag", values=snags), union=True, absent_none=True),
    )
    facts = {rule.fact: rule for rule in rules}
    return Reader("pages", {"page": MESSAGE}, facts, (), frozenset(facts))


def row(name: str, show: str, *when: Condition, lasting_ms: int | None = None) -> Row:
    """A rule of the table ``wall``."""
    lasting = None
    if lasting_ms is not None:
        lasting = lasting_for("wall", name, lasting_ms, f"{lasting_ms} ms")
    return Row(name, when, show, SCENES[show].says, HERE, lasting)


def alarm(name: str, *when: Condition, **rest: object) -> Alarm:
    """An alarm without delays, of sequence A."""
    bare = Alarm(name, when, 0, 0, "A", "high", f"{name}, so it seems", "look", None, HERE)
    return replace(bare, **rest)  # type: ignore[arg-type]


SCENES = {
    scene.name: scene
    for scene in (
        Scene("see-me", "trouble", "steady", (255, 0, 0)),
        Scene("feed-me", "act", "steady", (0, 0, 255)),
        Scene("fetch-me", "notice", "steady", (0, 0, 200), 0.5),
        Scene("not-known", "unknown", "steady", (200, 200, 200), 0.2, pattern="every-third"),
        Scene("filling", "well", "gauge", (0, 176, 96), background=(0, 9, 0)),
        Scene("ready", "well", "steady", (0, 176, 96), 0.1),
        Scene("dim", "resting", "steady", (255, 150, 60), 0.05),
        Scene("warm", "resting", "steady", (255, 150, 60), 0.3),
    )
}
ALARMS = {
    each.name: each
    for each in (
        alarm(
            "material-out",
            has("material-empty"),
            on_delay_ms=ON_MS,
            off_delay_ms=OFF_MS,
            sequence="R",
        ),
        alarm(
            "halted",
            STOPPED,
            show="see-me",
            escalate=Escalation(ESCALATES_MS, ("s3",), "alder/escalated", LOFT),
        ),
        alarm("vanished", has("bridge-job-vanished"), sequence="M"),
    )
}
PROMPTS = {"collect": Prompt("collect", (DONE,), (COOL,), "take the part out", HERE)}
ROWS = (
    row("halted", "see-me", alarm_stands("halted")),
    row("vanished", "see-me", alarm_stands("vanished")),
    row("out of material", "feed-me", alarm_stands("material-out")),
    row("silent", "not-known", TruthIs("stale", wanted=True)),
    row("working", "filling", WORKING),
    row("part to collect", "fetch-me", prompt_stands("collect")),
    row("idle", "ready", IDLE),
)
OTHERWISE = Row("otherwise", (), "not-known", "unknown", HERE)


def site(*rows: Row, zone: ZoneInfo = ZONE) -> Site:
    """Two printers and a segment for each, ``s3`` without, ``s4`` and ``s5`` for both."""
    both = ("kestrel", "plover")
    speaks = {"s1": both[:1], "s2": both[1:], "s3": (), "s4": both, "s5": ()}
    places = [Place(f"s{n}", n, LENGTH * (n - 1), LENGTH) for n in range(1, 6)]
    return Site(
        zone=zone,
        brokers={name: Broker(name, f"{name}.club.example", 1883) for name in (SHED, LOFT)},
        endpoints={},
        printers={
            name: Printer(name, reader(), (Input("page", SHED, topic(name)),)) for name in both
        },
        controllers={"rail": Controller("rail", "http://rail.club.example", "pegs", 5 * LENGTH)},
        dialects={"pegs": PEGS},
        segments={
            place.segment: Segment(
                place.segment,
                "rail",
                place,
                "warm",
                speaks[place.segment],
                "wall" if speaks[place.segment] else None,
            )
            for place in places
        },
        tables={"wall": Table("wall", rows or ROWS, OTHERWISE)},
        scenes=SCENES,
        off_watch="not-known",
        alarms=ALARMS,
        prompts=PROMPTS,
        sets={"shelf": ("s3", "s5")},
        texts={"site.yaml": "zone: Europe/London\n"},
    )


def sharing(share: Literal["worst", "split", "rotate"], *rows: Row) -> Site:
    """The same, with ``s4`` shared so."""
    there = site(*rows)
    s4 = replace(there.segments["s4"], share=share)
    return replace(there, segments={**there.segments, "s4": s4})


def carrying(*names: str, of: str = "halted") -> Site:
    """The same, with segments or sets that carry an alarm."""
    there = site()
    return replace(there, alarms=ALARMS | {of: replace(ALARMS[of], segments=names, show="see-me")})


def night(begin_h: float, before_h: float) -> TimeOfDay:
    """A span of the day, in hours."""
    return TimeOfDay(begin_h * 3600, before_h * 3600, f"from {begin_h} h before {before_h} h")


def topic(printer: str) -> str:
    """Where a printer speaks."""
    return f"alder/{printer}/page"


#: ``off``: nothing is kept, and nothing was restored.
Disk: TypeAlias = Literal["keeps", "silent", "refuses", "off"]


@dataclass
class Evening(World):
    """A core and its disk. ``kept`` is what the disk holds for sure, as after a power cut."""

    site: Site = field(default_factory=site)
    wall_ms: int | None = SIX_PM
    disk: Disk = "keeps"
    seed: str = "evening"
    kept: dict[tuple[str, str, str], StateRecord] = field(default_factory=dict)
    _written: dict[int, tuple[StateRecord, ...]] = field(default_factory=dict)
    _owed: dict[tuple[str, str, str], StateRecord] = field(default_factory=dict)
    _tokens: int = 0

    def begin(
        self,
        *,
        up: bool = True,
        restored: Iterable[StateRecord] = (),
        heard_until_wall_ms: int | None = None,
    ) -> Evening:
        """Started, what an earlier start left where there is a disk, settings, and the broker."""
        self.feed(Started(self.seed))
        if self.disk != "off":
            records = tuple(restored)
            self.kept = {key_of(record): record for record in records}
            self.feed(Restored(records, heard_until_wall_ms))
        self.feed(Settings(self.site, "digest"))
        if up:
            self.feed(SourceUp(SHED))
        return self

    def again(self, *, after_ms: int = 0, is_clock_known: bool = True) -> Evening:
        """The next start, as if the power had been cut now and come back after a while."""
        wall_ms = None if self.wall_ms is None else self.wall_ms + self.now_ms
        back_ms = None if wall_ms is None else wall_ms + after_ms
        later = Evening(site=self.site, wall_ms=back_ms if is_clock_known else None)
        later.seed = f"{self.seed}, again"
        return later.begin(restored=self.kept.values(), heard_until_wall_ms=wall_ms)

    def feed(self, event: Event) -> list[Action]:
        """As the world does; what is recorded is kept from now on."""
        if isinstance(event, Recorded):
            for number in [each for each in self._written if each <= event.number]:
                self.kept.update((key_of(each), each) for each in self._written.pop(number))
        return super().feed(event)

    def _perform(self, action: Action) -> None:
        match action:
            case Request(number=number):
                self._later(Answered(number, 200, b'{"ok":true}'))
            case Record(number, what) if not isinstance(what, Happening):
                self._write(number, what)
            case _:
                pass

    def _write(self, number: int, what: StateRecord) -> None:
        # As the journal: what could not be written is, by its key, with the next that can.
        self._owed[key_of(what)] = what
        if self.disk == "keeps":
            self._written[number] = tuple(self._owed.values())
            self._owed.clear()
            self._later(Recorded(number))
        elif self.disk == "refuses":
            self._later(NotRecorded(number, "no space left"))

    # What the test does

    def say(self, printer: str = "kestrel", doing: str = "aside", **facts: object) -> Evening:
        """A printer speaks."""
        body = json.dumps({"doing": doing, **facts}).encode()
        self.feed(Heard(SHED, topic(printer), body))
        return self

    def keep_saying(self, for_ms: int, printer: str = "kestrel", **facts: object) -> Evening:
        """It says the same every half minute, and once more at the end."""
        end_ms = self.now_ms + for_ms
        while self.now_ms < end_ms:
            self.say(printer, **facts)  # type: ignore[arg-type]
            self.run_until(min(end_ms, self.now_ms + FRESH_MS // 2))
        return self.say(printer, **facts)  # type: ignore[arg-type]

    def lose(self) -> Evening:
        """The broker is gone: nothing is known of any printer."""
        self.feed(SourceLost(SHED, "connection closed"))
        return self

    def wish(self, wish: Wish, who: str = "ann") -> str:
        """Somebody wishes something; returns the token."""
        self._tokens += 1
        token = f"wish-{self._tokens}"
        self.feed(Wished(token, who, wish))
        return token

    def set_clock(self, wall_ms: int | None) -> Evening:
        """The wall clock now says this, or is not known."""
        self.wall_ms = None if wall_ms is None else wall_ms - self.now_ms
        self.feed(Clock())
        return self

    # What the test sees

    def segment(self, name: str = "s1") -> SegmentView:
        """A segment as the picture has it."""
        return self.core.view().segments[name]

    def alarm(self, name: str = "halted", printer: str = "kestrel") -> AlarmView:
        """An alarm as the picture has it."""
        alarms = self.core.view().alarms
        return next(each for each in alarms if (each.alarm, each.printer) == (name, printer))

    def prompt(self, name: str = "collect", printer: str = "kestrel") -> PromptView:
        """A prompt as the picture has it."""
        prompts = self.core.view().prompts
        return next(each for each in prompts if (each.prompt, each.printer) == (name, printer))

    def occurrence(self, name: str = "halted", printer: str = "kestrel") -> str:
        """The occurrence that stands."""
        occurrence = self.alarm(name, printer).occurrence
        assert occurrence is not None
        return occurrence

    def effect(self, name: str = "s1") -> str:
        """Of the look that a segment should have: an effect, or the look's kind."""
        look = self.segment(name).look
        return str(getattr(look, "effect", type(look).__name__))

    def answer(self, token: str) -> Tell | None:
        """What the wisher was told, if that was already."""
        told = [a for _, a in self.actions if isinstance(a, Tell) and a.token == token]
        assert len(told) <= 1
        return told[0] if told else None

    def history(self, subject: str, **fields: object) -> list[Happening]:
        """The lines of history of a subject, in order."""
        lines = [a.what for _, a in self.actions if isinstance(a, Record)]
        return [
            line
            for line in lines
            if isinstance(line, Happening)
            and line.subject == subject
            and all(getattr(line, name) == value for name, value in fields.items())
        ]

    def scenes(self, segment: str) -> list[str]:
        """The scenes that history says a segment showed, in order."""
        return [line.what for line in self.history("segment", segment=segment)]

    def records(self, kind: str) -> list[StateRecord]:
        """What was to be kept of that kind, in order."""
        lines = [a.what for _, a in self.actions if isinstance(a, Record)]
        return [
            line for line in lines if not isinstance(line, Happening) and key_of(line)[0] == kind
        ]

    def published(self) -> list[tuple[int, Publish]]:
        """What was published, and when."""
        return [(at, action) for at, action in self.actions if isinstance(action, Publish)]
