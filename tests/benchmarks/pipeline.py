"""Group ``pipeline``: message to request, against the barest script of the same libraries."""

from __future__ import annotations

import asyncio
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from tests.benchmarks.result import Result, paired
from tests.benchmarks.world import (
    Peer,
    broker,
    child,
    payload,
    publication,
    publisher,
    wait_for,
    write_site,
)

PRINTERS = 1000
#: Twice as fast as a hurried workroom; slow enough that no request waits for the one before.
MESSAGES_A_SECOND = 50
#: So many printers take turns, as no light changes more often than it may (three flashes a second).
SPREAD = 12


def measure(quick: bool) -> list[Result]:
    """All figures of the group."""
    pairs = 1 if quick else 5
    with tempfile.TemporaryDirectory() as name, broker(Path(name)) as port:
        directory = Path(name)
        with serving() as peer:
            single = write_site(directory / "single", port, peer.port, SPREAD)
            results = [
                *_latency(single, port, peer, pairs, 50 if quick else 250),
                _throughput(directory, port, peer, pairs, 5_000 if quick else 60_000),
                *_footprint(single, pairs),
            ]
    return [*results, _idle_wakeups(5.0 if quick else 30.0)]


@contextmanager
def serving() -> Iterator[Peer]:
    """The HTTP peer on a loop in a thread of its own."""
    loop, peer = asyncio.new_event_loop(), Peer()
    thread = threading.Thread(target=loop.run_forever, name="peer")
    thread.start()
    asyncio.run_coroutine_threadsafe(peer.start(), loop).result(10)
    try:
        yield peer
    finally:
        asyncio.run_coroutine_threadsafe(peer.stop(), loop).result(10)
        loop.call_soon_threadsafe(loop.stop)
        thread.join(10)
        loop.close()


def _bridge(site: Path) -> list[str]:
    journal = str(site.with_name("journal.db"))
    return [sys.executable, "-m", "bridge", "run", str(site), "--journal", journal]


def _floor(*arguments: str) -> list[str]:
    return [sys.executable, "-m", "tests.benchmarks.floor", *arguments]


def _latency(site: Path, port: int, peer: Peer, pairs: int, messages: int) -> list[Result]:
    p50: list[tuple[float, float]] = []
    p99: list[tuple[float, float]] = []
    for _ in range(pairs):
        with child(_bridge(site)) as ours:
            wait_for(ours.stderr, "source is up")
            # The first look waits until the limits of an earlier run are surely past.
            time.sleep(1.5)
            our = _turns(port, peer, messages)
        url = f"http://127.0.0.1:{peer.port}/bars/1"
        with child(_floor("latency", str(port), url)) as theirs:
            wait_for(theirs.stdout, "ready")
            time.sleep(0.2)
            their = _turns(port, peer, messages)
        p50.append((statistics.median(our), statistics.median(their)))
        p99.append((_quantile(our, 0.99), _quantile(their, 0.99)))
    against = "bare paho + json + aiohttp"
    return [
        paired("latency-p50", "ms", against, p50, 1.15),
        paired("latency-p99", "ms", against, p99, 1.3),
    ]


def _turns(port: int, peer: Peer, messages: int) -> list[float]:
    """Milliseconds from each publish call to the body read at the peer."""
    with publisher(port) as line:
        # A known start: the first of the counted messages must change the look.
        for printer in range(SPREAD):
            line.sendall(publication(f"bench/{printer}", payload(0, working=False)))
        time.sleep(0.5)
        peer.read_at.clear()
        sent: list[float] = []
        due = time.perf_counter()
        for number in range(messages):
            due += 1 / MESSAGES_A_SECOND
            time.sleep(max(0.0, due - time.perf_counter()))
            turn, printer = divmod(number, SPREAD)
            packet = publication(f"bench/{printer}", payload(number, working=turn % 2 == 0))
            sent.append(time.perf_counter())
            line.sendall(packet)
        time.sleep(0.5)
    if len(peer.read_at) != len(sent):
        raise RuntimeError(f"{len(sent)} messages made {len(peer.read_at)} requests")
    return [(read - start) * 1000 for start, read in zip(sent, peer.read_at, strict=True)]


def _quantile(values: Sequence[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def _throughput(directory: Path, port: int, peer: Peer, pairs: int, messages: int) -> Result:
    site = write_site(directory / "many", port, peer.port, PRINTERS)
    rates: list[tuple[float, float]] = []
    prelude = b"".join(_message(number) for number in range(PRINTERS))
    flood = b"".join(_message(PRINTERS + number) for number in range(messages))
    counting = [sys.executable, "-m", "tests.benchmarks.counting", str(site), str(PRINTERS)]
    for _ in range(pairs):
        ours = _flooded([*counting, str(messages)], port, flood, lambda: _quiet(peer), prelude)
        theirs = _flooded(_floor("throughput", str(port), str(messages)), port, flood, None, b"")
        rates.append((messages / ours, messages / theirs))
    return paired(
        "throughput", "messages/s", "bare decoding subscriber", rates, 0.6, goal_is_least=True
    )


def _message(number: int) -> bytes:
    return publication(f"bench/{number % PRINTERS}", payload(number, working=True))


def _quiet(peer: Peer) -> None:
    """Wait until the looks that the prelude changed have all been shown."""
    seen = -1
    while seen != len(peer.read_at):
        seen = len(peer.read_at)
        time.sleep(1.0)


def _flooded(
    command: list[str], port: int, flood: bytes, settled: Callable[[], None] | None, prelude: bytes
) -> float:
    with child(command) as process, publisher(port) as line:
        wait_for(process.stdout, "ready")
        line.sendall(prelude)
        if settled is not None:
            settled()
        line.sendall(flood)
        if process.stdout is None:
            raise RuntimeError("no output")
        return float(process.stdout.readline())


def _footprint(site: Path, pairs: int) -> list[Result]:
    starts: list[tuple[float, float]] = []
    sizes: list[tuple[float, float]] = []
    imports = [sys.executable, "-m", "tests.benchmarks.imports"]
    for _ in range(1 + pairs):
        began = time.perf_counter()
        with child(_bridge(site)) as ours:
            wait_for(ours.stderr, "source is up")
            our_start, our_size = time.perf_counter() - began, _resident(ours)
        began = time.perf_counter()
        with child(imports) as theirs:
            wait_for(theirs.stdout, "ready")
            their_start, their_size = time.perf_counter() - began, _resident(theirs)
        starts.append((our_start * 1000, their_start * 1000))
        sizes.append((our_size, their_size))
    # The first of each writes and reads what the later ones find ready.
    against = "importing the same libraries"
    return [
        paired("start", "ms", against, starts[1:], 1.3),
        paired("rss", "MiB", against, sizes[1:], 1.3),
    ]


def _status(process: subprocess.Popen[str], field: str) -> int:
    text = Path(f"/proc/{process.pid}/status").read_text("ascii")
    line = next(line for line in text.splitlines() if line.startswith(field + ":"))
    return int(line.split()[1])


def _resident(process: subprocess.Popen[str]) -> float:
    return _status(process, "VmRSS") / 1024


def _idle_wakeups(seconds: float) -> Result:
    """A bridge on the example of one broker and one polled printer, with nothing moving."""
    with tempfile.TemporaryDirectory() as name, broker(Path(name)) as port, serving() as peer:
        site = write_site(Path(name) / "idle", port, peer.port, 1, polled=True)
        with child(_bridge(site)) as process:
            wait_for(process.stderr, "source is up")
            time.sleep(3.0)
            before = _status(process, "voluntary_ctxt_switches")
            time.sleep(seconds)
            rate = (_status(process, "voluntary_ctxt_switches") - before) / seconds
    return Result("idle-wakeups", rate, "1/s", "", None, (rate, rate), 0.5)
