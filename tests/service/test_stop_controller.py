"""One controller that the stop step leaves off watch, whatever it answers."""

from __future__ import annotations

import asyncio
import mmap
import ssl
import struct
import time
from dataclasses import dataclass, field
from typing import Any

import pytest
from aiohttp import web

from bridge.service.stop_controller import INSTANT, OutOfTimeError, Slots, leave
from tests.conftest import Certificates
from tests.serving import Peer, serving, speaking

TOLD = ("PUT /a", "PUT /b")


def controller(url: str, **more: object) -> dict[str, Any]:
    """As it stands in the file: two requests, no limit."""
    request: dict[str, object] = {
        "method": "PUT",
        "headers": [],
        "body": "{}",
        "accepts": [],
        "reply": None,
    }
    return {
        "name": "rail",
        "url": url,
        "access": "none",
        "credential": None,
        "header": None,
        "login": None,
        "ca_file": None,
        "pinned": None,
        "limit": None,
        "window_ms": 1000,
        "timeout_ms": 500,
        "sent": 0,
        "requests": [{**request, "target": "/a"}, {**request, "target": "/b"}],
        **more,
    }


def replying(url: str, place: str, wanted: object) -> dict[str, Any]:
    """With what a good answer says."""
    given = controller(url)
    for request in given["requests"]:
        request["reply"] = {"at": place, "wanted": wanted}
    return given


@dataclass
class Answers:
    """What it answers, one after the other, the last for ever."""

    answers: list[tuple[int, str]] = field(default_factory=lambda: [(200, "")])
    asked: list[str] = field(default_factory=list)
    at: list[float] = field(default_factory=list)
    headers: dict[str, str] = field(default_factory=dict)

    async def answer(self, request: web.Request) -> web.StreamResponse:
        """Write it down and answer."""
        await request.read()
        self.asked.append(f"{request.method} {request.path}")
        self.at.append(time.monotonic())
        status, text = self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]
        return web.Response(status=status, text=text, headers=self.headers)


async def left(given: dict[str, Any], seconds: float = 10.0, **environment: str) -> str:
    """Why it is not off watch."""
    until_s = time.monotonic() + seconds
    return await asyncio.to_thread(leave, given, None, environment, until_s)


@pytest.mark.asyncio
async def test_a_controller_that_takes_everything_is_asked_once() -> None:
    """In order."""
    answers = Answers()
    async with serving(answers.answer) as url:
        assert await left(controller(url)) == ""
    assert tuple(answers.asked) == TOLD


@pytest.mark.asyncio
async def test_the_address_may_have_a_path_of_its_own() -> None:
    """Which stands before what the dialect says."""
    answers = Answers()
    async with serving(answers.answer) as url:
        assert await left(controller(f"{url}/boat/house")) == ""
    assert answers.asked == ["PUT /boat/house/a", "PUT /boat/house/b"]


@pytest.mark.asyncio
@pytest.mark.parametrize("status", [429, 503, 500])
async def test_one_that_is_busy_is_asked_again(status: int) -> None:
    """A light must not go on saying that all is well because of one bad moment."""
    answers = Answers([(status, ""), (200, "")])
    async with serving(answers.answer) as url:
        assert await left(controller(url)) == ""
    assert answers.asked == ["PUT /a", *TOLD]
    assert answers.at[1] - answers.at[0] > 0.29


@pytest.mark.asyncio
async def test_what_it_asks_to_be_waited_is_waited() -> None:
    """Where there is time for it."""
    answers = Answers([(503, ""), (200, "")], headers={"Retry-After": "1"})
    async with serving(answers.answer) as url:
        assert await left(controller(url)) == ""
    assert answers.at[1] - answers.at[0] > 0.99


@pytest.mark.asyncio
async def test_what_is_refused_holds_up_nothing_else() -> None:
    """It is not asked for again; the other segments are told."""
    answers = Answers([(404, ""), (200, "")])
    async with serving(answers.answer) as url:
        assert await left(controller(url)) == "it answers PUT /a with 404"
    assert tuple(answers.asked) == TOLD


@pytest.mark.asyncio
async def test_several_refusals_are_one_line() -> None:
    """The first, and how many more."""
    async with serving(Answers([(302, "")]).answer) as url:
        assert await left(controller(url)) == "it answers PUT /a with 302 (and 1 more)"


@pytest.mark.asyncio
@pytest.mark.parametrize(
    ("place", "wanted", "body", "taken"),
    [
        ("/done", True, '{"done": true}', True),
        ("/done", True, '{"done": 1}', False),
        ("/done", 1, '{"done": 1.0}', True),
        ("/done", True, '{"fault": "busy"}', False),
        ("/list/1/a~1b~0c", "x", '{"list": [0, {"a/b~c": "x"}]}', True),
        ("/list/7", "x", '{"list": []}', False),
        ("/list/x", "x", '{"list": []}', False),
        ("/a/b", "x", '{"a": 3}', False),
        ("", True, "true", True),
        ("", True, "no JSON", False),
        ("", True, "[" * 100_000, False),
    ],
)
async def test_what_a_good_answer_says_is_looked_for(
    place: str, wanted: object, body: str, *, taken: bool
) -> None:
    """Some answer 200 with an error inside."""
    answers = Answers([(200, body)])
    async with serving(answers.answer) as url:
        why = await left(replying(url, place, wanted), seconds=7.2)
    assert (why == "") is taken
    assert taken or "does not say that it took it" in why


@pytest.mark.asyncio
async def test_only_the_statuses_that_the_dialect_accepts_mean_taken() -> None:
    """Where it names them."""
    given = controller("")
    given["requests"][0]["accepts"] = [202]
    async with serving(Answers([(200, "")]).answer) as url:
        assert await left({**given, "url": url}) == "it answers PUT /a with 200"


@pytest.mark.asyncio
async def test_a_lost_connection_is_tried_again() -> None:
    """And given up after some tries; the next request would be as much in vain."""

    async def hangs_up_once(peer: Peer, reader: asyncio.StreamReader, writer: Any) -> None:  # noqa: ANN401 - as asyncio
        await peer.head(reader)
        if peer.connections > 1:
            writer.write(b"HTTP/1.1 200 OK\r\nContent-Length: 0\r\n\r\n")

    async with speaking(hangs_up_once) as (url, peer):
        assert await left(controller(url)) == ""
        assert [head.split(" HTTP")[0] for head in peer.heads] == ["PUT /a", *TOLD]

    async def hangs_up(peer: Peer, reader: asyncio.StreamReader, writer: Any) -> None:  # noqa: ANN401 - as asyncio
        del writer
        await peer.head(reader)

    async with speaking(hangs_up) as (url, peer):
        assert await left(controller(url))
        assert [head.split(" HTTP")[0] for head in peer.heads] == ["PUT /a"] * 3


@pytest.mark.asyncio
async def test_one_that_hangs_is_given_up_soon() -> None:
    """The daemon's next start waits for this."""

    async def hangs(peer: Peer, reader: asyncio.StreamReader, _writer: object) -> None:
        await peer.head(reader)
        await asyncio.sleep(30)

    async with speaking(hangs) as (url, _):
        began = time.monotonic()
        assert await left(controller(url)) == "no answer in time"
        assert time.monotonic() - began < 4.5


@pytest.mark.asyncio
async def test_what_answers_is_no_http() -> None:
    """A line, no trace."""

    async def other(_peer: Peer, reader: asyncio.StreamReader, writer: Any) -> None:  # noqa: ANN401 - as asyncio
        await reader.readline()
        writer.write(b"SSH-2.0-something\r\n")

    async with speaking(other) as (url, _):
        why = await left(controller(url), seconds=7.1)
    assert why == "what it answered is not HTTP (BadStatusLine)"


@pytest.mark.asyncio
async def test_only_the_pinned_certificate_is_told_anything(certificates: Certificates) -> None:
    """Whoever has another one does not hear the credential either."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificates.lone, certificates.lone_key)
    answers = Answers()
    async with serving(answers.answer, context=context) as url:
        assert await left(controller(url, pinned=certificates.lone_pin)) == ""
        count = len(answers.asked)
        why = await left(controller(url, pinned="00" * 32))
        assert "not the pinned one" in why
        assert "is not trusted" in await left(controller(url))
        assert len(answers.asked) == count


@pytest.mark.asyncio
async def test_an_authority_of_ones_own_vouches(certificates: Certificates) -> None:
    """By the file that the settings name."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificates.server, certificates.server_key)
    async with serving(Answers().answer, context=context) as url:
        assert await left(controller(url, ca_file=str(certificates.authority))) == ""


@pytest.mark.asyncio
@pytest.mark.parametrize(
    ("access", "why"),
    [
        ("basic", "there is no credential 'rail'"),
        ("digest", "there is no credential 'rail'"),
        ("log-in", "there is no credential 'rail'"),
    ],
)
async def test_what_it_is_not_let_in_with_is_said(access: str, why: str) -> None:
    """Before anything is sent."""
    assert (await left(controller("", access=access, credential="rail"))).startswith(why)


def test_a_slot_is_taken_from_the_oldest() -> None:
    """And what was sent is written where the daemon wrote it."""
    now_ms = time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1_000_000
    memory = mmap.mmap(-1, 3 * INSTANT.size)
    memory[:] = struct.pack("<3q", 7, now_ms, now_ms - 5000)
    slots = Slots({"sent": 1, "limit": 2, "window_ms": 1000}, memory)
    slots.take(time.monotonic())
    first, second, third = struct.unpack("<3q", memory[:])
    assert (first, second) == (7, now_ms)
    assert third >= now_ms
    with pytest.raises(OutOfTimeError):
        slots.take(time.monotonic())
    memory.close()


def test_what_nobody_knows_counts_as_used() -> None:
    """Just now."""
    slots = Slots({"sent": 0, "limit": 1, "window_ms": 60_000}, None)
    with pytest.raises(OutOfTimeError):
        slots.take(time.monotonic() + 1)
