"""The daemon on a real broker and real HTTP: it does what the core wants, and keeps its time."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest
import pytest_asyncio
from aiohttp import web

from bridge.access.credentials import Credentials
from bridge.engine.events import HTTP_SOURCE, Due, Heard, Wished
from bridge.engine.site import Asking, Button, Endpoint, Site
from bridge.engine.wishes import Hold
from bridge.facts.moment import Moment
from bridge.facts.places import compile_place
from bridge.facts.reader import EndsAt, SentAt
from bridge.lights.dialect.dialect import Prepared
from bridge.service.daemon import LEAVES_WITHIN_S, Daemon, Manner
from bridge.service.journal_file import read_journal
from tests.conftest import Mosquitto, Recorder, StartMosquitto
from tests.engine.workroom import PAGE, SHED, TOPIC, said, workroom
from tests.lights.board import Board
from tests.serving import serving

#: Told on the broker's own log, by words of mosquitto: who connects, and who publishes what.
LOGGED = ("allow_anonymous true", "log_type all")
#: No longer than a person would notice.
PROMPT_S = 1.0


@dataclass
class Peer:
    """The controller ``rail`` and the polled printer ``plover``, at one address."""

    board: Board = field(default_factory=Board)
    #: What came, as method and path.
    asked: list[str] = field(default_factory=list)
    page: bytes = said(doing="aside")
    url: str = ""

    async def handle(self, request: web.Request) -> web.StreamResponse:
        """Answer whoever it is."""
        body = await request.read()
        self.asked.append(f"{request.method} {request.path}")
        if request.path in {"/ledger", "/tell"}:
            return web.Response(body=self.page)
        prepared = Prepared(request.method, request.path, (), body or None)
        status, answer = self.board.perform(prepared, time.monotonic_ns() // 1_000_000)
        return web.Response(status=status, body=answer)

    def acts(self) -> list[str]:
        """What the three pegs do, painted ones with ``row``."""
        return [self.board.shown[peg].get("act", "row") for peg in (1, 2, 3)]


@pytest_asyncio.fixture
async def peer() -> AsyncIterator[Peer]:
    """It listens."""
    peer = Peer()
    async with serving(peer.handle) as url:
        peer.url = url
        yield peer


def site_at(peer: Peer, broker: Mosquitto, *, fresh_for_ms: int = 10_000) -> Site:
    """The small workroom at these addresses."""
    site = workroom()
    kestrel = site.printers["kestrel"]
    page = replace(kestrel.reader.messages["page"], fresh_for_ms=fresh_for_ms)
    reader = replace(kestrel.reader, messages={**kestrel.reader.messages, "page": page})
    return replace(
        site,
        brokers={SHED: replace(site.brokers[SHED], host=broker.host, port=broker.port)},
        endpoints={PAGE: Endpoint(PAGE, f"{peer.url}/ledger")},
        printers={**site.printers, "kestrel": replace(kestrel, reader=reader)},
        controllers={"rail": replace(site.controllers["rail"], url=peer.url)},
    )


@asynccontextmanager
async def running(
    site: Site,
    recorder: Recorder,
    *,
    manner: Manner | None = None,
    changed: Callable[[], None] | None = None,
) -> AsyncIterator[Daemon]:
    """The daemon, until the end of the block."""
    daemon = Daemon(
        site,
        "digest",
        note=recorder.note,
        credentials=Credentials({}),
        manner=manner or Manner(),
        changed=changed,
    )
    stop = asyncio.Event()
    task = asyncio.create_task(daemon.run(stop))
    try:
        yield daemon
    finally:
        stop.set()
        await asyncio.wait_for(task, 5)


def rule(daemon: Daemon, segment: str = "s1") -> str:
    """What decides for a segment."""
    return daemon.view().segments[segment].rule


@pytest.mark.asyncio
async def test_a_message_turns_a_light(
    mosquitto: Mosquitto, peer: Peer, recorder: Recorder
) -> None:
    """From a real publish to a real controller, and a polled page likewise."""
    async with running(site_at(peer, mosquitto), recorder) as daemon:
        await recorder.until(lambda: recorder.noted("source is up"))
        await recorder.until(lambda: peer.acts() == ["row", "calm", "calm"])
        await asyncio.to_thread(mosquitto.publish, TOPIC, said(doing="stuck", snag="spool"))
        await recorder.until(lambda: peer.acts() == ["hop", "calm", "calm"], seconds=PROMPT_S)
        assert rule(daemon) == "out of material"
        assert rule(daemon, "s2") == "idle"
        counts = daemon.counts()
        assert counts["messages"] == 1 + peer.asked.count("GET /ledger")
        assert counts["polls"] == peer.asked.count("GET /ledger")


@pytest.mark.asyncio
async def test_a_button_is_heard_where_no_printer_is(
    mosquitto: Mosquitto, peer: Peer, recorder: Recorder
) -> None:
    """Its topic is subscribed like a printer's."""
    button = Button("lathe", SHED, "alder/lathe/button", "acknowledge", "the lathe")
    site = replace(site_at(peer, mosquitto), buttons={"lathe": button})
    async with running(site, recorder, manner=Manner(polls=False)) as daemon:
        await recorder.until(lambda: recorder.noted("source is up"))
        await asyncio.to_thread(mosquitto.publish, "alder/lathe/button", b"down")
        await recorder.until(lambda: daemon.counts()["buttons pressed"] == 1)
        assert daemon.counts()["messages nobody asked for"] == 0


@pytest.mark.asyncio
async def test_time_passes_without_any_event(
    mosquitto: Mosquitto, peer: Peer, recorder: Recorder
) -> None:
    """What was said grows old, and the light says so, though nobody says anything."""
    async with running(site_at(peer, mosquitto, fresh_for_ms=300), recorder) as daemon:
        await recorder.until(lambda: recorder.noted("source is up"))
        await asyncio.to_thread(mosquitto.publish, TOPIC, said(snag="spool"))
        await recorder.until(lambda: rule(daemon) == "out of material")
        await recorder.until(lambda: rule(daemon) == "silent", seconds=0.3 + PROMPT_S)


@pytest.mark.parametrize(
    ("manner", "polled", "asked", "told"),
    [
        (Manner(), True, True, True),
        (Manner(sends=False), True, True, False),
        (Manner(sends=False, polls=False, client_id_suffix="-look-7"), False, False, False),
    ],
    ids=["a daemon", "a dry run alone", "a dry run beside a daemon"],
)
@pytest.mark.asyncio
async def test_what_a_manner_allows_is_all_that_leaves(  # noqa: PLR0913, PLR0917 (a table's columns)
    start_mosquitto: StartMosquitto,
    peer: Peer,
    recorder: Recorder,
    manner: Manner,
    polled: bool,
    asked: bool,
    told: bool,
) -> None:
    """Polls, questions over the broker and over HTTP, requests to controllers, and its name."""
    broker = start_mosquitto(*LOGGED)
    site = site_at(peer, broker)
    posted = Asking("all", HTTP_SOURCE, f"{peer.url}/tell", b"all", every_ms=30_000)
    plover = replace(site.printers["plover"], asks=(posted,))
    site = replace(site, printers={**site.printers, "plover": plover})
    async with running(site, recorder, manner=manner) as daemon:
        await recorder.until(lambda: recorder.noted("source is up"))
        await asyncio.to_thread(broker.publish, TOPIC, said(snag="spool"))
        await recorder.until(lambda: rule(daemon) == "out of material")
        # The core wants it to be sent, whether it may leave or not.
        await recorder.until(lambda: daemon.counts()["requests"])
        if told:
            await recorder.until(lambda: peer.acts()[0] == "hop")
        if polled:
            await recorder.until(lambda: rule(daemon, "s2") == "idle")
        if asked:
            await recorder.until(lambda: "POST /tell" in peer.asked)
    name = f"lampwright{manner.client_id_suffix}"
    assert f" as {name} " in broker.log
    assert (f"Received PUBLISH from {name} " in broker.log) is asked
    assert ("GET /ledger" in peer.asked) is polled
    assert ("POST /tell" in peer.asked) is asked
    assert any("/pegs" in each or "/me" in each for each in peer.asked) is told
    # Nobody but the daemon is to say that it died.
    assert "Will message specified (" not in broker.log


@pytest.mark.asyncio
async def test_a_deadline_after_a_sleep_is_kept(
    mosquitto: Mosquitto, peer: Peer, recorder: Recorder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A board's timers stand still while it sleeps: those of before are not waited for."""
    slept_ns, clock = 0, time.clock_gettime_ns
    monkeypatch.setattr(time, "clock_gettime_ns", lambda number: clock(number) + slept_ns)
    site = site_at(peer, mosquitto, fresh_for_ms=200)
    # Nothing is read back, so that what is waited for in the end is seconds away.
    async with running(site, recorder, manner=Manner(sends=False)) as daemon:
        await recorder.until(lambda: recorder.noted("source is up"))
        await recorder.until(lambda: rule(daemon, "s2") == "idle")
        await asyncio.sleep(1.5)
        slept_ns = 3600 * 10**9
        daemon.feed(Heard(SHED, TOPIC, said(doing="aside")), daemon.now())
        assert rule(daemon) == "idle"
        began = time.monotonic()
        await recorder.until(lambda: rule(daemon) == "silent")
        assert time.monotonic() - began < 0.5


@pytest.mark.asyncio
async def test_what_comes_after_the_end_sends_nothing(
    mosquitto: Mosquitto,
    peer: Peer,
    recorder: Recorder,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """An answer may come while connections are closed, and a read-back may be due by then."""
    slept_ns, clock = 0, time.clock_gettime_ns
    monkeypatch.setattr(time, "clock_gettime_ns", lambda number: clock(number) + slept_ns)
    manner = Manner(socket=tmp_path / "daemon.sock")
    async with running(site_at(peer, mosquitto), recorder, manner=manner) as daemon:
        await recorder.until(lambda: recorder.noted("source is up"))
        await recorder.until(lambda: len(peer.asked) > 2)
    asked = list(peer.asked)
    slept_ns = 3600 * 10**9
    daemon.feed(Due(), daemon.now())
    await asyncio.sleep(0.2)
    assert peer.asked == asked


@pytest.mark.asyncio
async def test_stopping_waits_a_little_and_keeps_the_log(
    mosquitto: Mosquitto, recorder: Recorder
) -> None:
    """A controller that hangs does not hold up the end for long; the last lines are written."""
    reached = asyncio.Event()

    async def hangs(_request: web.Request) -> web.StreamResponse:
        reached.set()
        await asyncio.sleep(30)
        return web.Response()

    async with serving(hangs) as url:
        async with running(site_at(Peer(url=url), mosquitto), recorder) as daemon:
            await reached.wait()
            began = asyncio.get_running_loop().time()
            daemon.feed(Heard(SHED, TOPIC, b"{"), daemon.now())
            assert not recorder.noted("message not taken")
        assert asyncio.get_running_loop().time() - began < LEAVES_WITHIN_S + PROMPT_S
    assert recorder.noted("message not taken")
    assert [note.fields for note in recorder.noted("lights are not off watch")] == [
        {"controllers": "rail"}
    ]


@pytest.mark.asyncio
async def test_whoever_watches_is_called_after_each_event(
    mosquitto: Mosquitto, peer: Peer, recorder: Recorder
) -> None:
    """A picture of that moment can be drawn then."""
    seen: list[str] = []
    async with running(
        site_at(peer, mosquitto), recorder, changed=lambda: seen.append(rule(daemon))
    ) as daemon:
        await recorder.until(lambda: recorder.noted("source is up"))
        for doing, snag in (("at it", ""), ("at it", "spool"), ("aside", "")):
            daemon.feed(Heard(SHED, TOPIC, said(doing=doing, snag=snag)), daemon.now())
            assert seen[-1] == rule(daemon)
    changes = [now for now, before in zip(seen, ["", *seen], strict=False) if now != before]
    assert changes == ["silent", "working", "out of material", "idle"]


@pytest.mark.asyncio
async def test_a_wall_clock_that_becomes_known_makes_stamped_messages_count(
    mosquitto: Mosquitto, peer: Peer, recorder: Recorder
) -> None:
    """Until then nobody knows how old they are; the next event of any kind brings it to light."""
    site = site_at(peer, mosquitto)
    kestrel = site.printers["kestrel"]
    stamp = SentAt(compile_place("/sent"), EndsAt.EPOCH_MS)
    page = replace(kestrel.reader.messages["page"], sent_at=stamp)
    reader = replace(kestrel.reader, messages={**kestrel.reader.messages, "page": page})
    site = replace(site, printers={**site.printers, "kestrel": replace(kestrel, reader=reader)})
    async with running(site, recorder) as daemon:
        await recorder.until(lambda: recorder.noted("source is up"))
        now = daemon.now()
        assert now.wall_ms is not None
        stamped = said(doing="aside", sent=now.wall_ms)
        daemon.feed(Heard(SHED, TOPIC, stamped), Moment(now.ms))
        assert rule(daemon) == "silent"
        daemon.feed(Heard(SHED, "alder/kestrel/snag/lid", b""), now)
        assert rule(daemon) == "idle"


@pytest.mark.asyncio
async def test_a_broker_that_is_lost_is_come_back_to(
    mosquitto: Mosquitto, peer: Peer, recorder: Recorder
) -> None:
    """And the light knows nothing in between."""
    async with running(site_at(peer, mosquitto), recorder) as daemon:
        await recorder.until(lambda: recorder.noted("source is up"))
        daemon.feed(Heard(SHED, TOPIC, said(doing="aside")), daemon.now())
        assert rule(daemon) == "idle"
        await asyncio.to_thread(mosquitto.stop)
        await recorder.until(lambda: rule(daemon) == "silent", seconds=PROMPT_S)
        await asyncio.to_thread(mosquitto.start)
        await recorder.until(lambda: len(recorder.noted("source is up")) == 2)
        assert rule(daemon) == "silent"


@pytest.mark.asyncio
async def test_what_is_held_is_held_after_a_restart(
    mosquitto: Mosquitto, peer: Peer, recorder: Recorder, tmp_path: Path
) -> None:
    """Through a real journal; without one the next start knows of nothing."""
    site = site_at(peer, mosquitto)
    wish = Wished("1", "Ada", Hold(("s3",), "ready", None))
    kept = Manner(journal=tmp_path / "it.db")
    for manner, expected in ((kept, ["warm", "ready"]), (Manner(), ["warm", "warm"])):
        found: list[str] = []
        for _ in range(2):
            before = len(recorder.noted("source is up"))
            async with running(site, recorder, manner=manner) as daemon:
                await recorder.until(lambda n=before: recorder.noted("source is up")[n:])  # type: ignore[misc]
                found.append(daemon.view().segments["s3"].scene)
                daemon.feed(wish, daemon.now())
                await recorder.until(lambda d=daemon: d.view().segments["s3"].scene == "ready")  # type: ignore[misc]
        assert found == expected
    subjects = [each.subject for each in read_journal(tmp_path / "it.db")[1]]
    assert (subjects.count("start"), subjects.count("hold")) == (4, 2)
