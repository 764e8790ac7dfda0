"""A simulated printer on a real broker: connects, publishes, and drops off without a word.

Here paho's own thread is good enough: this is the world that the bridge looks at, and nothing is
measured on this side.
"""

from __future__ import annotations

import asyncio
import contextlib
import socket
from collections.abc import Callable
from typing import Any, Final

from paho.mqtt.client import Client, ConnectFlags, DisconnectFlags, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from bridge.simulator.printers import Message, Talker

Clock = Callable[[], int]
_RETRIES_AFTER_S: Final = 1.0
_KEEP_ALIVE_S: Final = 15


class Publisher:
    """Lives one printer's life on a broker; ``clock`` gives ms of that life."""

    def __init__(self, printer: Talker, host: str, port: int, clock: Clock) -> None:
        self._printer = printer
        self._address = (host, port)
        self._clock = clock
        self._loop = asyncio.get_running_loop()
        self._client: Client | None = None
        self._accepted = asyncio.Event()
        #: Everything that went out, for whoever counts.
        self.published = 0

    @property
    def connected(self) -> bool:
        """Whether a broker has it just now."""
        return self._client is not None

    async def live(self) -> None:
        """Until cancelled; a broker that is not there is tried again."""
        try:
            while True:
                now_ms = self._clock()
                if not self._printer.life.at(now_ms).on:
                    self._drop_off()
                elif self._client is None and not await self._come_up():
                    await asyncio.sleep(_RETRIES_AFTER_S)
                    continue
                self._publish(self._printer.messages_at(self._clock()))
                await asyncio.sleep(max(1, self._printer.next_at(now_ms) - self._clock()) / 1000)
        finally:
            self._drop_off()

    async def _come_up(self) -> bool:
        client = Client(
            CallbackAPIVersion.VERSION2,
            client_id=f"simulated-{self._printer.name}",
            protocol=MQTTProtocolVersion.MQTTv311,  # every broker speaks it, the embedded one too
            reconnect_on_failure=False,
        )
        will = self._printer.will
        client.will_set(will.topic, will.payload, qos=1, retain=will.retained)
        client.on_connect = self._on_connect
        client.on_disconnect = self._on_disconnect
        client.on_message = self._on_message
        self._accepted.clear()
        try:
            await asyncio.to_thread(client.connect, *self._address, _KEEP_ALIVE_S)
        except OSError:
            return False
        client.loop_start()
        try:
            await asyncio.wait_for(self._accepted.wait(), _RETRIES_AFTER_S)
        except TimeoutError:
            client.loop_stop()
            return False
        self._client = client
        if self._printer.listens_to:
            client.subscribe(self._printer.listens_to)
        return True

    def _drop_off(self) -> None:
        """As in a power cut: the socket dies, and it is the broker that says so."""
        client, self._client = self._client, None
        if client is None:
            return
        if isinstance(open_socket := client.socket(), socket.socket):
            with contextlib.suppress(OSError):  # dead already is what is wanted
                open_socket.shutdown(socket.SHUT_RDWR)
        client.loop_stop()

    def _publish(self, messages: list[Message]) -> None:
        if self._client is None:
            return
        for message in messages:
            self._client.publish(message.topic, message.payload, qos=1, retain=message.retained)
            self.published += 1

    # Called in paho's thread, which hands over to the loop's.

    def _on_connect(
        self,
        _client: Client,
        _userdata: Any,  # noqa: ANN401 - paho's own type
        _flags: ConnectFlags,
        reason: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        if not reason.is_failure:
            self._loop.call_soon_threadsafe(self._accepted.set)

    def _on_disconnect(
        self,
        client: Client,
        _userdata: Any,  # noqa: ANN401 - paho's own type
        _flags: DisconnectFlags,
        _reason: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        self._loop.call_soon_threadsafe(self._lost, client)

    def _on_message(self, _client: Client, _userdata: Any, message: MQTTMessage) -> None:  # noqa: ANN401 - paho's own type
        self._loop.call_soon_threadsafe(self._asked, bytes(message.payload))

    def _lost(self, client: Client) -> None:
        if self._client is client:
            self._client = None

    def _asked(self, payload: bytes) -> None:
        self._publish(self._printer.asked(payload, self._clock()))
