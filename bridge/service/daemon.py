"""The one asynchronous place that performs what the core decides."""

from __future__ import annotations

import asyncio
import os
import random
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from bridge.access.credentials import Credentials
from bridge.controllers.http import ControllerClient
from bridge.engine.actions import Action, Ask, Note, Poll, Publish, Record, Request, Scalar, Tell
from bridge.engine.core import Core
from bridge.engine.events import HTTP_SOURCE, Answered, Due, Event, Settings, Started, Stopping
from bridge.engine.events import Clock as ClockChanged
from bridge.engine.leaving import ready_requests
from bridge.engine.site import Controller, Site
from bridge.engine.view import View
from bridge.facts.moment import Moment
from bridge.lights.dialect.codecs import Json
from bridge.lights.dialect.grammar import Limits
from bridge.service.clock import Clock
from bridge.service.journal import Journal
from bridge.service.local_socket import CannotListenError, LocalSocket
from bridge.service.pending_wishes import PendingWishes
from bridge.service.ready_requests import SentInstants, ready_path, sent_path, write_ready
from bridge.service.socket_path import NotPrivateError, make_private, private_folder
from bridge.service.word_lines import words_plain
from bridge.sources.http import HttpSource
from bridge.sources.mqtt import MqttSource

_WRITE_AFTER_S: Final = 0.005
#: How long a stop waits for the last looks; a unit's stop step goes on from there.
LEAVES_WITHIN_S: Final = 3.0
#: How far the two clocks must have come apart for the board to have slept in between.
_SLEPT_MS: Final = 100


@dataclass(frozen=True, slots=True)
class Manner:
    """How a site is run.

    ``sends``: requests go to controllers; a dry run sends none. ``polls``: printers are polled and
    asked. ``client_id_suffix`` keeps a dry run from taking over the daemon's place at the broker.
    ``record`` is told of every event and what came of it. ``journal`` is where states and history
    are kept, ``socket`` where commands reach it; a dry run has neither.
    """

    sends: bool = True
    polls: bool = True
    client_id_suffix: str = ""
    record: Callable[[Event, Moment, list[Action]], None] | None = None
    journal: Path | None = None
    socket: Path | None = None


class Daemon:
    """A running site: feeds the core with what is heard, performs its actions, keeps its time."""

    def __init__(
        self,
        site: Site,
        digest: str,
        *,
        note: Callable[[Note], None],
        credentials: Credentials,
        manner: Manner = Manner(),
        changed: Callable[[], None] | None = None,
    ) -> None:
        self._site, self._digest = site, digest
        self._note, self._manner, self._changed = note, manner, changed
        self._credentials = credentials
        self._clock = Clock()
        self._core = Core()
        self._unwritten: list[Note | Record] = []
        self._timer: asyncio.TimerHandle | None = None
        self._timer_ms: int | None = None
        self._ahead_ms = 0.0
        self._brokers: dict[str, MqttSource] = {}
        self._polls: HttpSource | None = None
        self._controllers: ControllerClient | None = None
        self._journal: Journal | None = None
        self._ready: Path | None = None
        self._sent: SentInstants | None = None
        #: Whether a controller has to be sent what is not ours, and what that was when last ready.
        self._echoes = any(
            grammar.show is not None and grammar.show.sends == "all"
            for grammar in site.dialects.values()
        )
        self._foreign: dict[str, tuple[Json, ...]] = {}
        self._moved = asyncio.Event()
        self._ended = False
        self._pending = PendingWishes(lambda wished: self.feed(wished, self._clock.now()))

    def view(self) -> View:
        """A picture of what is known and shown."""
        return self._core.view()

    def counts(self) -> Counter[str]:
        """How often what happened, without the rest of the view."""
        return self._core.counts()

    def now(self) -> Moment:
        """The service's clocks."""
        return self._clock.now()

    async def run(self, stop: asyncio.Event) -> None:
        """Run the site until ``stop`` is set."""
        controllers = self._site.controllers.values()
        shells = (self.feed, self._clock.now, self._credentials, self._note)
        self._polls = HttpSource(self._site.endpoints, *shells)
        self._controllers = ControllerClient(
            self._site.controllers,
            *shells,
            connections={each.name: self._limits(each).in_flight for each in controllers},
        )
        self._brokers = {name: self._mqtt(name) for name in self._site.brokers}
        self._get_ready()
        await self._begin()
        local_socket = await self._listen()
        try:
            async with asyncio.TaskGroup() as tasks:
                running = [
                    tasks.create_task(source.run(), name=f"broker {name}")
                    for name, source in self._brokers.items()
                ]
                if self._journal is not None:
                    running.append(tasks.create_task(self._journal.run(), name="journal"))
                await stop.wait()
                self.feed(Stopping(), self._clock.now())
                for source in running[: len(self._brokers)]:
                    source.cancel()
                await self._leave()
                for task in running:
                    task.cancel()
        finally:
            self._ended = True
            if self._timer is not None:
                self._timer.cancel()
            self._pending.close()
            if local_socket is not None:
                await local_socket.close()
            self._write()
            if self._journal is not None:
                await self._journal.close()
            await self._polls.close()
            await self._controllers.close()
            if self._sent is not None:
                self._sent.close()
            self._write()

    async def _leave(self) -> None:
        """Let the last looks go out; what cannot be reached is left to the stop step."""
        if not self._manner.sends:
            return
        with suppress(TimeoutError):
            async with asyncio.timeout(LEAVES_WITHIN_S):
                while self._core.is_leaving():
                    self._moved.clear()
                    await self._moved.wait()
        if not_left := self._core.not_left():
            fields: dict[str, Scalar] = {"controllers": ", ".join(not_left)}
            self._note(Note("warning", "lights are not off watch", fields))
        elif self._ready is not None:
            self._ready.unlink(missing_ok=True)
            self._ready = None

    def _get_ready(self) -> None:
        """What the stop step needs, should this process end some other way."""
        if self._manner.socket is None or not self._manner.sends:
            return
        ready = ready_requests(self._site)
        path = ready_path(self._manner.socket)
        try:
            if path.parent == private_folder():
                make_private(path.parent)
            self._sent = SentInstants(sent_path(self._manner.socket), ready, self._clock.now().ms)
            write_ready(path, ready)
        except (OSError, NotPrivateError) as error:
            why = {"why": str(error)}
            self._note(Note("warning", "the stop step will find nothing ready", why))
            return
        self._ready = path

    def _keep_ready(self) -> None:
        """What has to be sent back with ours may have become another."""
        foreign = self._core.foreign()
        if self._ready is None or foreign == self._foreign:
            return
        self._foreign = foreign
        try:
            write_ready(self._ready, ready_requests(self._site, foreign))
        except OSError as error:
            why = {"why": str(error)}
            self._note(Note("warning", "the stop step will find what was ready before", why))

    def _limits(self, controller: Controller) -> Limits:
        return self._site.dialects[controller.dialect].limits

    async def _begin(self) -> None:
        restored = None
        if self._manner.journal is not None:
            self._journal = Journal(
                self._manner.journal, note=self._note, feed=self.feed, now=self._clock.now
            )
            restored = await self._journal.open()
        now = self._clock.now()
        self._clock.stepped(now)
        self._handle(Started(seed=os.urandom(8).hex()), now)
        if restored is not None:
            self._handle(restored, now)
        self.feed(Settings(self._site, self._digest), now)

    async def _listen(self) -> LocalSocket | None:
        """Let commands reach it; lights do not hang on whether they can."""
        if self._manner.socket is None:
            return None
        local_socket = LocalSocket(
            self._manner.socket,
            self._pending.wish,
            self._view_now,
            {"words": lambda: words_plain(self._view_now())},
        )
        try:
            await local_socket.start()
        except (CannotListenError, NotPrivateError) as error:
            self._note(Note("warning", "commands cannot reach it", {"why": str(error)}))
            return None
        return local_socket

    def _view_now(self) -> View:
        """The picture of this very instant."""
        return replace(self._core.view(), now_ms=self._clock.now().ms)

    def _mqtt(self, name: str) -> MqttSource:
        broker = self._site.brokers[name]
        return MqttSource(
            broker,
            _filters(self._site, name),
            self.feed,
            self._clock.now,
            self._credentials,
            self._note,
            random.Random(),  # noqa: S311 - the jitter of reconnecting, no secret
            broker.client_id + self._manner.client_id_suffix,
        )

    def feed(self, event: Event, now: Moment) -> None:
        """Hand an event to the core and do what it wants."""
        if self._clock.stepped(now):
            self._handle(ClockChanged(), now)
        self._handle(event, now)
        self._arm(now.ms)
        self._moved.set()
        if self._changed is not None:
            self._changed()

    def _handle(self, event: Event, now: Moment) -> None:
        actions = self._core.handle(event, now)
        if self._manner.record is not None:
            self._manner.record(event, now, actions)
        self._perform(actions)
        if self._echoes and isinstance(event, Answered):
            self._keep_ready()

    def _perform(self, actions: list[Action]) -> None:
        for action in actions:
            match action:
                case Request():
                    self._request(action)
                case Poll():
                    if self._manner.polls and self._polls is not None:
                        self._poll(self._polls, action)
                case Ask():
                    if self._manner.polls:
                        self._ask(action)
                case Publish(source, topic, payload):
                    if self._manner.sends:
                        self._brokers[source].publish(topic, payload)
                case Record() | Tell():
                    self._keep_or_tell(action)
                case Note():
                    self._write_soon(action)

    def _request(self, action: Request) -> None:
        # Answers still come while connections are closed; nobody waits for what follows from them.
        if not self._manner.sends or self._controllers is None or self._ended:
            return
        if self._sent is not None:
            self._sent.sent(action.controller, self._clock.now().ms)
        self._controllers.send(action)

    def _keep_or_tell(self, action: Record | Tell) -> None:
        if isinstance(action, Tell):
            self._pending.tell(action)
        else:
            self._write_soon(action)

    def _write_soon(self, action: Note | Record) -> None:
        """Neither log nor journal may hold up the light: requests have several turns of the loop.

        The thread of the journal, once woken, competes with them.
        """
        if not self._unwritten:
            asyncio.get_running_loop().call_later(_WRITE_AFTER_S, self._write)
        self._unwritten.append(action)

    def _write(self) -> None:
        unwritten, self._unwritten = self._unwritten, []
        for action in unwritten:
            if isinstance(action, Note):
                self._note(action)
            elif self._journal is not None:
                self._journal.write(action)

    def _poll(self, polls: HttpSource, action: Poll) -> None:
        if action.whole:
            polls.forget(action.address)
        polls.poll(action.address)

    def _ask(self, action: Ask) -> None:
        if action.source != HTTP_SOURCE:
            self._brokers[action.source].publish(action.address, action.payload)
        elif self._polls is not None:
            asking = next(
                each
                for each in self._site.printers[action.printer].asks
                if each.name == action.name
            )
            self._polls.post(action.address, action.payload, asking.access)

    def _arm(self, now_ms: int) -> None:
        """See to it that the core is called at its deadline.

        The core's time goes on while the board sleeps and the loop's does not, so that a timer of
        before is late by as long as it slept. What happens first after a sleep puts that right:
        the core settles all that was due meanwhile, each at its own time, and a new timer is set.
        Until then at most the rest of the old timer passes, which a poll or a read-back keeps
        short. To wake an idle board every so often only to look would cost more, and ``timerfd``,
        which knows the core's clock, is in the standard library from Python 3.13 on.
        """
        if self._ended:
            return
        loop = asyncio.get_running_loop()
        due_ms, ahead_ms = self._core.deadline(), now_ms - loop.time() * 1000
        has_slept = ahead_ms - self._ahead_ms >= _SLEPT_MS
        is_early = due_ms is not None and self._timer_ms is not None and self._timer_ms <= due_ms
        if due_ms is None or (is_early and not has_slept):
            # A timer that fires too early finds nothing due: cheaper than a new one a message.
            return
        if self._timer is not None:
            self._timer.cancel()
        self._timer_ms, self._ahead_ms = due_ms, ahead_ms
        delay = max(0, due_ms - now_ms) / 1000
        self._timer = loop.call_later(delay, self._due)

    def _due(self) -> None:
        self._timer, self._timer_ms = None, None
        self.feed(Due(), self._clock.now())


def _filters(site: Site, broker: str) -> list[str]:
    """What is to be heard at a broker: the messages of printers, and buttons."""
    heard = [given for printer in site.printers.values() for given in printer.inputs]
    of_printers = {given.address for given in heard if given.source == broker}
    of_buttons = {each.address for each in site.buttons.values() if each.source == broker}
    return sorted(of_printers | of_buttons)
