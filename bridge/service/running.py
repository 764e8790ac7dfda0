"""A site from its first moment to its last: signals, the lock, the summary, the drawing."""

from __future__ import annotations

import asyncio
import json
import os
import signal
from collections.abc import Callable, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from bridge.access.credentials import Credentials
from bridge.engine.actions import Note, Scalar
from bridge.service.daemon import Daemon, Manner
from bridge.service.lock import site_lock
from bridge.service.socket_path import socket_path

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.engine.site import Site
    from bridge.engine.view import View


class Drawing(Protocol):
    """What a dry run is shown on."""

    #: How long it wants to be left alone between two drawings, in seconds.
    pause_s: float

    def note(self, note: Note) -> None:
        """Something happened that is not in the picture."""

    def draw(self, view: View) -> bool:
        """Draw it; returns whether the picture moves by itself and wants to be drawn again."""

    def close(self) -> None:
        """Leave the screen as it should be."""


@contextmanager
def _stopped_by_signals() -> Iterator[asyncio.Event]:
    loop, stop = asyncio.get_running_loop(), asyncio.Event()
    signals = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
    for number in signals:
        loop.add_signal_handler(number, stop.set)
    try:
        yield stop
    finally:
        for number in signals:
            loop.remove_signal_handler(number)


@dataclass(frozen=True, slots=True)
class Loaded:
    """A site and where it was loaded from."""

    directory: Path
    site: Site
    digest: str


@dataclass(frozen=True, slots=True)
class RecordTo:
    """Where a run is recorded, and how much both of its files may take, in bytes."""

    file: Path
    limit_bytes: int


async def run_site(
    loaded: Loaded,
    *,
    note: Callable[[Note], None],
    environment: Mapping[str, str],
    summary: Callable[[str], object] | None = None,
    record_to: RecordTo | None = None,
    journal: Path | None = None,
) -> int:
    """Run a site until SIGTERM or SIGINT; without a ``journal`` the next start knows nothing.

    ``summary`` is handed a line of JSON at the end.

    Raises ``AlreadyRunningError``, and ``RecordingFileError`` where nothing can be recorded.
    """
    lock = site_lock(loaded.directory)
    lock.take()
    directory = str(loaded.directory)
    counted: dict[str, Scalar] = {
        "site": directory,
        "printers": len(loaded.site.printers),
        "segments": len(loaded.site.segments),
    }
    try:
        with _stopped_by_signals() as stop, _recording(record_to, note) as manner:
            daemon = Daemon(
                loaded.site,
                loaded.digest,
                note=note,
                credentials=Credentials(environment),
                manner=replace(
                    manner, journal=journal, socket=socket_path(loaded.directory, environment)
                ),
            )
            note(Note("info", "running", counted))
            await daemon.run(stop)
        note(Note("info", "stopped", {"site": directory}))
    finally:
        lock.release()
    if summary is not None:
        summary(json.dumps(summary_of(daemon.view())) + "\n")
    return 0


@contextmanager
def _recording(to: RecordTo | None, note: Callable[[Note], None]) -> Iterator[Manner]:
    """A daemon's manner, recorded or not."""
    if to is None:
        yield Manner()
        return
    from bridge.service.recorder import Recorder  # noqa: PLC0415 - few record, and all wait

    recorder = Recorder(to.file, note, to.limit_bytes)
    try:
        yield Manner(record=recorder.event)
    finally:
        recorder.close()


def summary_of(view: View) -> dict[str, object]:
    """Counts, and what is decided for each segment; ``counted`` has every counter there is."""
    counts = {name: view.counts.get(name, 0) for name in ("messages", "decisions", "requests")}
    segments = {
        name: {"rule": segment.rule, "scene": segment.scene, "standing": segment.standing.value}
        for name, segment in view.segments.items()
    }
    return {**counts, "counted": dict(sorted(view.counts.items())), "segments": segments}


async def run_dry(
    loaded: Loaded, *, drawing: Drawing, environment: Mapping[str, str], leave_to_poll: bool
) -> int:
    """Hear the printers, send nothing, and draw until interrupted or until nobody reads it."""
    daemon_runs = site_lock(loaded.directory).held_elsewhere()
    polls = leave_to_poll or not daemon_runs
    manner = Manner(sends=False, polls=polls, client_id_suffix=f"-look-{os.getpid()}")
    with _stopped_by_signals() as stop, _stopping(stop):
        if not polls:
            why = "a daemon runs this site: printers are not polled or asked, --poll gives leave"
            drawing.note(Note("warning", why))
        await _drawn(loaded, manner, drawing, Credentials(environment), stop)
        drawing.close()
    return 0


@contextmanager
def _stopping(stop: asyncio.Event) -> Iterator[None]:
    """Whoever read the drawing has seen enough: the run ends, as if it had been told to."""
    try:
        yield
    except BrokenPipeError:
        stop.set()


async def _drawn(
    loaded: Loaded,
    manner: Manner,
    drawing: Drawing,
    credentials: Credentials,
    stop: asyncio.Event,
) -> None:
    dirty = asyncio.Event()

    def note(each: Note) -> None:
        with _stopping(stop):
            drawing.note(each)

    daemon = Daemon(
        loaded.site,
        loaded.digest,
        note=note,
        credentials=credentials,
        manner=manner,
        changed=dirty.set,
    )
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(daemon.run(stop), name="site")
        drawer = tasks.create_task(_draw(daemon, drawing, dirty, stop), name="drawing")
        await stop.wait()
        drawer.cancel()


async def _draw(
    daemon: Daemon, drawing: Drawing, dirty: asyncio.Event, stop: asyncio.Event
) -> None:
    with _stopping(stop):
        while True:
            await dirty.wait()
            dirty.clear()
            # The picture of this instant: a flash goes on while nothing happens.
            view = replace(daemon.view(), now_ms=daemon.now().ms)
            if drawing.draw(view):
                dirty.set()
            await asyncio.sleep(drawing.pause_s)
