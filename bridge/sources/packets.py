"""MQTT control packets cut out of a stream of bytes (MQTT 5.0 §2.1; 3.1.1 says the same).

It stands between the event loop's transport and paho's client, which is written for a socket: the
client asks for a byte at a time, and would keep a packet of 256 MB in memory before anybody could
refuse it. The plainest of messages, which are nearly all, are read here: the client takes a tenth
of the time from a message to a light for one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

PUBLISH: Final = 3
#: §3.3.1: without a repetition and at quality of service 0; the lowest bit says "stored".
_PLAIN_PUBLISH: Final = PUBLISH << 4
#: §1.5.5: a length has at most four bytes.
_MOST_LENGTH_BYTES: Final = 4


class PacketError(Exception):
    """The stream is not MQTT."""


@dataclass(frozen=True, slots=True)
class Skipped:
    """A message that was too long: ``size`` in bytes, of the packet without its fixed header."""

    topic: str
    size: int
    retained: bool


class Packets:
    """Feed it what arrives; it hands out whole packets and skips those over ``most_bytes``.

    ``skipped`` collects the messages that were too long and came before the packet handed out, for
    the caller to take.
    """

    __slots__ = ("_body", "_buffer", "_end", "_most_bytes", "_read", "_skip", "skipped")

    def __init__(self, most_bytes: int) -> None:
        self._buffer = b""
        self._most_bytes = most_bytes
        #: How far the packet handed out was read, and where it ends.
        self._read = 0
        self._end = 0
        #: Where what follows its fixed header begins.
        self._body = 0
        #: How many bytes of a packet that is too long are still to come.
        self._skip = 0
        self.skipped: list[Skipped] = []

    def feed(self, data: bytes) -> None:
        """Take what was read from the stream."""
        if self._skip:
            dropped = min(self._skip, len(data))
            self._skip -= dropped
            data = data[dropped:]
        # Mostly nothing is left over, and what was read is taken as it is, without a copy.
        self._buffer = self._buffer[self._end :] + data
        self._read = self._end = 0

    def advance(self) -> bool:
        """Whether a whole packet is ready for ``read``; the one before is done with."""
        while True:
            self._read = self._end
            found = self._length_at(self._read + 1)
            if found is None:
                return False
            body, length = found
            end = body + length
            if length <= self._most_bytes:
                if end > len(self._buffer):
                    return False
                self._body, self._end = body, end
                return True
            if not self._skip_to(body, end):
                return False

    def read(self, size: int) -> bytes:
        """At most ``size`` bytes of the ready packet, as from a socket that never blocks."""
        start = self._read
        if start == self._end:
            raise BlockingIOError
        self._read = stop = min(start + size, self._end)
        return self._buffer[start:stop]

    def plain_message(self, *, has_properties: bool) -> tuple[str, bytes, bool] | None:
        """Topic, payload and whether it was stored, where the ready packet is a plain message.

        Plain is one of quality of service 0 (MQTT 5.0 §3.3) whose properties, where the version
        ``has_properties``, are none. ``None``: something else, or odd, for the client to judge.
        """
        buffer, start, topic_at, end = self._buffer, self._read, self._body + 2, self._end
        if topic_at > end or buffer[start] & 0xFE != _PLAIN_PUBLISH:
            return None
        topic_end = topic_at + (buffer[topic_at - 2] << 8 | buffer[topic_at - 1])
        payload_at = topic_end + has_properties
        if topic_end == topic_at or payload_at > end or (has_properties and buffer[topic_end]):
            return None
        try:
            topic = buffer[topic_at:topic_end].decode()
        except UnicodeDecodeError:
            return None
        return topic, buffer[payload_at:end], bool(buffer[start] & 1)

    def _length_at(self, start: int) -> tuple[int, int] | None:
        """Where the packet's body begins and how long it is; ``None`` until that has arrived."""
        length = 0
        for index in range(_MOST_LENGTH_BYTES):
            if start + index >= len(self._buffer):
                return None
            byte = self._buffer[start + index]
            length |= (byte & 0x7F) << 7 * index
            if not byte & 0x80:
                return start + index + 1, length
        raise PacketError("what it sends is not MQTT")

    def _skip_to(self, body: int, end: int) -> bool:
        """Leave a packet out that is too long; false until enough is there to name its topic."""
        topic = ""
        head = self._buffer[self._read]
        if head >> 4 == PUBLISH:
            topic_at = body + 2
            topic_end = topic_at + int.from_bytes(self._buffer[body:topic_at], "big")
            if len(self._buffer) < topic_at or len(self._buffer) < topic_end:
                return False
            topic = self._buffer[topic_at:topic_end].decode(errors="replace")
        # §3.3.1: the lowest bit of a message's first byte says that it was stored.
        self.skipped.append(Skipped(topic, end - body, bool(head & 1)))
        there = min(end, len(self._buffer))
        self._skip = end - there
        self._end = there
        return True
