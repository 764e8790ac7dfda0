"""What lets us in over HTTP, against servers that check it; and TLS to them."""

from __future__ import annotations

import hashlib
import re
import ssl
from collections.abc import Callable

import aiohttp
import pytest
from aiohttp import web
from yarl import URL

from bridge.access.attempt import Attempt
from bridge.access.credentials import Credentials
from bridge.access.failure import AccessError
from bridge.access.http import Session, failure_of_client, status_words
from bridge.engine.site import Access
from tests.conftest import Certificates
from tests.serving import serving

pytestmark = pytest.mark.asyncio

CREDENTIALS = Credentials(
    {"LAMPWRIGHT_CREDENTIAL_DOOR": "keel:plüm:3", "LAMPWRIGHT_CREDENTIAL_TOKEN": "gunwale.7"}
)


async def statuses(access: Access, url: str, times: int = 1) -> list[int]:
    """The statuses of so many requests in one session."""
    session = Session(access, CREDENTIALS, tls=url.startswith("https:"))
    found = []
    try:
        for _ in range(times):
            async with session.request(
                "GET",
                URL(url),
                body=None,
                headers=(),
                timeout_ms=3000,
                attempt=Attempt(),
            ) as response:
                found.append(response.status)
    finally:
        await session.close()
    return found


def wants(name: str, value: str) -> Callable[[web.Request], bool]:
    """A server's look at one header."""
    return lambda request: request.headers.get(name) == value


@pytest.mark.parametrize(
    ("access", "opens"),
    [
        # printf 'keel:plüm:3' | base64
        (Access("basic", "door"), wants("Authorization", "Basic a2VlbDpwbMO8bToz")),
        (Access("bearer", "token"), wants("Authorization", "Bearer gunwale.7")),
        (Access("header", "token", "X-Latch"), wants("X-Latch", "gunwale.7")),
        (Access(), lambda request: "Authorization" not in request.headers),
    ],
)
async def test_a_header_lets_us_in(access: Access, opens: Callable[[web.Request], bool]) -> None:
    """RFC 7617, RFC 6750, and a header of the device's own."""

    async def board(request: web.Request) -> web.Response:
        return web.Response(status=200 if opens(request) else 401)

    async with serving(board) as url:
        assert await statuses(access, url) == [200]


async def test_digest_lets_us_in() -> None:
    """RFC 7616 §3.4.1 with SHA-256, computed here from its formula; one challenge serves all."""
    asked: list[bool] = []

    def digest(text: str) -> str:
        return hashlib.sha256(text.encode()).hexdigest()

    async def board(request: web.Request) -> web.Response:
        given = request.headers.get("Authorization", "")
        asked.append(bool(given))
        if not given:
            challenge = 'Digest realm="shed", qop="auth", algorithm=SHA-256, nonce="n1"'
            return web.Response(status=401, headers={"WWW-Authenticate": challenge})
        parts = dict(re.findall(r'(\w+)="?([^",]*)"?', given))
        first = digest("keel:shed:plüm:3")
        second = digest(f"GET:{request.raw_path}")
        middle = f"n1:{parts['nc']}:{parts['cnonce']}:auth"
        right = parts["response"] == digest(f"{first}:{middle}:{second}")
        return web.Response(status=200 if right else 403)

    async with serving(board) as url:
        assert await statuses(Access("digest", "door"), f"{url}/who?a=b%20c", 2) == [200, 200]
    assert asked == [False, True, True]


@pytest.mark.parametrize(
    ("access", "says"),
    [
        (Access("basic"), "access by basic needs the name of a credential"),
        (Access("basic", "token"), "'token' has no colon"),
        (Access("bearer", "hatch"), "there is no credential 'hatch'"),
        (Access("log-in", "door"), "a log-in needs the request that gives its token"),
        (Access(pinned="12:34"), "expected 64 hexadecimal digits"),
        (Access(ca_file="/nowhere.pem"), "ca_file /nowhere.pem cannot be read"),
    ],
)
async def test_access_that_cannot_be_had(access: Access, says: str) -> None:
    """One sentence before anything is sent."""
    with pytest.raises(AccessError, match=says):
        Session(access, CREDENTIALS, tls=True)


async def answer(_request: web.Request) -> web.Response:
    """A board behind TLS."""
    return web.Response()


async def test_tls_by_authority_and_by_pin(certificates: Certificates) -> None:
    """Both ways of trusting a board of one's own, and that each trusts no other."""
    issued, lone = (ssl.create_default_context(ssl.Purpose.CLIENT_AUTH) for _ in range(2))
    issued.load_cert_chain(certificates.server, certificates.server_key)
    lone.load_cert_chain(certificates.lone, certificates.lone_key)
    by_authority = Access(ca_file=str(certificates.authority))
    by_pin = Access(pinned=certificates.lone_pin)
    async with serving(answer, context=issued) as url:
        assert await statuses(by_authority, url) == [200]
        assert (await _why(by_pin, url)).startswith("its certificate is not the pinned one")
        assert (await _why(Access(), url)).startswith("its certificate is not trusted")
    async with serving(answer, context=lone) as url:
        assert await statuses(by_pin, url) == [200]
        assert (await _why(by_authority, url)).startswith("its certificate is not trusted")


async def _why(access: Access, url: str) -> str:
    with pytest.raises(aiohttp.ClientError) as caught:
        await statuses(access, url)
    return failure_of_client(caught.value).why


@pytest.mark.parametrize(
    ("status", "words"), [(200, "200 OK"), (503, "503 Service Unavailable"), (799, "799")]
)
async def test_status_words(status: int, words: str) -> None:
    """RFC 9110's phrases; a number that has none stands alone."""
    assert status_words(status) == words


@pytest.mark.parametrize(
    ("error", "why"),
    [
        (aiohttp.ClientPayloadError("x"), "the answer was cut short"),
        (aiohttp.ClientOSError(111, "x"), "connection refused"),
        (aiohttp.ServerTimeoutError(), "no answer in time"),
        (aiohttp.InvalidURL("bench"), "'bench' is no address of HTTP"),
        (aiohttp.ClientError("Odd:\nlong story"), "odd"),
        (aiohttp.ClientError(), "ClientError"),
    ],
)
async def test_each_error_has_its_sentence(error: aiohttp.ClientError, why: str) -> None:
    """One line each; whatever else there is says its first line."""
    assert failure_of_client(error).why == why
