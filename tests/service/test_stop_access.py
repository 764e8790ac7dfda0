"""The stop step is let in as the daemon is: by a challenge, by a log-in, by a header."""

from __future__ import annotations

import asyncio
import hashlib
import re
import time
from dataclasses import dataclass, field
from typing import Any

import pytest
from aiohttp import web

from bridge.service.stop_controller import leave
from tests.service.test_stop_controller import controller
from tests.serving import serving

SECRET = {"LAMPWRIGHT_CREDENTIAL_RAIL": "keel:shed:plüm:3"}
LOGIN = {"method": "POST", "header": "X-Pass", "before": "key ", "token_at": "/keys/0"}


async def left(given: dict[str, Any]) -> str:
    """Why it is not off watch."""
    until_s = time.monotonic() + 10
    return await asyncio.to_thread(leave, given, None, SECRET, until_s)


@dataclass
class Board:
    """Wants what it wants, and counts."""

    taken: list[str] = field(default_factory=list)
    refused: int = 0
    log_ins: list[object] = field(default_factory=list)
    gives: object = "k7"
    challenge: str = 'Digest realm="shed", qop="auth", algorithm=SHA-256, nonce="n1"'

    async def digest(self, request: web.Request) -> web.StreamResponse:
        """RFC 7616 §3.4.1 with SHA-256, from its formula."""
        given = request.headers.get("Authorization", "")
        parts = dict(re.findall(r'(\w+)="?([^",]*)"?', given))
        if parts.get("response") != self._response(parts, request):
            self.refused += 1
            return web.Response(status=401, headers={"WWW-Authenticate": self.challenge})
        self.taken.append(f"{request.method} {request.raw_path} {parts['nc']}")
        return web.Response()

    def _response(self, parts: dict[str, str], request: web.Request) -> str:
        def hashed(text: str) -> str:
            return hashlib.sha256(text.encode()).hexdigest()

        first, second = (
            hashed("keel:shed:shed:plüm:3"),
            hashed(f"{request.method}:{request.raw_path}"),
        )
        return hashed(f"{first}:n1:{parts.get('nc')}:{parts.get('cnonce')}:auth:{second}")

    async def log_in(self, request: web.Request) -> web.StreamResponse:
        """A token for a name and a password, and nothing without it."""
        if request.path == "/enter":
            self.log_ins.append(await request.json())
            return web.json_response({"keys": [self.gives]})
        if request.headers.get("X-Pass") != "key k7":
            self.refused += 1
            return web.Response(status=401)
        self.taken.append(f"{request.method} {request.raw_path}")
        return web.Response()


@pytest.mark.asyncio
async def test_one_challenge_serves_all() -> None:
    """Each answer counts on; names need not be Latin."""
    board = Board()
    async with serving(board.digest) as url:
        assert await left(controller(f"{url}/wall", access="digest", credential="rail")) == ""
    assert board.refused == 1
    assert board.taken == ["PUT /wall/a 00000001", "PUT /wall/b 00000002"]


@pytest.mark.asyncio
async def test_a_digest_that_is_not_taken_is_said() -> None:
    """After one answer, not for ever."""
    board = Board(challenge='Digest realm="shed", qop="auth", nonce="another"')
    async with serving(board.digest) as url:
        why = await left(controller(url, access="digest", credential="rail"))
    assert why == "it answers PUT /a with 401 (and 1 more)"
    assert board.refused == 3


@pytest.mark.asyncio
async def test_a_challenge_of_another_kind_is_said() -> None:
    """With what was expected."""
    board = Board(challenge='Basic realm="shed"')
    async with serving(board.digest) as url:
        why = await left(controller(url, access="digest", credential="rail"))
    assert why.startswith("it asks for no digest that can be answered")


@pytest.mark.asyncio
async def test_a_log_in_gives_a_token_for_all() -> None:
    """Asked for once."""
    board = Board()
    async with serving(board.log_in) as url:
        login = {**LOGIN, "url": f"{url}/enter"}
        given = controller(url, access="log-in", credential="rail", login=login)
        assert await left(given) == ""
    assert board.log_ins == [{"user": "keel", "password": "shed:plüm:3"}]
    assert board.taken == ["PUT /a", "PUT /b"]


@pytest.mark.asyncio
@pytest.mark.parametrize(
    ("change", "gives", "why"),
    [
        ({}, 7, "the log-in at URL/enter gave no token at /keys/0"),
        ({"token_at": "/pass"}, "k7", "the log-in at URL/enter gave no token at /pass"),
        (
            {"token_at": "$.keys[0]"},
            "k7",
            "a token at $.keys[0] is more than the stop step can find",
        ),
        ({"method": "PUT", "url": "/a"}, "k7", "the log-in at URL/a answered 401: check"),
        ({}, "k8", "it answers PUT /a with 401 (and 1 more)"),
    ],
)
async def test_a_log_in_that_gives_nothing_is_said(
    change: dict[str, str], gives: object, why: str
) -> None:
    """In a line, with the credential to look at."""
    board = Board(gives=gives)
    async with serving(board.log_in) as url:
        login = {**LOGIN, "url": "/enter", **change}
        login["url"] = url + login["url"]
        given = controller(url, access="log-in", credential="rail", login=login)
        assert (await left(given)).startswith(why.replace("URL", url))
    assert board.taken == []


@pytest.mark.asyncio
async def test_a_challenge_takes_a_slot_of_the_limit() -> None:
    """Three requests, two of them in any 400 ms: the last has to wait."""
    board = Board()
    async with serving(board.digest) as url:
        given = controller(url, access="digest", credential="rail", limit=2, window_ms=400)
        began = time.monotonic()
        assert await left(given) == ""
    # What nobody knows counts as used just now, so the first waits too.
    assert time.monotonic() - began > 0.8
    assert len(board.taken) == 2
