"""An MQTT broker as a source: connect, subscribe, hear, and come back after every loss."""

from __future__ import annotations

import asyncio
import random
import socket
import ssl
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal, TypeVar

from paho.mqtt.reasoncodes import ReasonCode

from bridge.access.credentials import Credentials
from bridge.access.failure import NO_SUCH_NAME, AccessError, Failure, failure_of
from bridge.access.tls import check_pin, context_of
from bridge.engine.actions import Note, Scalar
from bridge.engine.events import Event, Heard, SourceLost, SourceUp, TooLarge
from bridge.engine.site import Broker
from bridge.facts.moment import Moment
from bridge.sources.connection import (
    TAKEN_OVER,
    UNSUPPORTED_VERSION,
    Connection,
    Ended,
    Hello,
    Message,
    Version,
)
from bridge.sources.packets import Skipped

#: Longest wait for an address, a connection and TLS together, and for each answer of the broker.
CONNECT_TIMEOUT_S: Final = 10.0
ANSWER_TIMEOUT_S: Final = 10.0
#: Waits between attempts: drawn from 0 to a bound that doubles (full jitter; Brooker, 2015).
FIRST_BOUND_S: Final = 1.0
LAST_BOUND_S: Final = 30.0
#: A connection that held this long ends the row of failures before it.
HOLDS_S: Final = 20.0
#: So many connections that did not hold look like two processes that push each other out.
_SHORT_LIVES: Final = 3


Level = Literal["debug", "info", "warning", "error"]
T = TypeVar("T")

#: The events of the log.
_NOT_REACHED: Final = "broker not reached"
_LOST: Final = "broker lost"
_IN_USE: Final = "client id in use"


def bound_s(failures: int) -> float:
    """The most that is waited after so many failures in a row."""
    return min(LAST_BOUND_S, FIRST_BOUND_S * 2.0 ** min(failures - 1, 16))


@dataclass(frozen=True, slots=True)
class _Over:
    """How one attempt, or the connection that it became, ended."""

    failure: Failure
    event: str = _NOT_REACHED
    was_up: bool = False
    at_once: bool = False


class MqttSource:
    """One broker. ``run`` connects and reconnects until cancelled; it has no will of its own.

    ``SourceLost`` is fed once for each outage, one at the start included. What stops a connection
    is noted once, and again only when the reason changes or a connection has held in between.
    """

    def __init__(  # noqa: PLR0913, PLR0917 (each is a port to the outside, all are named at the call)
        self,
        broker: Broker,
        filters: Sequence[str],
        feed: Callable[[Event, Moment], None],
        clock: Callable[[], Moment],
        credentials: Credentials,
        note: Callable[[Note], None],
        jitter: random.Random,
        client_id: str,
    ) -> None:
        self._broker = broker
        self._filters = tuple(dict.fromkeys(filters))
        self._feed = feed
        self._clock = clock
        self._credentials = credentials
        self._note = note
        self._jitter = jitter
        self._client_id = client_id
        self._version: Version = "3.1.1" if broker.protocol == "3.1.1" else "5"
        self._version_is_known = broker.protocol != "auto"
        self._connection: Connection | None = None
        self._lost = False
        self._failures = 0
        self._short_lives = 0
        self._held = False
        self._noted: tuple[str, str] | None = None
        self._noted_refusals: Sequence[str] = ()

    def __repr__(self) -> str:
        state = "up" if self._connection else "not up"
        return f"<MqttSource {self._broker.name} at {self._address}, {state}>"

    @property
    def _address(self) -> str:
        return f"{self._broker.host}:{self._broker.port}"

    async def run(self) -> None:
        """Keep the source up until cancelled."""
        while True:
            over = await self._attempt()
            self._report(over)
            self._failures += 1
            if not over.at_once:
                await asyncio.sleep(self._jitter.uniform(0, bound_s(self._failures)))

    def publish(self, topic: str, payload: bytes) -> None:
        """Publish once, at quality of service 0; while there is no connection it is left out."""
        if self._connection is None:
            self._say("debug", "not published, the broker is away", topic=topic)
            return
        self._connection.publish(topic, payload)

    # One attempt, from the address to the end of its connection.

    async def _attempt(self) -> _Over:
        try:
            hello = self._hello()
            connection = await self._open()
        except AccessError as error:
            return _Over(Failure(str(error)))
        except OSError as error:
            return _Over(failure_of(error))
        except UnicodeError:
            return _Over(NO_SUCH_NAME)
        try:
            return await self._introduce(connection, hello)
        finally:
            self._connection = None
            connection.close()
            await asyncio.wait({connection.ended}, timeout=1)

    async def _open(self) -> Connection:
        broker = self._broker
        context = None
        if broker.tls:
            context = context_of(broker.ca_file, broker.client_certificate, broker.pinned)
        async with asyncio.timeout(CONNECT_TIMEOUT_S):
            connected = await _connected_socket(broker.host, broker.port)
            transport, connection = await asyncio.get_running_loop().create_connection(
                lambda: Connection(self._take),
                sock=connected,
                ssl=context,
                server_hostname=broker.host if context else None,
            )
        if context is not None and broker.pinned is not None:
            shown: ssl.SSLObject = transport.get_extra_info("ssl_object")
            try:
                check_pin(broker.pinned, shown.getpeercert(binary_form=True))
            except AccessError:
                transport.abort()
                raise
        return connection

    async def _introduce(self, connection: Connection, hello: Hello) -> _Over:
        connection.greet(hello)
        answer = await _first(connection, connection.accepted)
        if isinstance(answer, Ended):
            return self._closed_on_hello(answer)
        if answer.is_failure:
            return self._refused(answer)
        self._version_is_known = True
        connection.subscribe(self._filters, self._version)
        refused = await _first(connection, connection.subscribed)
        if isinstance(refused, Ended):
            return _Over(refused.failure)
        return await self._listen(connection, refused)

    def _hello(self) -> Hello:
        broker = self._broker
        if broker.credential is None:
            return Hello(self._version, self._client_id, broker.keep_alive_s)
        known = self._credentials.look_up(broker.credential)
        return Hello(
            self._version, self._client_id, broker.keep_alive_s, known.user, known.password
        )

    async def _listen(self, connection: Connection, refused: Sequence[str]) -> _Over:
        self._report_refusals(refused)
        self._connection = connection
        self._lost = False
        if self._short_lives == 0 and not self._in_use_noted():
            self._say_subscribed()
        self._feed(SourceUp(self._broker.name, tuple(refused)), self._clock())
        connection.release()
        holds = asyncio.get_running_loop().call_later(HOLDS_S, self._holds)
        self._held = False
        try:
            ended = await connection.ended
        finally:
            holds.cancel()
        self._short_lives = 0 if self._held else self._short_lives + 1
        return self._after(ended)

    def _holds(self) -> None:
        """The connection has held: what went before is forgotten."""
        if self._noted is not None:
            self._say_subscribed()
        self._held = True
        self._failures = self._short_lives = 0

    def _say_subscribed(self) -> None:
        self._noted = None
        self._say("info", "broker subscribed", mqtt=self._version, topics=len(self._filters))

    def _in_use_noted(self) -> bool:
        return self._noted is not None and self._noted[0] == _IN_USE

    # Why an attempt ended.

    def _closed_on_hello(self, ended: Ended) -> _Over:
        """A broker that knows only 3.1.1 may answer MQTT 5 by closing the connection."""
        if self._version_is_known:
            return _Over(ended.failure)
        was_five = self._version == "5"
        self._version = "3.1.1" if was_five else "5"
        wants = "a client certificate" if self._broker.tls else "TLS"
        remedy = f"check that the port is the broker's and whether it wants {wants}"
        return _Over(Failure(f"{ended.failure.why} before it answered", remedy), at_once=was_five)

    def _refused(self, code: ReasonCode) -> _Over:
        if code.value == UNSUPPORTED_VERSION and self._broker.protocol == "auto":
            if self._version == "5":
                self._version = "3.1.1"
                return _Over(Failure("the broker does not speak MQTT 5"), at_once=True)
            self._version = "5"
        why, remedy = _REFUSALS.get(code.value, (str(code).lower(), None))
        if code.value in _ABOUT_THE_USER:
            remedy = self._remedy_of_user()
        return _Over(Failure(f"the broker refused the connection: {why}", remedy))

    def _remedy_of_user(self) -> str:
        name = self._broker.credential
        if name is None:
            return "name a credential for this broker in site.yaml, it may want user and password"
        return f"check user and password in the credential '{name}' and what that user may do"

    def _after(self, ended: Ended) -> _Over:
        """Which line an established connection's end deserves."""
        pushed_out = ended.code == TAKEN_OVER
        if pushed_out or self._short_lives >= _SHORT_LIVES:
            sure = "another process has" if pushed_out else "perhaps another process has"
            why = f"{sure} connected as '{self._client_id}', and each pushes the other out"
            remedy = "stop the other one, or give one of the two a client id of its own"
            return _Over(Failure(why, remedy), _IN_USE, was_up=True)
        return _Over(ended.failure, _LOST, was_up=True)

    def _report(self, over: _Over) -> None:
        if not self._lost and not over.at_once:
            self._lost = True
            self._feed(SourceLost(self._broker.name, over.failure.why), self._clock())
        if not over.was_up:
            # A broker that comes and goes is not reached now and then; one that we fight over is.
            self._short_lives = 0
        if over.at_once:
            self._say("debug", "broker tried with another version", why=over.failure.why)
            return
        reason = (over.event, over.failure.why)
        if reason == self._noted or (over.was_up and self._in_use_noted()):
            return
        self._noted = reason
        level: Level = "warning" if over.event == _LOST else "error"
        self._say(level, over.event, why=over.failure.why, remedy=over.failure.remedy)

    def _report_refusals(self, refused: Sequence[str]) -> None:
        if refused != self._noted_refusals:
            for topic in refused:
                self._say(
                    "error",
                    "topic refused",
                    topic=topic,
                    remedy="let this user read it in the broker's access list",
                )
        self._noted_refusals = refused

    # What is heard.

    def _take(self, messages: Sequence[Message | Skipped]) -> None:
        now = self._clock()
        name = self._broker.name
        for each in messages:
            event: Event
            if isinstance(each, Message):
                event = Heard(name, each.topic, each.payload, each.retained)
            else:
                event = TooLarge(name, each.topic, each.size, each.retained)
            self._feed(event, now)

    def _say(self, level: Level, event: str, **fields: Scalar) -> None:
        about: dict[str, Scalar] = {"broker": self._broker.name, "address": self._address}
        said = {key: value for key, value in fields.items() if value is not None}
        self._note(Note(level, event, about | said))


#: MQTT 5.0 §3.2.2.2; paho gives 3.1.1's five return codes by the same numbers.
_REFUSALS: Final = {
    UNSUPPORTED_VERSION: ("it does not speak this version of MQTT", "set protocol to the other"),
    133: ("the client id is not valid there", "choose another client id"),
    134: ("user or password is wrong", None),
    135: ("not authorized", None),
    136: ("it is not available now", None),
    138: ("this client is banned", "ask whoever keeps the broker"),
}
#: Those of which a credential is the cure.
_ABOUT_THE_USER: Final = frozenset({134, 135})


async def _first(connection: Connection, answer: asyncio.Future[T]) -> T | Ended:
    """The answer, or the end of the connection where that comes first."""
    awaited: set[asyncio.Future[Any]] = {answer, connection.ended}
    await asyncio.wait(awaited, timeout=ANSWER_TIMEOUT_S, return_when=asyncio.FIRST_COMPLETED)
    if answer.done():
        return answer.result()
    if connection.ended.done():
        return connection.ended.result()
    return Ended(Failure(f"the broker did not answer within {ANSWER_TIMEOUT_S:.0f} s"))


async def _connected_socket(host: str, port: int) -> socket.socket:
    """A socket that is connected to the first of the host's addresses that answers."""
    loop = asyncio.get_running_loop()
    found = await loop.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    error: OSError = OSError("the host has no address")
    for family, kind, protocol, _, address in found:
        connecting = socket.socket(family, kind, protocol)
        try:
            connecting.setblocking(False)  # noqa: FBT003 (as a socket has it)
            # One address that swallows everything must not use up the time of the others.
            async with asyncio.timeout(CONNECT_TIMEOUT_S / len(found)):
                await loop.sock_connect(connecting, address)
        except OSError as raised:
            connecting.close()
            error = raised
        except BaseException:
            connecting.close()
            raise
        else:
            return connecting
    raise error
