"""What many tests need: a real broker, a free port, certificates, and a record of events."""

from __future__ import annotations

import asyncio
import os
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

import pytest

from bridge.engine.actions import Note
from bridge.engine.events import Event
from bridge.facts.moment import Moment

#: Debian keeps it outside the path of an ordinary user.
MOSQUITTO = shutil.which("mosquitto", path=f"{os.environ.get('PATH', '')}:/usr/sbin")


def pytest_configure() -> None:
    """What was started in the background ignores SIGINT, and so would all that it starts."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session", autouse=True)
def _own_state(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Journals of tests lie with the tests, in child processes too, and not in the user's home."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_STATE_HOME", str(tmp_path_factory.mktemp("state")))
        yield


@pytest.fixture
def free_port() -> int:
    """A TCP port of the loopback that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


class Mosquitto:
    """A real broker with a configuration of its own, which can be stopped and started again."""

    def __init__(self, folder: Path, port: int, lines: tuple[str, ...]) -> None:
        self.host = "127.0.0.1"
        self.port = port
        self._folder = folder
        self._settings = folder / "mosquitto.conf"
        own = (f"listener {port} {self.host}", "set_tcp_nodelay true", "persistence false")
        # Started by root it would become another user, who may not read the test's files.
        user = ("user root",) if os.geteuid() == 0 else ()
        self._settings.write_text("\n".join((*user, *own, *lines)) + "\n")
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it, and return when it accepts connections."""
        if MOSQUITTO is None:
            pytest.skip("mosquitto is not installed: apt-get install mosquitto")
        with (self._folder / "mosquitto.log").open("ab") as log:
            self._process = subprocess.Popen(
                [MOSQUITTO, "-c", str(self._settings)], stdout=log, stderr=log
            )
        until = time.monotonic() + 10
        while time.monotonic() < until and self._process.poll() is None:
            with socket.socket() as probe:
                if probe.connect_ex((self.host, self.port)) == 0:
                    return
            time.sleep(0.01)
        raise RuntimeError(self.log)

    def stop(self) -> None:
        """Kill it, as a power cut would."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def signal(self, number: int) -> None:
        """Send it a signal."""
        if self._process is not None:
            self._process.send_signal(number)

    def restart(self) -> None:
        """Stop it and start it again on the same port."""
        self.stop()
        self.start()

    @property
    def log(self) -> str:
        """What it printed."""
        return (self._folder / "mosquitto.log").read_text()

    def publish(self, topic: str, payload: bytes, *options: str) -> None:
        """Publish with its own command, as a user would."""
        address = ("-h", self.host, "-p", str(self.port))
        # It takes no empty standard input.
        given = "-s" if payload else "-n"
        command = ["mosquitto_pub", *address, "-t", topic, given, *options]
        subprocess.run(command, input=payload, check=True, timeout=10)


class StartMosquitto(Protocol):
    """Starts a broker with further lines of configuration."""

    def __call__(self, *lines: str) -> Mosquitto:
        """``lines`` follow the listener's own."""
        ...


@pytest.fixture
def start_mosquitto(tmp_path: Path, free_port: int) -> Iterator[StartMosquitto]:
    """Start one broker, with the lines of configuration that are given."""
    started: list[Mosquitto] = []

    def start(*lines: str) -> Mosquitto:
        broker = Mosquitto(tmp_path, free_port, lines)
        started.append(broker)
        broker.start()
        return broker

    yield start
    for broker in started:
        broker.stop()


@pytest.fixture
def mosquitto(start_mosquitto: StartMosquitto) -> Mosquitto:
    """A running broker that takes everybody."""
    return start_mosquitto("allow_anonymous true")


@dataclass(frozen=True)
class Certificates:
    """PEM files: an authority, what it issued, and a certificate that only vouches for itself."""

    authority: Path
    server: Path
    server_key: Path
    client: Path
    lone: Path
    lone_key: Path
    #: SHA-256 of ``lone`` as hex.
    lone_pin: str


@pytest.fixture(scope="session")
def certificates(tmp_path_factory: pytest.TempPathFactory) -> Certificates:
    """Made with openssl for this run, for localhost and 127.0.0.1."""
    folder = tmp_path_factory.mktemp("certificates")
    names = "subjectAltName=DNS:localhost,IP:127.0.0.1"

    program = shutil.which("openssl") or pytest.skip("openssl is not installed")

    def run(*words: str) -> str:
        done = subprocess.run(
            [program, *words], cwd=folder, check=True, capture_output=True, text=True
        )
        return done.stdout

    def own(name: str, subject: str, *more: str) -> None:
        key = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes")
        files = ("-keyout", f"{name}.key", "-out", f"{name}.pem")
        run("req", "-x509", *key, *files, "-days", "2", "-subj", subject, *more)

    own("authority", "/CN=Alder Lane authority")
    own("lone", "/CN=Alder Lane broker", "-addext", names)
    for name in ("server", "client"):
        key = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes")
        files = ("-keyout", f"{name}.key", "-out", f"{name}.csr")
        run("req", *key, *files, "-subj", f"/CN={name}")
        (folder / "names").write_text(names + "\n")
        signed = ("-CA", "authority.pem", "-CAkey", "authority.key", "-CAcreateserial")
        issued = ("-in", f"{name}.csr", "-out", f"{name}.pem", "-extfile", "names")
        run("x509", "-req", *issued, *signed, "-days", "2")
    both = (folder / "client.pem").read_text() + (folder / "client.key").read_text()
    (folder / "client-both.pem").write_text(both)
    shown = run("x509", "-in", "lone.pem", "-noout", "-fingerprint", "-sha256")
    return Certificates(
        authority=folder / "authority.pem",
        server=folder / "server.pem",
        server_key=folder / "server.key",
        client=folder / "client-both.pem",
        lone=folder / "lone.pem",
        lone_key=folder / "lone.key",
        lone_pin=shown.strip().partition("=")[2],
    )


@dataclass
class Recorder:
    """Takes events and notes as the service would, and waits for them to come."""

    events: list[Event] = field(default_factory=list)
    moments: list[Moment] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)

    def feed(self, event: Event, moment: Moment) -> None:
        """A port for events."""
        self.events.append(event)
        self.moments.append(moment)

    def note(self, note: Note) -> None:
        """A port for the log."""
        self.notes.append(note)

    def clock(self) -> Moment:
        """A real clock."""
        return Moment(time.monotonic_ns() // 1_000_000, time.time_ns() // 1_000_000)

    def of(self, *kinds: type) -> list[Event]:
        """The events of these kinds."""
        return [event for event in self.events if isinstance(event, kinds)]

    def noted(self, event: str) -> list[Note]:
        """The notes of that event."""
        return [note for note in self.notes if note.event == event]

    async def until(self, met: Callable[[], object], *, seconds: float = 10) -> None:
        """Wait until it is so, and say what came instead where it does not happen."""
        loop = asyncio.get_running_loop()
        end = loop.time() + seconds
        while not met():
            if loop.time() > end:
                pytest.fail(f"waited {seconds} s in vain: {self.events} {self.notes}")
            await asyncio.sleep(0.005)


@pytest.fixture
def recorder() -> Recorder:
    """Events and notes, as they come."""
    return Recorder()
