"""Requests to controllers over real HTTP: each ends in one event that says what became of it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace

import pytest
from aiohttp import web

from bridge.access.credentials import Credentials
from bridge.controllers.http import MOST_REPLY_BYTES, ControllerClient
from bridge.engine.actions import Request
from bridge.engine.events import Answered, Event, Fate, Unanswered
from bridge.engine.site import Access, Controller
from tests.conftest import Recorder
from tests.serving import Peer, Script, serving, speaking

pytestmark = pytest.mark.asyncio

CREDENTIALS = Credentials({"LAMPWRIGHT_CREDENTIAL_DOOR": "keel:plum"})
OK = b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\n{}"


@asynccontextmanager
async def client_of(
    url: str, recorder: Recorder, *, access: Access | None = None, connections: int = 1
) -> AsyncIterator[ControllerClient]:
    """A client of one controller called door."""
    door = Controller("door", url, "bars", 180, access=access or Access())
    client = ControllerClient(
        {"door": door},
        recorder.feed,
        recorder.clock,
        CREDENTIALS,
        recorder.note,
        {"door": connections},
    )
    try:
        yield client
    finally:
        await client.close()


@pytest.fixture(params=["none", "digest"])
def access(request: pytest.FixtureRequest) -> Access:
    """Both ways to the wire: by ourselves, and by aiohttp's client where something goes between.

    Nobody here asks for the digest, so that it makes no difference.
    """
    return Access() if request.param == "none" else Access("digest", "door")


def request(
    number: int = 1,
    method: str = "PUT",
    target: str = "/bars/1",
    *,
    timeout_ms: int = 3000,
) -> Request:
    """A request to the door."""
    headers = (("Content-Type", "application/json"),)
    body = b'{"paint": "ff2a1a"}' if method in {"PUT", "POST"} else None
    return Request(number, "door", "show", method, target, headers, body, timeout_ms)


async def outcome(client: ControllerClient, sent: Request, recorder: Recorder) -> Event:
    """The one event that a request ends in."""
    before = len(recorder.events)
    client.send(sent)
    await recorder.until(lambda: len(recorder.events) > before)
    assert len(recorder.events) == before + 1
    return recorder.events[-1]


def answering(*answers: bytes) -> Script:
    """A peer that gives these answers, one a request, and then hangs up."""

    async def script(
        peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        for answer in answers:
            await peer.head(reader)
            writer.write(answer)

    return script


# Answered.


async def test_an_answer(recorder: Recorder, access: Access) -> None:
    """What was to go on the wire went there, and status and bytes come back untouched."""
    seen: list[tuple[str, str, str, bytes]] = []

    async def board(request: web.Request) -> web.Response:
        body = await request.read()
        seen.append((request.method, request.raw_path, request.content_type, body))
        return web.Response(status=202, body=b"\xff not json")

    async with serving(board) as url, client_of(url + "/", recorder, access=access) as client:
        target = "/bars/a%2Fb%20c?q=%7B1%7D&w=x+y"
        event = await outcome(client, request(7, "PUT", target), recorder)
    assert event == Answered(7, 202, b"\xff not json")
    assert seen == [("PUT", target, "application/json", b'{"paint": "ff2a1a"}')]


async def test_headers_are_short(recorder: Recorder, access: Access) -> None:
    """Nothing goes along that the dialect did not ask for and HTTP does not need."""
    async with (
        speaking(answering(OK)) as (url, peer),
        client_of(url, recorder, access=access) as client,
    ):
        await outcome(client, request(), recorder)
    names = [line.partition(":")[0] for line in peer.heads[0].split("\r\n")[1:] if line]
    assert sorted(names) == ["Accept-Encoding", "Content-Length", "Content-Type", "Host"]


@pytest.mark.parametrize("status", [500, 404, 301, 302, 303, 307, 308])
async def test_any_status_is_an_answer_and_a_redirect_is_not_followed(
    recorder: Recorder, access: Access, status: int
) -> None:
    """What to make of it is the core's affair; nothing is sent anywhere else."""
    asked: list[str] = []

    async def board(request: web.Request) -> web.Response:
        asked.append(request.path)
        return web.Response(status=status, body=b"no", headers={"Location": "/elsewhere"})

    async with serving(board) as url, client_of(url, recorder, access=access) as client:
        assert await outcome(client, request(), recorder) == Answered(1, status, b"no")
    assert asked == ["/bars/1"]


async def test_a_cookie_is_not_kept(recorder: Recorder, access: Access) -> None:
    """A client without a memory cannot be in two sessions."""
    cookies: list[dict[str, str]] = []

    async def board(request: web.Request) -> web.Response:
        cookies.append(dict(request.cookies))
        return web.Response(headers={"Set-Cookie": "berth=4"})

    async with serving(board) as url, client_of(url, recorder, access=access) as client:
        await outcome(client, request(1), recorder)
        await outcome(client, request(2), recorder)
    assert cookies == [{}, {}]


async def test_one_connection_serves_all(recorder: Recorder, access: Access) -> None:
    """Requests at once share the one connection that a small board can spare."""
    async with (
        speaking(answering(*(OK,) * 5)) as (url, peer),
        client_of(url, recorder, access=access) as client,
    ):
        for number in range(5):
            client.send(request(number))
        await recorder.until(lambda: len(recorder.events) == 5)
    assert peer.connections == 1
    assert {event.request for event in recorder.of(Answered) if isinstance(event, Answered)} == {
        *range(5)
    }


async def test_more_connections_where_the_dialect_says_so(
    recorder: Recorder, access: Access
) -> None:
    """Two may be under way at once then, and no more than two."""
    most = now = 0

    async def board(_request: web.Request) -> web.Response:
        nonlocal most, now
        now += 1
        most = max(most, now)
        await asyncio.sleep(0.05)
        now -= 1
        return web.Response()

    async with (
        serving(board) as url,
        client_of(url, recorder, connections=2, access=access) as client,
    ):
        for number in range(6):
            client.send(request(number))
        await recorder.until(lambda: len(recorder.events) == 6)
    assert most == 2


# Unanswered, and what may have become of it.


async def test_nobody_there(recorder: Recorder, access: Access, free_port: int) -> None:
    """Without a connection nothing can have been applied."""
    async with client_of(f"http://127.0.0.1:{free_port}", recorder, access=access) as client:
        event = await outcome(client, request(), recorder)
    assert event == Unanswered(1, Fate.NEVER_LEFT, "connection refused")


@pytest.mark.parametrize(
    ("target", "headers"),
    [("/bars/1", (("X-Bar", "1\r\nX-Other: 2"),)), ("/bars/1\r\nX-Other: 2", ())],
)
async def test_what_cannot_be_sent(
    recorder: Recorder, access: Access, target: str, headers: tuple[tuple[str, str], ...]
) -> None:
    """A request that would smuggle in a line is reported like any other that never left."""
    async with (
        speaking(answering(OK)) as (url, peer),
        client_of(url, recorder, access=access) as client,
    ):
        smuggling = replace(request(target=target), headers=headers)
        event = await outcome(client, smuggling, recorder)
    assert isinstance(event, Unanswered)
    assert event.why.startswith("the request cannot be sent: ")
    assert peer.heads == []


async def test_a_missing_credential(recorder: Recorder) -> None:
    """Nothing is sent without what lets it in; the sentence says where to put that."""
    access = Access("bearer", "hatch")
    async with client_of("http://127.0.0.1:9", recorder, access=access) as client:
        event = await outcome(client, request(), recorder)
    assert isinstance(event, Unanswered)
    assert event.fate is Fate.NEVER_LEFT
    assert "LAMPWRIGHT_CREDENTIAL_HATCH" in event.why


HEAD = b"HTTP/1.1 200 OK\r\n"


@pytest.mark.parametrize("method", ["PUT", "POST", "GET"])
@pytest.mark.parametrize(
    ("answer", "why"),
    [
        (b"", "the connection was closed before an answer"),
        (HEAD + b"Content-Length: 100\r\n\r\n{", "the answer was cut short"),
        (HEAD + b"Transfer-Encoding: chunked\r\n\r\n5\r\n{", "the answer was cut short"),
        (b"hello\r\n\r\n", "what it answered is not HTTP"),
    ],
)
async def test_answers_that_break_off(
    recorder: Recorder, access: Access, method: str, answer: bytes, why: str
) -> None:
    """It may have been applied; and it went out once, for the limiter let one go."""
    async with (
        speaking(answering(answer)) as (url, peer),
        client_of(url, recorder, access=access) as client,
    ):
        event = await outcome(client, request(method=method), recorder)
    assert isinstance(event, Unanswered)
    assert event.fate is Fate.MAYBE_APPLIED
    assert event.why.startswith(why)
    assert len(peer.heads) == 1


async def test_an_answer_that_hangs(recorder: Recorder, access: Access) -> None:
    """The time-out is exact to a few milliseconds, above five seconds too, and frees the way."""

    async def script(
        peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        await peer.head(reader)
        if peer.connections == 1:
            await asyncio.sleep(30)
        writer.write(OK)

    async with speaking(script) as (url, _), client_of(url, recorder, access=access) as client:
        start = asyncio.get_running_loop().time()
        event = await outcome(client, request(timeout_ms=300), recorder)
        assert 0.3 <= asyncio.get_running_loop().time() - start < 1
        assert event == Unanswered(1, Fate.MAYBE_APPLIED, "no answer within 300 ms")
        assert await outcome(client, request(2), recorder) == Answered(2, 200, b"{}")


async def test_a_request_that_waited_for_the_connection_in_vain(
    recorder: Recorder, access: Access
) -> None:
    """The second one never left: the first held the only connection all the time."""

    async def script(peer: Peer, reader: asyncio.StreamReader, _writer: object) -> None:
        await peer.head(reader)
        await asyncio.sleep(30)

    async with speaking(script) as (url, peer), client_of(url, recorder, access=access) as client:
        client.send(request(1, timeout_ms=600))
        client.send(request(2, timeout_ms=200))
        await recorder.until(lambda: len(recorder.events) == 2)
    assert recorder.events == [
        Unanswered(2, Fate.NEVER_LEFT, "no answer within 200 ms"),
        Unanswered(1, Fate.MAYBE_APPLIED, "no answer within 600 ms"),
    ]
    assert len(peer.heads) == 1


@pytest.mark.parametrize("length", [True, False])
async def test_an_enormous_reply(recorder: Recorder, access: Access, *, length: bool) -> None:
    """It is cut off at the cap; the largest that is allowed comes through."""

    async def board(request: web.Request) -> web.StreamResponse:
        body = bytes(int(request.query["size"]))
        if length:
            return web.Response(body=body)
        response = web.StreamResponse()
        await response.prepare(request)
        await response.write(body)
        return response

    async with serving(board) as url, client_of(url, recorder, access=access) as client:
        target = "/?size="
        event = await outcome(client, request(1, "GET", f"{target}{MOST_REPLY_BYTES}"), recorder)
        assert event == Answered(1, 200, bytes(MOST_REPLY_BYTES))
        size = MOST_REPLY_BYTES + 1
        event = await outcome(client, request(2, "GET", f"{target}{size}"), recorder)
    why = f"answered 200 OK with more than {MOST_REPLY_BYTES} bytes"
    assert event == Unanswered(2, Fate.MAYBE_APPLIED, why)


# A kept connection that was dropped meanwhile.


def dropping(*, after: bytes) -> Script:
    """A peer whose first connection answers once and is dropped at the next request."""

    async def script(
        peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        first = peer.connections == 1
        await peer.head(reader)
        writer.write(OK)
        await peer.head(reader)
        writer.write(after if first else OK)

    return script


@pytest.mark.parametrize("method", ["PUT", "GET"])
async def test_it_is_tried_once_more_where_that_changes_nothing(
    recorder: Recorder, access: Access, method: str
) -> None:
    """RFC 9112 §9.3.1: an idempotent request is repeated on a new connection, unnoticed."""
    async with (
        speaking(dropping(after=b"")) as (url, peer),
        client_of(url, recorder, access=access) as client,
    ):
        await outcome(client, request(1, method), recorder)
        assert await outcome(client, request(2, method), recorder) == Answered(2, 200, b"{}")
    assert (peer.connections, len(peer.heads)) == (2, 3)


async def test_it_is_not_tried_again_where_that_could_do_it_twice(
    recorder: Recorder, access: Access
) -> None:
    """A POST may have been applied before the connection went."""
    async with (
        speaking(dropping(after=b"")) as (url, peer),
        client_of(url, recorder, access=access) as client,
    ):
        await outcome(client, request(1, "POST"), recorder)
        event = await outcome(client, request(2, "POST"), recorder)
    assert isinstance(event, Unanswered)
    assert event.fate is Fate.MAYBE_APPLIED
    assert len(peer.heads) == 2


async def test_it_is_tried_once_more_and_not_twice(recorder: Recorder, access: Access) -> None:
    """A board that falls over at each request gets one repetition, not a hail."""

    async def script(
        peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        await peer.head(reader)
        if peer.connections == 1:
            writer.write(OK)
            await peer.head(reader)

    async with speaking(script) as (url, peer), client_of(url, recorder, access=access) as client:
        await outcome(client, request(1), recorder)
        event = await outcome(client, request(2), recorder)
    assert event == Unanswered(2, Fate.MAYBE_APPLIED, "the connection was closed before an answer")
    assert len(peer.heads) == 3


async def test_a_connection_closed_long_ago_costs_nothing(
    recorder: Recorder, access: Access
) -> None:
    """Its end was seen: the next request opens a new one at once, whatever its method."""
    async with (
        speaking(answering(OK)) as (url, peer),
        client_of(url, recorder, access=access) as client,
    ):
        for number in range(3):
            assert isinstance(await outcome(client, request(number, "POST"), recorder), Answered)
            await asyncio.sleep(0.02)
    assert (peer.connections, len(peer.heads)) == (3, 3)


async def test_closing_reports_nothing(recorder: Recorder, access: Access) -> None:
    """What is under way at the end is ended, and no task is left."""

    async def board(_request: web.Request) -> web.Response:
        await asyncio.sleep(30)
        return web.Response()

    async with serving(board) as url, client_of(url, recorder, access=access) as client:
        client.send(request(5))
        await asyncio.sleep(0.05)
        await client.close()
        assert not [task for task in asyncio.all_tasks() if task.get_name().startswith("request")]
    assert recorder.events == []
