"""Polling over real HTTP: what is heard, and one sentence for everything that is not."""

from __future__ import annotations

import asyncio
import gzip
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest
from aiohttp import web

from bridge.access.credentials import Credentials
from bridge.engine.events import Event, Heard, PollFailed
from bridge.engine.site import Access, Endpoint
from bridge.sources.http import MOST_BYTES, HttpSource
from tests.conftest import Recorder
from tests.serving import Peer, Script, serving, speaking

pytestmark = pytest.mark.asyncio

#: What a machine without a name server says instead of knowing that a name is unknown.
UNREACHED = "its name cannot be looked up now"
CREDENTIALS = Credentials({"LAMPWRIGHT_CREDENTIAL_PLOVER": "keel:plum"})


@asynccontextmanager
async def polling(endpoint: Endpoint, recorder: Recorder) -> AsyncIterator[HttpSource]:
    """A source of one endpoint, closed at the end."""
    source = HttpSource(
        {endpoint.id: endpoint}, recorder.feed, recorder.clock, CREDENTIALS, recorder.note
    )
    try:
        yield source
    finally:
        await source.close()


async def once(endpoint: Endpoint, recorder: Recorder) -> Event:
    """The event that one poll gives."""
    async with polling(endpoint, recorder) as source:
        return await again(source, endpoint.id, recorder)


async def again(source: HttpSource, name: str, recorder: Recorder) -> Event:
    """The event that a further poll gives."""
    before = len(recorder.events)
    source.poll(name)
    await recorder.until(lambda: len(recorder.events) > before)
    assert len(recorder.events) == before + 1
    return recorder.events[-1]


def answering(answer: bytes) -> Script:
    """A peer that answers every request with these bytes and hangs up."""

    async def script(
        peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        await peer.head(reader)
        writer.write(answer)

    return script


# What is heard.


async def test_a_body_is_heard_as_it_came(recorder: Recorder) -> None:
    """Method, headers and body go out as the settings have them; the bytes come in untouched."""
    seen: list[tuple[str, str | None, bytes]] = []

    async def now(request: web.Request) -> web.Response:
        seen.append((request.method, request.headers.get("X-Bench"), await request.read()))
        return web.Response(body=b'{"m": 41}\xff')

    async with serving(now) as url:
        endpoint = Endpoint("now", url, "POST", (("X-Bench", "1"),), b'{"q":1}')
        assert await once(endpoint, recorder) == Heard("http", "now", b'{"m": 41}\xff')
    assert seen == [("POST", "1", b'{"q":1}')]


async def test_headers_are_short_and_ask_for_no_packing(recorder: Recorder) -> None:
    """Small boards have header limits of 512 bytes."""
    async with speaking(answering(b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\n{}")) as (
        url,
        peer,
    ):
        assert await once(Endpoint("now", url + "/now"), recorder) == Heard("http", "now", b"{}")
    (head,) = peer.heads
    names = {line.partition(":")[0] for line in head.split("\r\n")[1:] if line}
    assert names == {"Host", "Accept-Encoding"}
    assert "Accept-Encoding: identity" in head


@pytest.mark.parametrize("header", ["ETag", "Last-Modified"])
async def test_what_is_unchanged_is_heard_without_a_body(recorder: Recorder, header: str) -> None:
    """The second poll carries the condition that goes with the first answer."""
    value = {"ETag": 'W/"7"', "Last-Modified": "Sun, 06 Nov 1994 08:49:37 GMT"}[header]
    asked = {"ETag": "If-None-Match", "Last-Modified": "If-Modified-Since"}[header]

    async def now(request: web.Request) -> web.Response:
        if request.headers.get(asked) == value:
            return web.Response(status=304)
        return web.Response(body=b"{}", headers={header: value})

    async with serving(now) as url, polling(Endpoint("now", url), recorder) as source:
        assert await again(source, "now", recorder) == Heard("http", "now", b"{}")
        assert await again(source, "now", recorder) == Heard("http", "now", None)
        source.forget("now")
        assert await again(source, "now", recorder) == Heard("http", "now", b"{}")


async def test_after_a_failure_the_whole_answer_is_asked_for(recorder: Recorder) -> None:
    """The core may have let go of what it knew: unchanged would tell it nothing."""
    conditions: list[str | None] = []
    statuses = iter((200, 500, 200))

    async def now(request: web.Request) -> web.Response:
        conditions.append(request.headers.get("If-None-Match"))
        return web.Response(status=next(statuses), body=b"{}", headers={"ETag": '"1"'})

    async with serving(now) as url, polling(Endpoint("now", url), recorder) as source:
        for _ in range(3):
            await again(source, "now", recorder)
    assert conditions == [None, '"1"', None]


async def test_unchanged_without_having_been_asked(recorder: Recorder) -> None:
    """A 304 to a request without a condition says nothing."""

    async def now(_request: web.Request) -> web.Response:
        return web.Response(status=304)

    async with serving(now) as url:
        event = await once(Endpoint("now", url), recorder)
    assert event == PollFailed("now", "answered 304 Not Modified")


# What is not.


@pytest.mark.parametrize(
    ("status", "headers", "why", "retry_after_ms"),
    [
        (500, {}, "answered 500 Internal Server Error", None),
        (503, {"Retry-After": "7"}, "answered 503 Service Unavailable", 7000),
        (429, {"Retry-After": "86400"}, "answered 429 Too Many Requests", 600_000),
        (
            503,
            {
                "Date": "Sun, 06 Nov 1994 08:49:37 GMT",
                "Retry-After": "Sun, 06 Nov 1994 08:49:39 GMT",
            },
            "answered 503 Service Unavailable",
            2000,
        ),
        (204, {}, "answered 204 No Content", None),
        (401, {}, "answered 401 Unauthorized", None),
        (799, {}, "answered 799", None),
    ],
)
async def test_other_statuses(
    recorder: Recorder,
    status: int,
    headers: dict[str, str],
    why: str,
    retry_after_ms: int | None,
) -> None:
    """The status in standard words, and how long the printer wants to be left alone."""

    async def now(_request: web.Request) -> web.Response:
        return web.Response(status=status, headers=headers, reason="Whatever it likes")

    async with serving(now) as url:
        event = await once(Endpoint("now", url), recorder)
    assert event == PollFailed("now", why, retry_after_ms)


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
async def test_redirects_are_refused(recorder: Recorder, status: int) -> None:
    """Nothing is asked elsewhere; the sentence says where it would have led."""
    asked: list[str] = []

    async def now(request: web.Request) -> web.Response:
        asked.append(request.path)
        return web.Response(status=status, headers={"Location": "/elsewhere"})

    async with serving(now) as url:
        event = await once(Endpoint("now", url + "/now"), recorder)
    assert asked == ["/now"]
    assert isinstance(event, PollFailed)
    assert "leads to '/elsewhere': not followed" in event.why


@pytest.mark.parametrize("chunked", [False, True])
async def test_an_enormous_answer_is_cut_off(recorder: Recorder, *, chunked: bool) -> None:
    """Whether it says its length or not, no more than the cap is taken; the cap itself is."""
    sent = 0

    async def now(request: web.Request) -> web.StreamResponse:
        nonlocal sent
        size = int(request.query["size"])
        response = web.StreamResponse()
        if not chunked:
            response.content_length = size
        await response.prepare(request)
        while sent < size:
            step = min(65_536, size - sent)
            await response.write(bytes(step))
            sent += step
        return response

    async with serving(now) as url:
        event = await once(Endpoint("now", f"{url}/?size={50 * MOST_BYTES}"), recorder)
        assert event == PollFailed("now", f"answered with more than {MOST_BYTES} bytes")
        assert sent < 20 * MOST_BYTES
        sent = 0
        event = await once(Endpoint("now", f"{url}/?size={MOST_BYTES}"), recorder)
    assert isinstance(event, Heard)
    assert event.body == bytes(MOST_BYTES)


async def test_a_packed_answer_is_refused(recorder: Recorder) -> None:
    """A small body may unpack to any size: it was not asked for and is not unpacked."""

    async def now(_request: web.Request) -> web.Response:
        return web.Response(body=gzip.compress(b"{}"), headers={"Content-Encoding": "gzip"})

    async with serving(now) as url:
        event = await once(Endpoint("now", url), recorder)
    assert event == PollFailed("now", "answered packed as 'gzip', which was not asked")


HEAD = b"HTTP/1.1 200 OK\r\n"


@pytest.mark.parametrize(
    ("answer", "why"),
    [
        (b"", "the connection was closed before an answer"),
        (HEAD + b"Content-Length: 100\r\n\r\n{", "the answer was cut short"),
        (HEAD + b"Transfer-Encoding: chunked\r\n\r\n5\r\n{", "the answer was cut short"),
        (b"hello\r\n\r\n", "what it answered is not HTTP"),
        (HEAD + b"Content-Length: many\r\n\r\n", "what it answered is not HTTP"),
        (HEAD + b"X: " + b"x" * 100_000 + b"\r\n\r\n", "what it answered is not HTTP"),
    ],
)
async def test_answers_that_break_off(recorder: Recorder, answer: bytes, why: str) -> None:
    """Each ends in one sentence, and in one request: nothing is tried again behind the core."""
    async with speaking(answering(answer)) as (url, peer):
        event = await once(Endpoint("now", url), recorder)
    assert isinstance(event, PollFailed)
    assert event.why.startswith(why)
    assert peer.connections == 1


async def test_an_answer_that_hangs(recorder: Recorder) -> None:
    """The time-out is for the whole answer, its body included."""

    async def script(
        peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        await peer.head(reader)
        writer.write(HEAD + b"Content-Length: 100\r\n\r\n")
        while True:
            writer.write(b"x")
            await asyncio.sleep(0.05)

    async with speaking(script) as (url, _):
        event = await once(Endpoint("now", url, timeout_ms=200), recorder)
    assert event == PollFailed("now", "no answer within 200 ms")


@pytest.mark.parametrize(
    ("url", "why"),
    [
        ("http://127.0.0.1:{port}/", "connection refused"),
        ("http://nowhere.invalid/", "there is no host of that name"),
        ("http://a..b/", "there can be no host of that name"),
        ("https://{open}/", "the port does not speak TLS"),
        ("plover/now", "'plover/now' is no address of HTTP"),
    ],
)
async def test_nobody_there(recorder: Recorder, free_port: int, url: str, why: str) -> None:
    """Switched off, misspelt, no name at all, not speaking TLS, no address."""

    async def now(_request: web.Request) -> web.Response:
        return web.Response()

    async with serving(now) as served:
        address = url.format(port=free_port, open=served.removeprefix("http://"))
        event = await once(Endpoint("now", address), recorder)
    assert event in {PollFailed("now", why), PollFailed("now", UNREACHED)}


async def test_a_missing_credential_fails_the_poll(recorder: Recorder) -> None:
    """And says where to put it."""
    access = Access("bearer", "kestrel")
    event = await once(Endpoint("now", "http://127.0.0.1:9/", access=access), recorder)
    assert isinstance(event, PollFailed)
    assert "LAMPWRIGHT_CREDENTIAL_KESTREL" in event.why


# How it is asked.


async def test_one_poll_at_a_time(recorder: Recorder) -> None:
    """A second wish while one is under way sends nothing; its answer is for both."""
    served = 0

    async def now(_request: web.Request) -> web.Response:
        nonlocal served
        served += 1
        await asyncio.sleep(0.1)
        return web.Response(body=b"{}")

    async with serving(now) as url, polling(Endpoint("now", url), recorder) as source:
        source.poll("now")
        await asyncio.sleep(0.02)
        await again(source, "now", recorder)
    assert served == 1


async def test_a_connection_is_kept_and_a_dropped_one_is_replaced(recorder: Recorder) -> None:
    """Polls share a connection; one that was closed meanwhile costs no poll."""

    async def script(
        peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        for _ in range(2):
            await peer.head(reader)
            writer.write(HEAD + b"Content-Length: 2\r\n\r\n{}")

    async with speaking(script) as (url, peer), polling(Endpoint("now", url), recorder) as source:
        for _ in range(6):
            assert await again(source, "now", recorder) == Heard("http", "now", b"{}")
    assert peer.connections == 3


async def test_closing_reports_nothing(recorder: Recorder) -> None:
    """What is under way ends without an event, and run() ends by closing."""

    async def now(_request: web.Request) -> web.Response:
        await asyncio.sleep(30)
        return web.Response()

    async with serving(now) as url, polling(Endpoint("now", url), recorder) as source:
        running = asyncio.create_task(source.run())
        source.poll("now")
        await asyncio.sleep(0.05)
        running.cancel()
        await asyncio.wait({running})
        assert not [task for task in asyncio.all_tasks() if task.get_name() == "poll now"]
    assert recorder.events == []


# Asks.


async def test_a_post_makes_a_printer_speak(recorder: Recorder) -> None:
    """The payload and its kind, let in as the settings say; nothing is reported."""
    seen: list[tuple[bytes, str, str | None]] = []

    async def ask(request: web.Request) -> web.Response:
        body = await request.read()
        seen.append((body, request.content_type, request.headers.get("Authorization")))
        return web.Response()

    async with serving(ask) as url, polling(Endpoint("now", url), recorder) as source:
        source.post(url + "/speak", b'{"all": true}', Access("basic", "plover"))
        source.post(url + "/speak", b"speak", Access())
        await recorder.until(lambda: len(seen) == 2)
    # RFC 7617: base64 of keel:plum, by coreutils.
    assert sorted(seen, key=lambda one: one[1]) == [
        (b'{"all": true}', "application/json", "Basic a2VlbDpwbHVt"),
        (b"speak", "text/plain", None),
    ]
    assert (recorder.events, recorder.notes) == ([], [])


async def test_a_post_that_fails_is_noted_until_it_changes(recorder: Recorder) -> None:
    """One line a reason, not one a try; a success in between makes it news again."""
    statuses = [500, 500, 503, 200, 503]

    async def ask(_request: web.Request) -> web.Response:
        return web.Response(status=statuses.pop(0))

    async with serving(ask) as url, polling(Endpoint("now", url), recorder) as source:
        while statuses:
            left = len(statuses)
            source.post(url, b"speak", Access())
            await recorder.until(lambda left=left: len(statuses) < left)  # type: ignore[misc]
            await asyncio.sleep(0.02)
    assert [note.fields["why"] for note in recorder.noted("asking failed")] == [
        "answered 500 Internal Server Error",
        "answered 503 Service Unavailable",
        "answered 503 Service Unavailable",
    ]
