"""Requests written by ourselves. What they have in common with others is in tests/controllers."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import aiohttp
import pytest
from yarl import URL

from bridge.access.attempt import Attempt, BrokenError
from bridge.access.credentials import Credentials
from bridge.access.direct import Reply
from bridge.access.http import Session
from bridge.engine.site import Access
from tests.serving import Peer, Script, speaking

pytestmark = pytest.mark.asyncio

CREDENTIALS = Credentials({"LAMPWRIGHT_CREDENTIAL_TOKEN": "gunwale.7"})
OK = b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\n{}"


@asynccontextmanager
async def opened(access: Access | None = None) -> AsyncIterator[Session]:
    """A session that is closed again."""
    session = Session(access or Access(), CREDENTIALS, tls=False)
    try:
        yield session
    finally:
        await session.close()


async def exchange(  # noqa: PLR0913 (as a request has it)
    session: Session,
    url: str,
    method: str = "PUT",
    *,
    body: bytes | None = b"{}",
    headers: tuple[tuple[str, str], ...] = (),
    attempt: Attempt | None = None,
    timeout_ms: int = 2000,
) -> Reply:
    """One exchange of at most 100 bytes."""
    return await session.exchange(
        method,
        URL(url, encoded=True),
        body=body,
        headers=headers,
        timeout_ms=timeout_ms,
        attempt=attempt or Attempt(),
        most_bytes=100,
    )


def saying(*answers: bytes) -> Script:
    """A peer that gives one answer a request."""

    async def script(
        peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        for answer in answers:
            await peer.head(reader)
            writer.write(answer)

    return script


@pytest.mark.parametrize(
    ("access", "method", "body", "headers", "expected"),
    [
        (
            Access(),
            "PUT",
            b"{}",
            (("Content-Type", "application/json"),),
            ["Accept-Encoding: identity", "Content-Length: 2", "Content-Type: application/json"],
        ),
        (
            Access(),
            "POST",
            b"{}",
            (),
            [
                "Accept-Encoding: identity",
                "Content-Length: 2",
                "Content-Type: application/octet-stream",
            ],
        ),
        # RFC 9110 §8.6: a method that gives content a meaning says that there is none.
        (Access(), "PUT", None, (), ["Accept-Encoding: identity", "Content-Length: 0"]),
        (Access(), "GET", None, (), ["Accept-Encoding: identity"]),
        (
            Access("bearer", "token"),
            "GET",
            None,
            (("X-Berth", "4"), ("X-Berth", "5")),
            [
                "Accept-Encoding: identity",
                "Authorization: Bearer gunwale.7",
                "X-Berth: 4",
                "X-Berth: 5",
            ],
        ),
        # What a dialect asks for goes before what is ours.
        (Access(), "GET", None, (("accept-encoding", "br"),), ["accept-encoding: br"]),
    ],
)
async def test_the_head(
    access: Access,
    method: str,
    body: bytes | None,
    headers: tuple[tuple[str, str], ...],
    expected: list[str],
) -> None:
    """The request line and these headers, beside the host, and no other."""
    async with speaking(saying(OK)) as (url, peer), opened(access) as session:
        reply = await exchange(session, url + "/a%20b?q=1", method, body=body, headers=headers)
    lines = [line for line in peer.heads[0].split("\r\n") if line]
    assert lines[0] == f"{method} /a%20b?q=1 HTTP/1.1"
    assert lines[1] == f"Host: {url.removeprefix('http://')}"
    assert sorted(lines[2:]) == expected
    assert reply == Reply(200, b"{}")


@pytest.mark.parametrize("header", [("X-Berth", "4\r\nX-Other: 5"), ("X\n", "4"), ("X", "\0")])
async def test_a_header_of_somebody_elses_making(header: tuple[str, str]) -> None:
    """Refused before anything is sent."""
    attempt = Attempt()
    async with speaking(saying(OK)) as (url, peer), opened() as session:
        with pytest.raises(ValueError, match="has characters that a header cannot have"):
            await exchange(session, url, headers=(header,), attempt=attempt)
    assert not attempt.left
    assert peer.connections == 0


@pytest.mark.parametrize(
    ("method", "said", "reply"),
    [
        ("PUT", b"HTTP/1.1 100 Continue\r\n\r\n" + OK, Reply(200, b"{}")),
        ("PUT", b"HTTP/1.1 103 Early Hints\r\nX: y\r\n\r\n" + OK, Reply(200, b"{}")),
        ("PUT", b"HTTP/1.1 204 No Content\r\n\r\n", Reply(204, b"")),
        ("GET", b"HTTP/1.1 304 Not Modified\r\n\r\n", Reply(304, b"")),
        ("HEAD", b"HTTP/1.1 200 OK\r\nContent-Length: 900\r\n\r\n", Reply(200, b"")),
        (
            "GET",
            b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n",
            Reply(200, b"{}"),
        ),
        ("GET", b"HTTP/1.1 200 OK\r\nContent-Length: 101\r\n\r\n" + b"x" * 101, Reply(200, None)),
    ],
)
async def test_answers(method: str, said: bytes, reply: Reply) -> None:
    """RFC 9110 §15.2 and §6.4, RFC 9112 §7.1: how an answer begins and where it ends."""
    async with speaking(saying(said)) as (url, _), opened() as session:
        assert await exchange(session, url, method, body=None) == reply


async def test_an_answer_read_whole_keeps_the_connection() -> None:
    """And one that was cut off does not."""
    long = b"HTTP/1.1 200 OK\r\nContent-Length: 101\r\n\r\n" + b"x" * 101
    async with speaking(saying(OK, long)) as (url, peer), opened() as session:
        for _ in range(3):
            await exchange(session, url)
    assert peer.connections == 2


async def test_what_is_no_http() -> None:
    """It went out, and one line says what came back."""
    attempt = Attempt()
    async with speaking(saying(b"how do you do\r\n\r\n")) as (url, _), opened() as session:
        with pytest.raises(BrokenError, match="what it answered is not HTTP") as caught:
            await exchange(session, url, attempt=attempt)
    assert attempt.left
    assert "\n" not in caught.value.failure.why


@pytest.mark.parametrize("said", [b"", b"HTTP/1.1 200 OK\r\nContent-Length: 9\r\n\r\n{"])
async def test_no_answer_in_time(said: bytes) -> None:
    """Neither a head nor a body is waited for beyond the limit, and the connection is given up."""

    async def script(
        peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        await peer.head(reader)
        writer.write(said if peer.connections == 1 else OK)
        await reader.read()

    attempt = Attempt()
    async with speaking(script) as (url, peer), opened() as session:
        with pytest.raises(TimeoutError):
            await exchange(session, url, attempt=attempt, timeout_ms=100)
        await exchange(session, url)
    assert attempt.left
    assert peer.connections == 2


async def test_a_connection_that_breaks_in_the_answer() -> None:
    """As aiohttp says it."""
    said = b"HTTP/1.1 200 OK\r\nContent-Length: 9\r\n\r\n{"
    async with speaking(saying(said)) as (url, _), opened() as session:
        with pytest.raises(aiohttp.ClientPayloadError):
            await exchange(session, url)
