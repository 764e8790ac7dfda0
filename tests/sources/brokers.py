"""Brokers that no real one will play: old, curt, stubborn. Byte by byte after the MQTT texts."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field

from tests.serving import Peer

FIVE, THREE = 5, 4
CONNECT, SUBSCRIBE = 1, 8


async def packet(reader: asyncio.StreamReader) -> tuple[int, bytes]:
    """Kind and body of the next packet; none here is longer than 127 bytes."""
    head = await reader.readexactly(2)
    return head[0] >> 4, await reader.readexactly(head[1])


def level(connect: bytes) -> int:
    """The protocol level of a CONNECT's body: 4 is 3.1.1, 5 is 5.0."""
    return connect[6]


@dataclass
class OddBroker:
    """Answers each protocol level as told; ``None`` closes without a word.

    ``connack`` by level is the answer's code; ``refused`` are filters that may not be read;
    ``parting`` is sent when all is subscribed, before the connection is closed.
    """

    connack: dict[int, int | None] = field(default_factory=dict)
    refused: tuple[str, ...] = ()
    parting: bytes | None = None
    levels: list[int] = field(default_factory=list)

    async def __call__(
        self, peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        """Serve one connection."""
        del peer
        _, body = await packet(reader)
        spoken = level(body)
        self.levels.append(spoken)
        code = self.connack.get(spoken, 0)
        if code is None:
            return
        # An old broker answers MQTT 5 too in the older form, without properties.
        five = spoken == FIVE and code == 0
        writer.write(b"\x20\x03\x00\x00\x00" if five else bytes((0x20, 2, 0, code)))
        if code != 0:
            return
        _, body = await packet(reader)
        writer.write(self.suback(body, five=five))
        if self.parting is not None:
            writer.write(self.parting)
            return
        await reader.read()

    def suback(self, body: bytes, *, five: bool) -> bytes:
        """One code a filter (§3.9): granted quality 0, or not authorized."""
        refusal = 135 if five else 128
        at = 3 if five else 2
        codes = b""
        while at < len(body):
            end = at + 2 + int.from_bytes(body[at : at + 2], "big")
            codes += bytes((refusal if body[at + 2 : end].decode() in self.refused else 0,))
            at = end + 1
        inner = body[:2] + (b"\x00" if five else b"") + codes
        return bytes((0x90, len(inner))) + inner
