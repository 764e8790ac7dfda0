"""A broker to try things on, in a process apart: mosquitto where one is found, else iotcore."""

from __future__ import annotations

import importlib.util
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Final, Protocol

#: Debian keeps it outside the path of an ordinary user.
_PLACES: Final = ("/usr/sbin", "/usr/local/sbin")
_UP_WITHIN_S: Final = 10.0
_ENDS_WITHIN_S: Final = 5.0
_LOOPBACK: Final = "127.0.0.1"


class NoBrokerError(Exception):
    """There is no broker here, or it did not come up; the text says what to do."""


class Broker(Protocol):
    """A broker on a port of the loopback."""

    name: str
    port: int

    def stop(self) -> None:
        """End it, by its process id, and leave nothing behind."""


def start_broker(mosquitto: str | None) -> Broker:
    """A broker on a free port: the mosquitto at this path, without one the embedded broker.

    Raises ``NoBrokerError``.
    """
    if mosquitto is not None:
        return Mosquitto(mosquitto)
    if importlib.util.find_spec("iotcore") is None:
        raise NoBrokerError(
            "no broker found: install mosquitto, or the embedded one with pip install iotcore"
        )
    return Embedded()


def mosquitto_path() -> str | None:
    """Where mosquitto is, if it is here."""
    search = os.pathsep.join([os.environ.get("PATH", os.defpath), *_PLACES])
    return shutil.which("mosquitto", path=search)


def free_port() -> int:
    """A port of the loopback that nobody listens on just now."""
    with socket.socket() as probe:
        probe.bind((_LOOPBACK, 0))
        port: int = probe.getsockname()[1]
    return port


class Mosquitto:
    """A mosquitto of our own, with settings and log in a directory that goes with it."""

    name = "mosquitto"

    def __init__(self, path: str) -> None:
        self.port = free_port()
        self._directory = tempfile.TemporaryDirectory(prefix="lampwright-broker-")
        settings = Path(self._directory.name, "mosquitto.conf")
        # Without the last line one message in 500 waits 44 ms for an acknowledgement.
        settings.write_text(
            f"listener {self.port} {_LOOPBACK}\nallow_anonymous true\npersistence false\n"
            "log_dest stderr\nset_tcp_nodelay true\n",
            encoding="ascii",
        )
        with Path(self._directory.name, "log").open("wb") as log:
            self._process = subprocess.Popen(  # noqa: S603 - the path is a mosquitto's
                [path, "-c", str(settings)],
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
            )
        _wait_for(self.port, self._process, self.stop)

    def stop(self) -> None:
        """End the process and remove its directory."""
        _end(self._process)
        self._directory.cleanup()


class Embedded:
    """The broker of the package iotcore, in a child process that ends with its standard input."""

    name = "embedded iotcore"

    def __init__(self) -> None:
        self.port = free_port()
        program = (
            "import sys, threading, os\n"
            "from iotcore import Broker\n"
            "def leave():\n"
            "    sys.stdin.read()\n"
            "    os._exit(0)\n"
            "threading.Thread(target=leave, daemon=True).start()\n"
            f"Broker(port={self.port}, listen='{_LOOPBACK}').run_forever()\n"
        )
        self._process = subprocess.Popen(  # noqa: S603 - the program is written here
            [sys.executable, "-c", program],
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        _wait_for(self.port, self._process, self.stop)

    def stop(self) -> None:
        """End the process."""
        if self._process.stdin is not None:
            self._process.stdin.close()
        _end(self._process)


class _Stop(Protocol):
    def __call__(self) -> None: ...


def _wait_for(port: int, process: subprocess.Popen[bytes], stop: _Stop) -> None:
    deadline = time.monotonic() + _UP_WITHIN_S
    while time.monotonic() < deadline and process.poll() is None:
        try:
            socket.create_connection((_LOOPBACK, port), timeout=0.5).close()
        except OSError:
            time.sleep(0.02)
        else:
            return
    stop()
    raise NoBrokerError(f"the broker did not come up on port {port} within {_UP_WITHIN_S:g} s")


def _end(process: subprocess.Popen[bytes]) -> None:
    process.terminate()
    try:
        process.wait(_ENDS_WITHIN_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
