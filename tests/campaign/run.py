"""One seed: a workroom, a bridge that lives and dies in it, and the oracle beside them."""

from __future__ import annotations

import json
from collections import Counter, deque
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import blake2b
from random import Random
from typing import Final

from bridge.engine.actions import Action, Note, Poll, Publish, Record, Request, Scalar, Tell
from bridge.engine.core import Core
from bridge.engine.events import (
    Clock,
    Due,
    Event,
    NotRecorded,
    Recorded,
    Restored,
    Settings,
    Started,
    Wished,
)
from bridge.engine.records import Happening, key_of
from bridge.facts.moment import Moment
from tests.campaign.boards import BOARDS, Board, Tiles
from tests.campaign.controllers import Controller, Exchange
from tests.campaign.journal import Journal
from tests.campaign.ledger import BrokenPromiseError
from tests.campaign.oracle import ANOTHER, Oracle
from tests.campaign.people import Neighbour, People
from tests.campaign.sites import deal, site_of
from tests.campaign.world import World

MINUTES: Final = 30
#: How much goes wrong, times the ordinary: some seeds are quiet, some are bad days.
HEATS: Final = (0.0, 0.3, 1.0, 1.0, 3.0)
#: What is said of a controller as a whole.
CONTACTS: Final = frozenset({"controller does not answer", "controller answers again", ANOTHER})
OVERDRAWN: Final = "a supply is asked for more than it bears"
WALL_MS: Final = 1_800_000_000_000


@dataclass(frozen=True)
class Outcome:
    """What came of a seed; ``broken`` is ``None`` where every promise was kept."""

    digest: str
    events: int
    checks: int
    faults: Counter[str]
    broken: BrokenPromiseError | None
    story: list[str]


class Life:
    """One start of the bridge, remembered so that it can be lived ``again``."""

    def __init__(self, *, again: bool) -> None:
        self.core = Core()
        self._again = again
        #: What the last event led to.
        self.trace = ""
        self._events: list[tuple[Event, Moment, str]] = []

    def handle(self, event: Event, now: Moment) -> list[Action]:
        """Hand over, and write down what was done."""
        actions = self.core.handle(event, now)
        self.trace = repr((actions, self.core.deadline()))
        if self._again:
            self._events.append((event, now, self.trace))
        return actions

    def live_again(self) -> None:
        """Hand the same to another core, and compare."""
        # I10: "Same events and times in, `Due` with its real time included, same actions out,
        # byte for byte".
        core = Core()
        for event, now, before in self._events:
            after = repr((core.handle(event, now), core.deadline()))
            if after != before:
                raise BrokenPromiseError("I10", f"at {now.ms} {before:.150} became {after:.150}")


class Campaign:
    """One seed, step by step; every life of the bridge is lived ``again`` at its end, for I10."""

    def __init__(self, seed: int, *, again: bool = True) -> None:
        chance = self._chance = Random(seed)
        strips = deal(chance)
        self._seed, self._site, self._again = seed, site_of(strips), again
        self._story: deque[str] = deque(maxlen=40)
        self._events, self._digest = 0, blake2b(digest_size=12)
        self._lives, self._doomed = 0, False
        self._life: Life | None = None
        #: How far the wall clock is ahead of virtual time, and whether the bridge knows it.
        self._ahead_ms, self._wall_known = WALL_MS, chance.random() < 0.7
        world = self._world = World(chance, chance.choice(HEATS), self._tell)
        self._boards: dict[str, Board] = {}
        self._controllers: dict[str, Controller] = {}
        self._oracle = Oracle(strips, lambda strip: self._boards[strip.controller].light(strip))
        for name, kind in BOARDS.items():
            mine = tuple(strip for strip in strips if strip.controller == name)
            if not mine:
                continue
            board = self._boards[name] = kind(name, mine, world.now)
            self._controllers[name] = Controller(board, world, self._oracle)
        self._journal = Journal(world)
        self._keeps = chance.random() < 0.9
        self._people = People(world, strips)
        for board in self._boards.values():
            if isinstance(board, Tiles):
                Neighbour(world, board, self._oracle.neighbours.changed)
        world.troubles += [controller.fail for controller in self._controllers.values()] * 2
        if "beam" in self._controllers:
            pair = self._controllers["beam"], self._controllers["rail"]
            world.troubles += [Exchange(world, pair, self._oracle).fail] * 2
        world.troubles += [self._journal.fail] * 2 + [self._step_clock]
        world.befall()

    def run(self, minutes: int) -> Outcome:
        """All of it, or as far as the promises hold."""
        broken = None
        try:
            self._start()
            self._run(minutes * 60_000)
            self._end()
        except BrokenPromiseError as error:
            broken = error
        digest, faults = self._digest.hexdigest(), self._world.faults
        return Outcome(digest, self._events, self._oracle.checks, faults, broken, list(self._story))

    def _run(self, end_ms: int) -> None:
        world, oracle = self._world, self._oracle
        late_ms = self._chance.choice((0, 0, 3, 40))  # a timer may fire late, never early
        while world.now < end_ms:
            due = self._life.core.deadline() if self._life else None
            if due is not None:
                due = max(due, world.now) + self._chance.randint(0, late_ms)
            if due is not None and due < world.next_ms():
                oracle.advance(due)
                world.now = due
                self._tell(Due())
            else:
                oracle.advance(world.next_ms())
                world.step()

    def _start(self) -> None:
        """A bridge begins, knowing nothing but what was kept; the world goes on as it was."""
        world, chance = self._world, self._chance
        self._lives += 1
        world.life, self._life = self._lives, Life(again=self._again)
        self._wall_known = self._wall_known and chance.random() < 0.5
        restored = self._journal.restored() if self._keeps else None
        self._read_clock()
        heard_until = restored.heard_until_wall_ms if restored is not None else None
        self._oracle.began(self._lives, heard_until, keeps=self._keeps)
        self._tell(Started(f"{self._seed}/{self._lives}"))
        if restored is not None:
            self._tell(restored)
        self._tell(Settings(self._site, "as written"))
        world.while_alive(world.broker.connect, chance.randint(5, 900))
        if world.heat:
            world.while_alive(self._doom, int(chance.expovariate(world.heat / 600_000)) + 1)
        if not self._wall_known:
            world.while_alive(self._clock_known, chance.randint(1, 60_000))

    def _clock_known(self) -> None:
        self._settle_first()
        self._wall_known = True
        self._tell(Clock())

    def _step_clock(self, seconds: int) -> str:
        """Somebody sets the wall clock; nothing is timed by it but what crossed a start."""
        self._settle_first()
        self._ahead_ms += self._chance.choice((-1, 1, 1, 60)) * seconds * 1000
        if self._wall_known:
            self._tell(Clock())
        return "clock stepped"

    def _read_clock(self) -> None:
        self._oracle.wall_ahead = self._ahead_ms if self._wall_known else None

    def _doom(self) -> None:
        """The bridge dies now, or as soon as it has something under way."""
        self._doomed = True
        if self._chance.random() < 0.3:
            self._restart()

    def _restart(self) -> None:
        """It dies between two events, with whatever was under way, and comes back."""
        world, self._doomed = self._world, False
        world.faults["bridge restarted"] += 1
        self._end()
        self._story.append(f"{world.now}: the bridge dies")
        world.after(self._chance.choice((1, 300, 20_000)), self._start)

    def _end(self) -> None:
        life, self._life, self._world.life = self._life, None, 0
        self._world.broker.close()
        self._oracle.ended()
        there = self._journal.crash()
        self._oracle.ledger.ended(there.__contains__)
        if life is not None:
            life.live_again()

    def _settle_first(self) -> None:
        """A timer that is late, and whatever comes next: which came first is told apart."""
        due = self._life.core.deadline() if self._life else None
        if due is not None and due <= self._world.now:
            self._tell(Due())

    def _tell(self, event: Event) -> None:
        life, world = self._life, self._world
        if life is None:
            return
        if isinstance(event, Wished | Recorded | NotRecorded):
            self._settle_first()
        self._read_clock()
        now = Moment(world.now, world.now + self._ahead_ms if self._wall_known else None)
        self._events += 1
        self._oracle.hears(event)
        if not isinstance(event, Due | Settings | Restored):
            self._story.append(f"{world.now}: {event}")
        try:
            actions = life.handle(event, now)
        except Exception as error:  # whatever it is, it is told with its story
            raise BrokenPromiseError("I9", f"{error!r} in the core") from error
        for action in actions:
            self._perform(action)
        if self._doomed and any(isinstance(each, Request | Record) for each in actions):
            self._doomed = False
            world.while_alive(self._restart, self._chance.choice((0, 1, 20, 400)))
        self._digest.update(f"{now} {life.trace}\n".encode())
        deadline = life.core.deadline()
        if isinstance(event, Due) and deadline is not None and deadline <= now.ms and not actions:
            # "I9 … never a trace, leak or stop": a daemon would do nothing else any more.
            raise BrokenPromiseError("I9", f"called at {now.ms} it does nothing and asks for more")
        if not isinstance(event, Started | Restored):
            self._oracle.handled(deadline)
            if self._chance.random() < 0.01 or isinstance(event, Settings):
                # It changes nothing: the second life never looks.
                self._oracle.ledger.viewed(life.core.view())

    def _perform(self, action: Action) -> None:
        world, story = self._world, ""
        match action:
            case Request():
                self._oracle.sent(action)
                self._controllers[action.controller].receive(action)
                body = (action.body or b"").decode()
                story = f"-> {action.controller} #{action.number} {action.method}"
                story += f" {action.target} {body}"
            case Poll(address, whole):
                self._oracle.polled()
                world.poll(address, whole=whole)
            case Record(number, what):
                if not isinstance(what, Happening):
                    self._oracle.ledger.recorded(key_of(what), number)
                    self._journal.write(
                        action, self._world.now + self._ahead_ms if self._wall_known else None
                    )
            case Tell(token, taken, kept, why):
                self._oracle.ledger.told(token, taken=taken, kept=kept)
                story = f"answers {token}: taken {taken}, kept {kept}, {why}"
            case Publish(_, _, payload):
                self._oracle.ledger.called(json.loads(payload)["printer"])
                story = f"publishes {payload.decode()}"
            case Note():
                story = self._note(action)
            case _:  # a printer is asked to speak
                world.while_alive(lambda: world.printers.heron.speak(whole=True), 40)
        if story:
            self._story.append(f"{world.now}: {story}")

    def _note(self, note: Note) -> str:
        event, fields = note.event, note.fields
        if event in {"alarm raised", "prompt raised"}:
            self._raised(event.split()[0], fields)
        elif event == "decided":
            self._oracle.decided(str(fields["segment"]), str(fields["scene"]))
            return f"{fields['segment']} shows {fields['scene']}: {fields['because']}"
        elif event in CONTACTS:
            self._oracle.reported(str(fields["controller"]), event)
        elif "supply" in fields:
            self._oracle.said_of_supply(too_much=event == OVERDRAWN)
        return f"{event} {dict(fields)}"

    def _raised(self, subject: str, fields: Mapping[str, Scalar]) -> None:
        occurrence = str(fields["occurrence"])
        self._people.read(subject, occurrence)
        key = (subject, str(fields[subject]), str(fields["printer"]))
        self._oracle.ledger.raised(key, occurrence)


def run_seed(seed: int, minutes: int = MINUTES, *, again: bool = True) -> Outcome:
    """The whole of one seed; without ``again`` it is not judged by I10, and faster."""
    return Campaign(seed, again=again).run(minutes)
