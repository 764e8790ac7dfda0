"""A site from its first moment to its last: signals, the lock, the summary, the drawing."""

from __future__ import annotations

import asyncio
import io
import json
import os
import signal
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest

from bridge.engine.actions import Note, Scalar
from bridge.engine.view import View
from bridge.service.lock import AlreadyRunningError, site_lock
from bridge.service.running import Loaded, run_dry, run_site, summary_of
from tests.conftest import Mosquitto, Recorder
from tests.engine.workroom import PAGE, SHED, TOPIC, World, heard, said, workroom
from tests.serving import Peer, speaking

PAGE_REPLY = b"HTTP/1.1 200 OK\r\nContent-Length: 19\r\n\r\n" + b'{"doing": "aside"}\n'


async def _answers(peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    """The polled printer, and a controller that understands nothing."""
    while True:
        head = await peer.head(reader)
        refusal = b"HTTP/1.1 404 Not Found\r\nContent-Length: 0\r\n\r\n"
        writer.write(PAGE_REPLY if "/ledger" in head else refusal)


def loaded(directory: Path, broker: Mosquitto, url: str) -> Loaded:
    """The small workroom, its broker and peers at these addresses."""
    site = workroom()
    site = replace(
        site,
        brokers={SHED: replace(site.brokers[SHED], host=broker.host, port=broker.port)},
        endpoints={PAGE: replace(site.endpoints[PAGE], url=f"{url}/ledger")},
        controllers={"rail": replace(site.controllers["rail"], url=url)},
    )
    return Loaded(directory, site, "digest")


@dataclass
class Picture:
    """A drawing that keeps what it is shown; ``draws`` may raise or ask for more."""

    draws: Callable[[View], bool] = lambda _view: False
    pause_s: float = 0.0
    views: list[View] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    closed: int = 0

    def note(self, note: Note) -> None:
        """Keep it."""
        self.notes.append(note)

    def draw(self, view: View) -> bool:
        """Keep it."""
        self.views.append(view)
        return self.draws(view)

    def close(self) -> None:
        """Count it."""
        self.closed += 1


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
@pytest.mark.asyncio
async def test_a_signal_ends_a_site_with_a_summary(
    tmp_path: Path, mosquitto: Mosquitto, recorder: Recorder, number: signal.Signals
) -> None:
    """Code 0, first and last line in the log, the lock let go of."""
    summary = io.StringIO()
    async with speaking(_answers) as (url, _peer):
        site = loaded(tmp_path, mosquitto, url)
        task = asyncio.create_task(
            run_site(site, note=recorder.note, environment={}, summary=summary.write)
        )
        await recorder.until(lambda: recorder.noted("source is up"))
        assert site_lock(tmp_path).held_elsewhere()
        await recorder.until(
            lambda: any(note.fields["rule"] == "idle" for note in recorder.noted("decided"))
        )
        os.kill(os.getpid(), number)
        assert await asyncio.wait_for(task, 5) == 0
    assert not site_lock(tmp_path).held_elsewhere()
    counted: dict[str, Scalar] = {"site": str(tmp_path), "printers": 2, "segments": 3}
    assert recorder.notes[0] == Note("info", "running", counted)
    assert recorder.notes[-1] == Note("info", "stopped", {"site": str(tmp_path)})
    written = json.loads(summary.getvalue())
    assert written["messages"] >= 1
    rules = {name: segment["rule"] for name, segment in written["segments"].items()}
    assert rules == {"s1": "silent", "s2": "idle", "s3": ""}


@pytest.mark.asyncio
async def test_a_site_that_is_run_already_is_touched_by_nobody_else(
    tmp_path: Path, mosquitto: Mosquitto, recorder: Recorder
) -> None:
    """Nothing is connected to, nothing noted, and the first keeps its lock."""
    first = site_lock(tmp_path)
    first.take()
    async with speaking(_answers) as (url, peer):
        site = loaded(tmp_path, mosquitto, url)
        with pytest.raises(AlreadyRunningError):
            await run_site(site, note=recorder.note, environment={})
        assert (peer.connections, recorder.notes) == (0, [])
    assert site_lock(tmp_path).held_elsewhere()
    first.release()


def test_a_summary_says_what_happened_and_what_is_decided() -> None:
    """Three counts by name, every counter, and each segment with its rule, scene and standing."""
    world = World().begin()
    world.run_for(5000)
    world.feed(heard(said(doing="aside")))
    world.feed(heard(b"{"))
    world.run_for(5000)
    summary = summary_of(world.core.view())
    requests = sum(type(action).__name__ == "Request" for _, action in world.actions)
    polls = sum(type(action).__name__ == "Poll" for _, action in world.actions)
    assert (summary["messages"], summary["requests"]) == (2, requests)
    assert summary["counted"] == {
        "decisions": summary["decisions"],
        "messages": 2,
        "polls": polls,
        "refused: not JSON": 1,
        "requests": requests,
    }
    assert summary["segments"] == {
        "s1": {"rule": "idle", "scene": "ready", "standing": "read back"},
        "s2": {"rule": "silent", "scene": "not-known", "standing": "read back"},
        "s3": {"rule": "", "scene": "warm", "standing": "read back"},
    }


@pytest.mark.parametrize(
    ("daemon_runs", "leave", "polls"),
    [(False, False, True), (False, True, True), (True, False, False), (True, True, True)],
)
@pytest.mark.asyncio
async def test_a_dry_run_polls_beside_a_daemon_only_with_leave(
    tmp_path: Path,
    mosquitto: Mosquitto,
    recorder: Recorder,
    daemon_runs: bool,
    leave: bool,
    polls: bool,
) -> None:
    """It says so, hears what is said, draws it, sends nothing to the controller, and closes."""
    lock = site_lock(tmp_path)
    if daemon_runs:
        lock.take()
    picture = Picture()
    rules = {"s1": "idle", "s2": "idle" if polls else "silent"}

    def drawn() -> bool:
        segments = picture.views[-1].segments if picture.views else {}
        return bool(segments) and all(segments[name].rule == rule for name, rule in rules.items())

    async with speaking(_answers) as (url, peer):
        site = loaded(tmp_path, mosquitto, url)
        task = asyncio.create_task(
            run_dry(site, drawing=picture, environment={}, leave_to_poll=leave)
        )
        await recorder.until(lambda: any(note.event == "source is up" for note in picture.notes))
        await asyncio.to_thread(mosquitto.publish, TOPIC, said(doing="aside"))
        await recorder.until(drawn)
        os.kill(os.getpid(), signal.SIGINT)
        assert await asyncio.wait_for(task, 5) == 0
        assert all("/ledger" in head for head in peer.heads)
        assert bool(peer.heads) is polls
    refused = [note.event for note in picture.notes if "--poll gives leave" in note.event]
    assert len(refused) == (0 if polls else 1)
    assert picture.closed == 1
    lock.release()


@pytest.mark.asyncio
async def test_a_picture_that_moves_is_drawn_again_by_itself(
    tmp_path: Path, mosquitto: Mosquitto, recorder: Recorder
) -> None:
    """Though nothing happens: each at its own instant, until it stands still."""
    picture = Picture(draws=lambda _view: len(picture.views) < 20, pause_s=0.005)
    async with speaking(_answers) as (url, _peer):
        site = loaded(tmp_path, mosquitto, url)
        task = asyncio.create_task(
            run_dry(
                site,
                drawing=picture,
                environment={},
                leave_to_poll=False,
            )
        )
        await recorder.until(lambda: len(picture.views) >= 20)
        os.kill(os.getpid(), signal.SIGTERM)
        assert await asyncio.wait_for(task, 5) == 0
    instants = [view.now_ms for view in picture.views]
    assert instants == sorted(instants)
    assert instants[-1] - instants[0] >= 15 * 5


@pytest.mark.parametrize("where", ["draw", "note", "close"])
@pytest.mark.asyncio
async def test_a_dry_run_ends_when_nobody_reads_it(
    tmp_path: Path, mosquitto: Mosquitto, recorder: Recorder, where: str
) -> None:
    """As after a pipe into ``head``: quietly, wherever it is noticed."""

    def gone(*_ignored: object) -> bool:
        raise BrokenPipeError

    picture = Picture()
    setattr(picture, where, gone)
    async with speaking(_answers) as (url, _peer):
        site = loaded(tmp_path, mosquitto, url)
        run = run_dry(
            site,
            drawing=picture,
            environment={},
            leave_to_poll=False,
        )
        task = asyncio.create_task(run)
        if where == "close":
            await recorder.until(lambda: picture.views)
            os.kill(os.getpid(), signal.SIGTERM)
        assert await asyncio.wait_for(task, 5) == 0
