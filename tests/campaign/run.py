"""One seed: a workroom, a bridge that lives and dies in it, and the oracle beside them."""

from __future__ import annotations

from collections import Counter, deque
from dataclasses import dataclass
from hashlib import blake2b
from random import Random
from typing import Final

from bridge.engine.actions import Action, Note, Poll, Request
from bridge.engine.core import Core
from bridge.engine.events import Clock, Due, Event, Settings, Started
from bridge.facts.moment import Moment
from tests.campaign.controllers import Controller
from tests.campaign.oracle import BrokenPromiseError, Oracle
from tests.campaign.sites import PACES, deal, site_of
from tests.campaign.world import World

MINUTES: Final = 30
#: How much goes wrong, times the ordinary: some seeds are quiet, some are bad days.
HEATS: Final = (0.0, 0.3, 1.0, 1.0, 3.0)
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
    """One start of the bridge, remembered so that it can be lived again."""

    def __init__(self) -> None:
        self.core = Core()
        self._events: list[tuple[Event, Moment, str]] = []

    def handle(self, event: Event, now: Moment) -> list[Action]:
        """Hand over, and write down what was done."""
        actions = self.core.handle(event, now)
        self._events.append((event, now, repr((actions, self.core.deadline()))))
        return actions

    @property
    def trace(self) -> str:
        """What the last event led to."""
        return self._events[-1][2]

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
    """One seed, step by step."""

    def __init__(self, seed: int) -> None:
        chance = self._chance = Random(seed)
        strips = deal(chance)
        self._seed, self._site = seed, site_of(strips)
        self._story: deque[str] = deque(maxlen=40)
        self._events, self._digest = 0, blake2b(digest_size=12)
        self._lives = 0
        self._life: Life | None = None
        self._wall_known = chance.random() < 0.7
        world = self._world = World(chance, chance.choice(HEATS), self._tell)
        self._controllers: dict[str, Controller] = {}
        self._oracle = Oracle(
            strips, lambda strip: self._controllers[strip.controller].light(strip)
        )
        for name in PACES:
            mine = tuple(strip for strip in strips if strip.controller == name)
            self._controllers[name] = Controller(name, world, mine, self._oracle.touched)
        world.troubles += [controller.fail for controller in self._controllers.values()] * 2
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
        """A bridge begins, knowing nothing; the world goes on as it was."""
        world, chance = self._world, self._chance
        self._lives += 1
        world.life, self._life = self._lives, Life()
        self._oracle.began()
        self._tell(Started(f"{self._seed}/{self._lives}"))
        self._tell(Settings(self._site, "as written"))
        world.while_alive(world.broker.connect, chance.randint(5, 900))
        if world.heat:
            world.after(int(chance.expovariate(world.heat / 600_000)) + 1, self._restart)
        if not self._wall_known:
            self._wall_known = True
            world.to_bridge(Clock(), chance.randint(1, 60_000))

    def _restart(self) -> None:
        """The bridge dies between two events, with whatever was under way, and comes back."""
        world = self._world
        world.faults["bridge restarted"] += 1
        self._end()
        self._story.append(f"{world.now}: the bridge dies")
        world.after(self._chance.choice((1, 300, 20_000)), self._start)

    def _end(self) -> None:
        life, self._life, self._world.life = self._life, None, 0
        self._world.broker.close()
        self._oracle.ended()
        if life is not None:
            life.live_again()

    def _tell(self, event: Event) -> None:
        life, world = self._life, self._world
        if life is None:
            return
        now = Moment(world.now, WALL_MS + world.now if self._wall_known else None)
        self._events += 1
        self._oracle.hears(event)
        if not isinstance(event, Due | Settings):
            self._story.append(f"{world.now}: {event}")
        if self._chance.random() < 0.01:
            life.core.view()  # it changes nothing: the second life never looks
        try:
            actions = life.handle(event, now)
        except Exception as error:  # whatever it is, it is told with its story
            raise BrokenPromiseError("I9", f"{error!r} in the core") from error
        for action in actions:
            self._perform(action)
        self._digest.update(f"{now} {life.trace}\n".encode())
        if not isinstance(event, Started):
            self._oracle.handled(life.core.deadline())

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
            case Note("info", "decided", fields):
                self._oracle.decided(str(fields["segment"]), str(fields["scene"]))
                story = f"{fields['segment']} shows {fields['scene']}: {fields['because']}"
            case Note():
                story = f"{action.event} {dict(action.fields)}"
            case _:  # a printer is asked to speak
                world.while_alive(lambda: world.printers.heron.speak(whole=True), 40)
        if story:
            self._story.append(f"{world.now}: {story}")


def run_seed(seed: int, minutes: int = MINUTES) -> Outcome:
    """The whole of one seed."""
    return Campaign(seed).run(minutes)
