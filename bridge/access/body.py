"""Bodies of answers, read no further than they may be long."""

from __future__ import annotations

from aiohttp import ClientResponse


async def read_capped(response: ClientResponse, most_bytes: int) -> bytes | None:
    """The body, or ``None`` where it is longer; its connection is closed then."""
    length = response.content_length
    if length is not None and length <= most_bytes:
        return await response.read()
    chunks: list[bytes] = []
    left = most_bytes
    async for chunk in response.content.iter_any():
        left -= len(chunk)
        if left < 0:
            response.close()
            return None
        chunks.append(chunk)
    return b"".join(chunks)
