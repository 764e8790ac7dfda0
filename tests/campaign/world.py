"""Virtual time, chance, and the network between the bridge, its broker and its printers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from heapq import heappop, heappush
from random import Random
from typing import Final

from bridge.engine.events import Event, Heard, PollFailed, SourceLost, SourceUp
from tests.campaign.printers import Printers

BROKER: Final = "shed"


class World:
    """Everything outside the bridge. ``tell`` hands an event to the bridge that lives now.

    Virtual time is integer milliseconds; what happens at one instant happens in the order in which
    it was arranged; one ``Random`` decides everything. ``heat`` multiplies what goes wrong.
    """

    def __init__(self, chance: Random, heat: float, tell: Callable[[Event], None]) -> None:
        self.now = 0
        self.chance, self.heat, self._tell = chance, heat, tell
        self._heap: list[tuple[int, int, Callable[[], None]]] = []
        self._arranged = 0
        self.faults: Counter[str] = Counter()
        #: Which life of the bridge it is, 0 while none; what was sent to another gets lost.
        self.life = 0
        self.broker = MessageBroker(self)
        self.printers = Printers(self.after, chance, self.happens, self.broker.publish)
        self._polls_fail_until = 0
        self._last_page = (0, b"")
        #: What can go wrong at large, beside the network: kind to who is struck, for seconds.
        self.troubles: list[Callable[[int], str]] = [
            self.broker.fail,
            self._fail_polls,
            *(printer.fail for printer in self.printers.all),
        ]

    def after(self, delay_ms: int, what: Callable[[], None]) -> None:
        """Arrange for something."""
        self._arranged += 1
        heappush(self._heap, (self.now + delay_ms, self._arranged, what))

    def next_ms(self) -> int:
        """When something happens next; printers never run out of things to do."""
        return self._heap[0][0]

    def step(self) -> None:
        """Let it happen."""
        self.now, _, what = heappop(self._heap)
        what()

    def happens(self, kind: str, likely: float) -> bool:
        """Whether this fault strikes now; counted."""
        strikes = self.chance.random() < likely * self.heat
        if strikes:
            self.faults[kind] += 1
        return strikes

    def while_alive(self, what: Callable[[], None], delay_ms: int) -> None:
        """Arrange for something, unless the bridge that it is for is no more."""
        life = self.life
        self.after(delay_ms, lambda: what() if life and self.life == life else None)

    def to_bridge(self, event: Event, delay_ms: int) -> None:
        """Deliver an event."""
        self.while_alive(lambda: self._tell(event), delay_ms)

    def befall(self) -> None:
        """From now on something large goes wrong now and then; between times there is calm."""
        if self.heat:
            self.after(int(self.chance.expovariate(self.heat / 60_000)) + 1, self._strike)

    def _strike(self) -> None:
        self.faults[self.chance.choice(self.troubles)(self.chance.choice((1, 4, 15, 50)))] += 1
        self.befall()

    def poll(self, address: str, *, whole: bool) -> None:
        """The bridge polls the one printer that is polled; a page that is the last may be a 304."""
        printer, delay_ms = self.printers.plover, self.chance.randint(5, 120)
        if self.now < self._polls_fail_until or self.happens("poll failed", 0.02):
            wait_ms = self.chance.choice((None, 2000, 9000))
            self.faults["retry-after"] += wait_ms is not None
            self.to_bridge(PollFailed(address, "status 503", wait_ms), delay_ms)
        elif printer.speaks:
            page = printer.page()
            is_last = not whole and (self.life, page) == self._last_page
            self._last_page = self.life, page
            unchanged = is_last and self.chance.random() < 0.7
            self.to_bridge(Heard("http", address, None if unchanged else page), delay_ms)
        else:
            self.to_bridge(PollFailed(address, "no answer within 5 s"), 5000)

    def _fail_polls(self, seconds: int) -> str:
        self._polls_fail_until = self.now + seconds * 1000
        return "polls fail for a while"


class MessageBroker:
    """Stored messages, one connection to the bridge, and a network that loses and shuffles."""

    def __init__(self, world: World) -> None:
        self._world = world
        self._stored: dict[str, bytes] = {}
        #: The connection, 0 while there is none; one that is half open hears nothing.
        self._connection = self._connections = 0
        self._half_open = False

    def connect(self) -> None:
        """The bridge is subscribed, and gets what is stored."""
        self._connections += 1
        self._connection, self._half_open = self._connections, False
        self._world.to_bridge(SourceUp(BROKER), 0)
        for topic, body in self._stored.items():
            self._deliver(Heard(BROKER, topic, body, retained=True), 40)

    def close(self) -> None:
        """The bridge is gone, and with it the connection."""
        self._connection = 0

    def publish(self, topic: str, body: bytes, *, stored: bool) -> None:
        """From a printer: kept where it asks for it, and passed on."""
        world = self._world
        if stored:
            self._stored[topic] = body
        if world.happens("message lost", 0.02):
            return
        self._deliver(
            Heard(BROKER, topic, body), 3000 if world.happens("message late", 0.02) else 30
        )
        if world.happens("message duplicated", 0.02):
            self._deliver(Heard(BROKER, topic, body), 2000)

    def _deliver(self, event: Heard, within_ms: int) -> None:
        connection = self._connection

        def arrive() -> None:
            if connection and connection == self._connection and not self._half_open:
                self._world.to_bridge(event, 0)

        self._world.after(self._world.chance.randint(1, within_ms), arrive)

    def fail(self, seconds: int) -> str:
        """The connection breaks: mostly seen at once, sometimes only by the keep-alive."""
        world, connection = self._world, self._connection
        if world.chance.random() < 0.2:
            self._stored.clear()
        self._half_open = world.chance.random() < 0.3

        def lose() -> None:
            if connection and self._connection == connection:
                self._connection = 0
                world.to_bridge(SourceLost(BROKER, "connection reset"), 0)
                world.while_alive(self.connect, seconds * 1000)

        world.after(22_000 if self._half_open else 0, lose)
        return "broker half open" if self._half_open else "broker lost"
