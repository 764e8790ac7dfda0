"""Of the group ``controllers``: how long the unit's stop step takes, its start included."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from bridge.engine.leaving import Ready, ready_requests
from bridge.engine.site import Site
from bridge.service.ready_requests import SentInstants, ready_path, sent_path, write_ready
from bridge.service.socket_path import socket_path
from tests.benchmarks.result import Result, paired

#: For ten controllers that answer, and whose slots are free.
WITHIN_S = 0.3
#: Above the same requests by the barest script: threads, limits, the lock, what is ready.
TIMES_THE_FLOOR = 1.5
#: What anybody would write: one after the other, nothing counted, nothing checked but the status.
_FLOOR = """
import http.client, sys
for port in sys.argv[1:]:
    line = http.client.HTTPConnection("127.0.0.1", int(port), timeout=2)
    body = b'{"tint":"c8c8c8","push":51,"act":"calm"}'
    line.request("PUT", "/pegs/1", body, {"Content-Type": "application/json"})
    if line.getresponse().status != 200:
        sys.exit(1)
    line.close()
"""


class _Answers(BaseHTTPRequestHandler):
    """Takes whatever it is told, at once."""

    def do_PUT(self) -> None:
        """Read it and say so."""
        self.rfile.read(int(self.headers["Content-Length"]))
        self.send_response(200)
        self.send_header("Content-Length", "0")
        self.end_headers()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - as it is called there
        """Say nothing."""


def measure(site: Site, *, quick: bool) -> list[Result]:
    """Ours and the floor in turn; every segment of the site takes one request."""
    with tempfile.TemporaryDirectory() as name, ExitStack() as open_ones:
        folder = Path(name)
        (folder / "site").mkdir()
        ports = {each: open_ones.enter_context(_answering()) for each in site.controllers}
        ready = _ready(site, ports)
        floor = (sys.executable, "-c", _FLOOR, *(str(port) for port in ports.values()))
        repeats = range(3 if quick else 15)
        pairs = [(_step_s(folder, ready), _seconds(floor, {})) for _ in repeats]
    ours = [each for each, _ in pairs]
    beside = f"plain http.client: {statistics.median(theirs for _, theirs in pairs):.3f} s"
    spread = (min(ours), max(ours))
    value = statistics.median(ours)
    return [
        Result("stop-step", value, "s", beside, None, spread, WITHIN_S),
        paired("stop-step-floor", "s", "plain http.client", pairs, TIMES_THE_FLOOR),
    ]


def _ready(site: Site, ports: Mapping[str, int]) -> tuple[Ready, ...]:
    plain = replace(site.scenes[site.off_watch], pattern="whole")
    controllers = {
        name: replace(each, url=f"http://127.0.0.1:{ports[name]}")
        for name, each in site.controllers.items()
    }
    scenes = {**site.scenes, site.off_watch: plain}
    return ready_requests(replace(site, controllers=controllers, scenes=scenes))


def _step_s(folder: Path, ready: tuple[Ready, ...]) -> float:
    environment = {"RUNTIME_DIRECTORY": str(folder)}
    socket = socket_path(folder / "site", environment)
    long_ago_ms = time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1_000_000 - 60_000
    SentInstants(sent_path(socket), ready, long_ago_ms).close()
    write_ready(ready_path(socket), ready)
    step = (sys.executable, "-m", "bridge.service.stop_step", str(folder / "site"))
    return _seconds(step, environment)


def _seconds(command: tuple[str, ...], environment: Mapping[str, str]) -> float:
    began = time.perf_counter()
    subprocess.run(
        command, check=True, stdout=subprocess.DEVNULL, timeout=30, env=dict(environment)
    )
    return time.perf_counter() - began


@contextmanager
def _answering() -> Iterator[int]:
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Answers)
    thread = threading.Thread(target=server.serve_forever, name="controller")
    thread.start()
    try:
        yield server.server_address[1]
    finally:
        server.shutdown()
        server.server_close()
        thread.join(10)
