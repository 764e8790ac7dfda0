"""What the measurements run against: a real broker, a raw publisher, a real HTTP peer, sites."""

from __future__ import annotations

import json
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from aiohttp import web

MOSQUITTO = shutil.which("mosquitto", path="/usr/sbin:/usr/local/sbin:/usr/bin:/usr/local/bin")


def free_port() -> int:
    """A loopback port that is free now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def child(command: Sequence[str]) -> Iterator[subprocess.Popen[str]]:
    """A process of ours, ended by its own handle."""
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        yield process
    finally:
        process.terminate()
        process.wait(10)


def wait_for(stream: IO[str] | None, word: str) -> None:
    """Read lines until one has the word."""
    if stream is None:
        raise RuntimeError("the child's output is not piped")
    for line in stream:
        if word in line:
            return
    raise RuntimeError(f"the child ended without saying '{word}'")


@contextmanager
def broker(directory: Path) -> Iterator[int]:
    """A mosquitto on loopback; gives its port."""
    if MOSQUITTO is None:
        raise RuntimeError("mosquitto is not installed")
    port = free_port()
    config = directory / "mosquitto.conf"
    # Without this about one message in 500 waits for a delayed acknowledgement.
    config.write_text(
        f"listener {port} 127.0.0.1\nallow_anonymous true\nset_tcp_nodelay true\n"
        "max_queued_messages 0\nmax_inflight_messages 0\n",
        "utf-8",
    )
    with child([MOSQUITTO, "-c", str(config)]):
        for _ in range(100):
            try:
                socket.create_connection(("127.0.0.1", port), 0.1).close()
                break
            except OSError:
                time.sleep(0.02)
        yield port


def _string(text: str) -> bytes:
    data = text.encode()
    return len(data).to_bytes(2, "big") + data


def _packet(kind: int, body: bytes) -> bytes:
    length, digits = len(body), bytearray()
    while True:
        length, digit = divmod(length, 128)
        digits.append(digit | (0x80 if length else 0))
        if not length:
            return bytes((kind,)) + bytes(digits) + body


def publication(topic: str, payload: bytes) -> bytes:
    """An MQTT 3.1.1 PUBLISH at QoS 0 (§3.3), ready for the wire."""
    return _packet(0x30, _string(topic) + payload)


@contextmanager
def publisher(port: int) -> Iterator[socket.socket]:
    """A connected raw publisher: cheaper than any client, so that it is never what is measured."""
    connect = _string("MQTT") + b"\x04\x02\x00\x3c" + _string("bench-publisher")
    with socket.create_connection(("127.0.0.1", port)) as line:
        line.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        line.sendall(_packet(0x10, connect))
        if line.recv(4)[:1] != b"\x20":
            raise RuntimeError("the broker did not accept the publisher")
        yield line
        line.sendall(b"\xe0\x00")


def payload(number: int, *, working: bool) -> bytes:
    """About 200 bytes of JSON."""
    said = {
        "doing": "at it" if working else "aside",
        "count": number,
        "courses": {"laid": number % 200, "all": 200},
        "heat": [2100 + number % 7, 600 + number % 5],
        "piece": "hull of the fishing smack, port half, second attempt of this week",
    }
    text = json.dumps(said)
    return (text[:-1] + ', "pad": "' + "x" * max(0, 188 - len(text)) + '"}').encode()


class Peer:
    """A controller that answers at once and keeps when each body was read."""

    def __init__(self) -> None:
        self.read_at: list[float] = []
        self.port = free_port()
        self._paints: dict[str, str] = {}
        self._runner: web.AppRunner | None = None

    async def start(self) -> None:
        """Listen."""
        app = web.Application()
        app.router.add_put("/bars/{number}", self._put)
        app.router.add_get("/bars", self._get)
        app.router.add_get("/now", self._now)
        self._runner = web.AppRunner(app, access_log=None)
        await self._runner.setup()
        await web.TCPSite(self._runner, "127.0.0.1", self.port).start()

    async def stop(self) -> None:
        """End."""
        if self._runner is not None:
            await self._runner.cleanup()

    async def _put(self, request: web.Request) -> web.Response:
        body = await request.read()
        self.read_at.append(time.perf_counter())
        self._paints[request.match_info["number"]] = json.loads(body)["paint"]
        return web.json_response({"done": True})

    async def _get(self, _request: web.Request) -> web.Response:
        bars = [
            {"bar": int(number), "paint": paint, "drive": 255, "motion": "plain"}
            for number, paint in self._paints.items()
        ]
        return web.json_response({"list": bars, "awake": int(time.monotonic())})

    async def _now(self, _request: web.Request) -> web.Response:
        return web.Response(body=payload(1, working=False), content_type="application/json")


_READER = """
messages:
  page: {kind: json, fresh_for: 10m, every: 30s, required: true}
facts:
  state: [{in: page, at: /doing, values: {at it: processing, aside: idle, stuck: stopped}}]
  progress: [{in: page, at: /courses/laid, of: /courses/all}]
  extruder-temperature: [{in: page, at: /heat/0, unit: 0.1 °C}]
  platform-temperature: [{in: page, at: /heat/1, unit: 0.1 °C}]
  job-name: [{in: page, at: /piece}]
"""
_RULES = """
tables:
  wall:
    rules:
      - {name: silent, when: {stale: true}, show: not-known}
      - {name: stopped, when: {state: stopped}, show: see-me}
      - {name: working, when: {state: processing}, show: filling}
      - {name: idle, when: {state: idle}, show: ready}
    otherwise: not-known
"""
_LEGEND = """
scenes:
  ready: {says: resting, effect: steady, colour: "#0000ff", brightness: 100 %}
  filling: {says: well, effect: steady, colour: "#00ff00", brightness: 100 %}
  see-me: {says: act, effect: steady, colour: "#ff0000", brightness: 100 %}
  not-known: {says: unknown, effect: steady, colour: "#404040", brightness: 100 %}
"""
_DIALECT = """
limits: {in_flight: 1, body: 1500 B, timeout: 3s, settles_in: 0ms}
codecs: {colour: hex, level: {to: [0, 255], round: nearest}}
effects: {steady: {name: plain}}
show:
  method: PUT
  path: /bars/{number}
  body: {paint: "{colour}", drive: "{level}", motion: "{effect}"}
  reply: {at: /done, is: true}
"""
_READ = """
read:
  method: GET
  path: /bars
  every: 30s
  list: /list
  match: {/bar: "{number}"}
  values: {/paint: colour, /drive: level}
  restart: {uptime: /awake, unit: s}
"""


def write_site(
    directory: Path, broker_port: int, peer_port: int, printers: int, *, polled: bool = False
) -> Path:
    """A site with so many printers on MQTT, each with a segment of its own on one controller.

    With one printer the controller is read back; with many its reply would outgrow any board.
    ``polled`` adds a printer that is polled every 30 s.
    """
    for folder in ("readers", "dialects"):
        (directory / folder).mkdir(parents=True, exist_ok=True)
    named = "\n".join(
        f"  p{n}: {{reader: page, broker: shed, messages: {{page: bench/{n}}}}}"
        for n in range(printers)
    )
    if polled:
        named += (
            f'\n  polled: {{reader: page, messages: {{page: "http://127.0.0.1:{peer_port}/now"}}, '
            "poll: {working: 30s, resting: 30s}}"
        )
    controllers = (
        f'  door: {{url: "http://127.0.0.1:{peer_port}", dialect: bars, '
        f"pixels: {printers * 10 + 10}}}"
    )
    shown = [*(f"p{n}" for n in range(printers)), *(["polled"] if polled else [])]
    segments = "\n".join(
        f"  s{n}: {{on: door, number: {n + 1}, first: {n * 10}, length: 10, "
        f"printers: [{printer}], table: wall}}"
        for n, printer in enumerate(shown)
    )
    site = (
        f'brokers: {{shed: {{url: "mqtt://127.0.0.1:{broker_port}"}}}}\n'
        f"printers:\n{named}\ncontrollers:\n{controllers}\nsegments:\n{segments}\n"
        "resting: ready\noff_watch: not-known\n"
    )
    for name, text in (
        ("site.yaml", site),
        ("rules.yaml", _RULES),
        ("legend.yaml", _LEGEND),
        ("readers/page.yaml", _READER),
        ("dialects/bars.yaml", _DIALECT + (_READ if printers == 1 else "")),
    ):
        (directory / name).write_text(text, "utf-8")
    return directory
