"""Bodies of answers, read no further than they may be long."""

from __future__ import annotations

from aiohttp import ClientResponse, StreamReader


async def read_capped(response: ClientResponse, most_bytes: int) -> bytes | None:
    """The body, or ``None`` where it is longer; its connection is closed then."""
    length = response.content_length
    if length is not None and length <= most_bytes:
        return await response.read()
    body = await stream_capped(response.content, most_bytes)
    if body is None:
        response.close()
    return body


async def stream_capped(stream: StreamReader, most_bytes: int) -> bytes | None:
    """All of it, or ``None`` where it is longer; the rest is left unread then."""
    chunks: list[bytes] = []
    left = most_bytes
    async for chunk in stream.iter_any():
        left -= len(chunk)
        if left < 0:
            return None
        chunks.append(chunk)
    return b"".join(chunks)
