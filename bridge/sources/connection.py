"""One MQTT connection, from a connected stream to its end.

paho's client speaks the protocol; the event loop's own transport carries it, TLS included, so
that there is no thread and one read of the socket serves many messages. The client is given a
stream that looks like a socket which never blocks.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal, TypeAlias, cast

from paho.mqtt.client import Client, DisconnectFlags, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.reasoncodes import ReasonCode
from paho.mqtt.subscribeoptions import SubscribeOptions

from bridge.access.failure import Failure, failure_of
from bridge.sources.packets import PacketError, Packets, Skipped

if TYPE_CHECKING:
    from paho.mqtt.client import SocketLike

Version: TypeAlias = Literal["5", "3.1.1"]

#: MQTT 5.0 §2.4, the reason codes that a person must hear of.
UNSUPPORTED_VERSION: Final = 132
TAKEN_OVER: Final = 142

#: Longer messages are no printer's state, and a small board has not much memory.
MOST_BYTES: Final = 1024 * 1024
#: §3.1.2.10: a server gives a client up after one and a half keep-alives; so do we.
_SILENCE: Final = 1.5
#: How many filters go into one SUBSCRIBE: small brokers have small buffers.
_FILTERS_A_PACKET: Final = 50
#: The most bytes that are kept while subscribing: retained messages come before its answer.
_MOST_HELD_BYTES: Final = 16 * MOST_BYTES


@dataclass(frozen=True, slots=True)
class Message:
    """A message as it arrived."""

    topic: str
    payload: bytes
    retained: bool


@dataclass(frozen=True, slots=True)
class Ended:
    """Why a connection is over; ``code`` is the broker's reason in MQTT 5."""

    failure: Failure
    code: int | None = None


@dataclass(frozen=True, slots=True)
class Hello:
    """How we introduce ourselves."""

    version: Version
    client_id: str
    keep_alive_s: int
    user: str | None = None
    password: str | None = None


class _Stream:
    """What the client takes for its socket."""

    def __init__(self, packets: Packets, transport: asyncio.Transport) -> None:
        self.recv = packets.read
        self._transport = transport

    def send(self, buffer: bytes | bytearray) -> int:
        self._transport.write(bytes(buffer))
        return len(buffer)

    def close(self) -> None:
        self._transport.close()

    def fileno(self) -> int:
        return -1

    def setblocking(self, flag: bool) -> None:  # noqa: FBT001 (as a socket has it)
        del flag


class _Client(Client):
    """paho's client over a stream that is already connected."""

    def __init__(self, hello: Hello, stream: _Stream) -> None:
        self._stream = stream
        five = self.is_five = hello.version == "5"
        super().__init__(
            CallbackAPIVersion.VERSION2,
            client_id=hello.client_id,
            # In MQTT 5 a clean start is asked for with the connection, not with the client.
            clean_session=None if five else True,
            protocol=MQTTProtocolVersion.MQTTv5 if five else MQTTProtocolVersion.MQTTv311,
            # The pauses between attempts, and the older version, are the source's affair.
            reconnect_on_failure=False,
        )

    def heard_at(self, monotonic_s: float) -> None:
        """Something came from the broker, which the client need not have read itself."""
        self._last_bytes_received = max(self._last_bytes_received, monotonic_s)

    def _create_socket(self) -> SocketLike:
        """The one place where paho asks for a socket (its own blocks until connected)."""
        return cast("SocketLike", self._stream)


class Connection(asyncio.Protocol):
    """Handshake, subscriptions, messages and keep-alive of one connection.

    Messages are kept back until ``release``, so that nothing is heard before the source is up.
    ``take`` gets those of one read together, in order, the ones that were too long included. No
    future here ever fails: each ends with a result that says what happened.
    """

    def __init__(
        self,
        take: Callable[[Sequence[Message | Skipped]], None],
    ) -> None:
        loop = asyncio.get_running_loop()
        self._loop = loop
        self._take = take
        self._packets = Packets(MOST_BYTES)
        self._client: _Client | None = None
        self._transport: asyncio.Transport | None = None
        self._messages: list[Message | Skipped] = []
        self._held: list[Message | Skipped] | None = []
        self._held_bytes = 0
        self._last_read = loop.time()
        self._tick: asyncio.TimerHandle | None = None
        self._end: Ended | None = None
        self._wanted: dict[int, Sequence[str]] = {}
        self._refused: list[str] = []
        #: The answer to our hello: the broker's reason code.
        self.accepted: asyncio.Future[ReasonCode] = loop.create_future()
        #: The filters that were refused, once all were answered.
        self.subscribed: asyncio.Future[Sequence[str]] = loop.create_future()
        self.ended: asyncio.Future[Ended] = loop.create_future()

    # What a person may do with a connection.

    def greet(self, hello: Hello) -> None:
        """Say who we are; ``accepted`` is the answer."""
        if self._transport is None:
            return
        client = self._client = _Client(hello, _Stream(self._packets, self._transport))
        client.on_connect = self._on_connect
        client.on_disconnect = self._on_disconnect
        client.on_subscribe = self._on_subscribe
        client.on_message = self._on_message
        if hello.user is not None:
            client.username_pw_set(hello.user, hello.password)
        # Host and port only have to be there: the stream is connected already.
        if hello.version == "5":
            # A session that outlived us would hand us hours-old messages as new ones. Without the
            # property of that name it expires at once (§3.1.2.11.2).
            client.connect("-", 1, hello.keep_alive_s, clean_start=True)
        else:
            client.connect("-", 1, hello.keep_alive_s)
        self._keep_alive()

    def subscribe(self, filters: Sequence[str], version: Version) -> None:
        """Ask for these; ``subscribed`` is the answer.

        Quality of service 0: the stream already delivers in order or breaks, a clean session
        has nothing to send again after a break, and a receipt a message would only cost.
        """
        if self._client is None:
            return
        for start in range(0, len(filters), _FILTERS_A_PACKET):
            chunk = filters[start : start + _FILTERS_A_PACKET]
            _, number = self._client.subscribe(_topics(chunk, version))
            if number is not None:
                self._wanted[number] = chunk
        if not filters:
            self.subscribed.set_result(())

    def release(self) -> None:
        """Hand over what was heard meanwhile, and from now on everything at once."""
        held, self._held = self._held, None
        if held:
            self._take(held)

    def publish(self, topic: str, payload: bytes) -> None:
        """Send a message once, if the connection still stands."""
        if self._client is not None:
            self._client.publish(topic, payload)
            self._flush()

    def close(self) -> None:
        """Take leave properly: no will is sent, and nobody waits for us."""
        if self._client is not None and self._client.is_connected():
            self._client.disconnect()
        if self._transport is not None:
            self._transport.close()

    # What the event loop tells.

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """As ``asyncio.Protocol`` has it."""
        self._transport = cast("asyncio.Transport", transport)

    def data_received(self, data: bytes) -> None:
        """As ``asyncio.Protocol`` has it."""
        client = self._client
        if client is None:
            return
        self._last_read = self._loop.time()
        packets = self._packets
        packets.feed(data)
        try:
            while packets.advance():
                self._collect_skipped()
                plain = packets.plain_message(has_properties=client.is_five)
                if plain is None:
                    client.loop_read()
                else:
                    self._messages.append(Message(*plain))
        except PacketError as error:
            self._give_up(Failure(str(error), "check that the port is the broker's"))
        self._flush()
        self._collect_skipped()
        if self._messages:
            self._deliver()

    def connection_lost(self, exc: Exception | None) -> None:
        """As ``asyncio.Protocol`` has it."""
        if self._tick is not None:
            self._tick.cancel()
        self._client = self._transport = None
        if self._end is None:
            failure = failure_of(exc) if isinstance(exc, OSError) else _CLOSED
            self._end = Ended(failure)
        if not self.ended.done():
            self.ended.set_result(self._end)

    # What the client tells; it holds a lock meanwhile, so nothing is called back from here.

    def _on_connect(
        self, _client: Client, _data: object, _flags: object, code: ReasonCode, _props: object
    ) -> None:
        if not self.accepted.done():
            self.accepted.set_result(code)

    def _on_disconnect(
        self,
        _client: Client,
        _data: object,
        flags: DisconnectFlags,
        code: ReasonCode,
        _props: object,
    ) -> None:
        if self._end is None and flags.is_disconnect_packet_from_server:
            why = f"the broker ended the connection: {str(code).lower()}"
            self._end = Ended(Failure(why), code.value)

    def _on_subscribe(
        self, _client: Client, _data: object, number: int, codes: list[ReasonCode], _props: object
    ) -> None:
        asked = self._wanted.pop(number, ())
        self._refused += [one for one, code in zip(asked, codes, strict=False) if code.is_failure]
        if not self._wanted and not self.subscribed.done():
            self.subscribed.set_result(tuple(self._refused))

    def _on_message(self, _client: Client, _data: object, message: MQTTMessage) -> None:
        try:
            topic = message.topic
        except UnicodeDecodeError:
            return
        self._messages.append(Message(topic, bytes(message.payload), message.retain))

    # Ours.

    def _collect_skipped(self) -> None:
        if self._packets.skipped:
            self._messages += self._packets.skipped
            self._packets.skipped.clear()

    def _deliver(self) -> None:
        messages, self._messages = self._messages, []
        if self._held is None:
            self._take(messages)
            return
        self._held_bytes += sum(len(each.payload) for each in messages if isinstance(each, Message))
        if self._held_bytes > _MOST_HELD_BYTES:
            self._give_up(Failure("more retained messages than fit in memory", "narrow the topics"))
        self._held += messages

    def _flush(self) -> None:
        if self._client is not None and self._client.want_write():
            self._client.loop_write()

    def _keep_alive(self) -> None:
        client = self._client
        if client is None or client.keepalive == 0:
            return
        silent_s = self._loop.time() - self._last_read
        if silent_s >= _SILENCE * client.keepalive:
            self._give_up(Failure(f"nothing was heard from it for {silent_s:.0f} s"))
            return
        client.heard_at(self._last_read)
        client.loop_misc()
        self._flush()
        self._tick = self._loop.call_later(client.keepalive / 3, self._keep_alive)

    def _give_up(self, failure: Failure) -> None:
        self._end = self._end or Ended(failure)
        if self._transport is not None:
            self._transport.abort()


_CLOSED: Final = Failure("the broker closed the connection")


def _topics(filters: Sequence[str], version: Version) -> Any:  # noqa: ANN401 (two forms, as paho wants them)
    if version == "5":
        return [(one, SubscribeOptions(qos=0)) for one in filters]
    return [(one, 0) for one in filters]
