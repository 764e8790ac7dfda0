"""A log-in: its token is fetched once, again when it has expired, and never shown."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field

import pytest
from aiohttp import web
from yarl import URL

from bridge.access.attempt import Attempt
from bridge.access.credentials import Credentials
from bridge.access.failure import AccessError
from bridge.access.http import Session
from bridge.access.login import LogIn
from bridge.engine.site import Access, Login
from tests.serving import serving

pytestmark = pytest.mark.asyncio


@dataclass
class Board:
    """Gives tokens that it forgets after ``lasts`` requests."""

    lasts: int = 1000
    reply: bytes | None = None
    status: int = 200
    bodies: list[object] = field(default_factory=list)
    served: int = 0
    tokens: int = 0
    left: int = 0

    async def serve(self, request: web.Request) -> web.Response:
        """Serve a log-in, or a request with a token."""
        if request.path == "/enter":
            self.bodies.append(await request.json())
            self.tokens += 1
            self.left = self.lasts
            if self.reply is not None:
                return web.Response(status=self.status, body=self.reply)
            return web.json_response({"berth": {"pass": f"mast-{self.tokens}"}})
        await asyncio.sleep(0.01)
        right = request.headers.get("X-Pass") == f"Pass mast-{self.tokens}"
        if not right or self.left < 1:
            return web.Response(status=401, body=b"x" * 1000)
        self.left -= 1
        self.served += 1
        return web.Response(body=await request.read())


def session_of(url: str, text: str = "keel:plum", *, connections: int = 1) -> Session:
    """A session that logs in at the board."""
    login = Login(url + "/enter", "/berth/pass", header="X-Pass", before="Pass ")
    credentials = Credentials({"LAMPWRIGHT_CREDENTIAL_DOOR": text})
    access = Access("log-in", "door", login=login)
    return Session(access, credentials, tls=False, connections=connections)


async def put(session: Session, url: str) -> tuple[int, bytes]:
    """Status and body of one request."""
    async with session.request(
        "PUT",
        URL(url + "/bars/1"),
        body=b"paint",
        headers=(),
        timeout_ms=3000,
        attempt=Attempt(),
    ) as response:
        return response.status, await response.read()


async def test_the_token_is_fetched_once() -> None:
    """Many requests, one log-in, and all on the one connection."""
    board = Board()
    async with serving(board.serve) as url:
        session = session_of(url)
        for _ in range(5):
            assert await put(session, url) == (200, b"paint")
        await session.close()
    assert (board.tokens, board.served) == (1, 5)
    assert board.bodies == [{"user": "keel", "password": "plum"}]


async def test_requests_at_once_share_a_log_in() -> None:
    """Four that need a token wait for the one that fetches it, and again when it expires."""
    board = Board(lasts=4)
    async with serving(board.serve) as url:
        session = session_of(url, connections=4)
        for count in (1, 2):
            results = await asyncio.gather(*(put(session, url) for _ in range(4)))
            assert results == [(200, b"paint")] * 4
            assert board.tokens == count
        await session.close()


async def test_a_token_that_expired_is_fetched_again() -> None:
    """Its 401 is not seen by whoever asked; the body goes out again whole."""
    board = Board(lasts=2)
    async with serving(board.serve) as url:
        session = session_of(url)
        for _ in range(5):
            assert await put(session, url) == (200, b"paint")
        await session.close()
    assert board.tokens == 3


async def test_a_new_token_that_is_not_taken_is_not_fetched_for_ever() -> None:
    """The 401 is the answer then: one log-in a request at most."""
    board = Board(lasts=0)
    async with serving(board.serve) as url:
        session = session_of(url)
        assert (await put(session, url))[0] == 401
        assert (await put(session, url))[0] == 401
        await session.close()
    assert board.tokens == 2


async def test_a_credential_may_be_the_body_itself() -> None:
    """Where the names of the members differ, the credential is the JSON object to post."""
    board = Board()
    async with serving(board.serve) as url:
        session = session_of(url, '{"hand": "keel", "knock": 3}')
        assert (await put(session, url))[0] == 200
        await session.close()
    assert board.bodies == [{"hand": "keel", "knock": 3}]


@pytest.mark.parametrize(
    ("status", "reply", "says"),
    [
        (403, b"{}", "answered 403: check the credential 'door'"),
        (302, b"{}", "answered 302"),
        (200, b"<html>", "did not answer in JSON"),
        (200, b"[" * 60_000, "gave no token at /berth/pass"),
        (200, b'{"berth": {}}', "gave no token at /berth/pass"),
        (200, b'{"berth": {"pass": 7}}', "gave no token at /berth/pass"),
        (200, b'{"berth": {"pass": "a\\r\\nb"}}', "gave no token at /berth/pass"),
        (200, b" " * 100_000, "check the credential 'door'"),
    ],
)
async def test_log_ins_that_give_no_token(status: int, reply: bytes, says: str) -> None:
    """One sentence each, without what was sent or received."""
    board = Board(status=status, reply=reply)
    async with serving(board.serve) as url:
        session = session_of(url)
        with pytest.raises(AccessError, match=says) as caught:
            await put(session, url)
        await session.close()
    assert "plum" not in str(caught.value)


async def test_neither_token_nor_password_is_shown() -> None:
    """The text form of a log-in is its address."""
    credentials = Credentials({"LAMPWRIGHT_CREDENTIAL_DOOR": "keel:plum"})
    log_in = LogIn(Login("http://door/enter", "/pass"), credentials.look_up("door"))
    assert repr(log_in) == "<LogIn at http://door/enter>"
