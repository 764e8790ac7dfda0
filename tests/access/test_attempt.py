"""How far a request came. The cases with whole clients are in tests/controllers."""

from __future__ import annotations

import asyncio

import aiohttp
import pytest
from yarl import URL

from bridge.access.attempt import Attempt, BrokenError
from bridge.access.credentials import Credentials
from bridge.access.http import Session
from bridge.engine.site import Access
from tests.serving import Peer, speaking

pytestmark = pytest.mark.asyncio


async def ask(session: Session, url: str, attempt: Attempt, *, timeout_ms: int = 2000) -> None:
    """One GET."""
    async with session.request(
        "GET", URL(url), body=None, headers=(), timeout_ms=timeout_ms, attempt=attempt
    ) as response:
        await response.read()


def new_session() -> Session:
    """A session without any access."""
    return Session(Access(), Credentials({}), tls=False)


async def test_without_a_connection_nothing_left(free_port: int) -> None:
    """Refused is not sent."""
    session, attempt = new_session(), Attempt()
    with pytest.raises(aiohttp.ClientConnectorError):
        await ask(session, f"http://127.0.0.1:{free_port}", attempt)
    await session.close()
    assert not attempt.left


async def test_a_connection_that_closes_at_once_may_have_taken_it() -> None:
    """A fresh connection that broke is not tried again, and what went out is not known."""

    async def script(_peer: Peer, reader: asyncio.StreamReader, _writer: object) -> None:
        await reader.read(1)

    session, attempt = new_session(), Attempt()
    async with speaking(script) as (url, peer):
        with pytest.raises(BrokenError) as caught:
            await ask(session, url, attempt)
    await session.close()
    assert attempt.left
    assert caught.value.failure.why in {
        "the connection was closed before an answer",
        "the connection was reset",
    }
    assert peer.connections == 1


async def test_an_answer_has_left() -> None:
    """Whatever happens to its body afterwards."""

    async def script(
        peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        await peer.head(reader)
        writer.write(b"HTTP/1.1 200 OK\r\nContent-Length: 9\r\n\r\n{")

    session, attempt = new_session(), Attempt()
    async with speaking(script) as (url, _):
        with pytest.raises(aiohttp.ClientPayloadError):
            await ask(session, url, attempt)
    await session.close()
    assert attempt.left


async def test_a_name_that_can_be_none_never_leaves() -> None:
    """An empty label makes the resolver stumble, not us."""
    session, attempt = new_session(), Attempt()
    with pytest.raises(BrokenError, match="there can be no host of that name"):
        await ask(session, "http://a..b/", attempt)
    await session.close()
    assert not attempt.left
