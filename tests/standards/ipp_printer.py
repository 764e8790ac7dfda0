"""A real IPP printer on loopback, and so much of IPP as it takes to print, cancel and look.

RFC 8010 §3 (encoding), RFC 8011 §4 (operations), §5.3.7, §5.4.11 and §5.4.12 (states, reasons).
"""

from __future__ import annotations

import http.client
import os
import shutil
import struct
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeAlias

_PATH = "/usr/sbin:/usr/local/sbin:/usr/bin:/usr/local/bin"
PRINTER = shutil.which("ippeveprinter", path=_PATH)
BUS = shutil.which("dbus-daemon", path=_PATH)

#: Attributes by name, each with its values.
Group: TypeAlias = dict[str, list[int | str]]

_PRINT, _CANCEL, _JOBS, _PRINTER = 0x0002, 0x0008, 0x000A, 0x000B
_INTEGER, _ENUM, _KEYWORD, _NAME = 0x21, 0x23, 0x44, 0x42
_CHARSET, _LANGUAGE, _URI, _MIME = 0x47, 0x48, 0x45, 0x49
_END_OF_ATTRIBUTES = 0x03
_LEAST_TAG_OF_A_VALUE = 0x10


class IppPrinter:
    """The printer at a port; ``hook`` is where its print command takes its lines from."""

    def __init__(self, port: int, hook: Path) -> None:
        self._port = port
        self._hook = hook.open("r+b", buffering=0)

    def says(self, line: str) -> None:
        """Let the running job's command say this, as a driver does; ``done`` ends it."""
        self._hook.write(f"{line}\n".encode())

    def print(self) -> int:
        """Begin a job; its id."""
        extra = _attribute(_MIME, "document-format", b"text/plain")
        (job,) = [each for each in self._ask(_PRINT, extra, b"hull") if "job-id" in each]
        return int(job["job-id"][0])

    def cancel(self, job: int) -> None:
        """Cancel it."""
        self._ask(_CANCEL, _attribute(_INTEGER, "job-id", struct.pack(">i", job)))

    def look(self) -> dict[str, object]:
        """What a small adapter makes JSON of: the states as the numbers that they are."""
        (printer,) = [each for each in self._ask(_PRINTER) if "printer-state" in each]
        jobs = {
            int(each["job-id"][0]): each["job-state"][0]
            for which in ("completed", "not-completed")
            for each in self._ask(_JOBS, _which(which))
            if "job-state" in each
        }
        latest = jobs[max(jobs)] if jobs else None
        return {
            "state": printer["printer-state"][0],
            "reasons": printer["printer-state-reasons"],
            "job": latest,
        }

    def close(self) -> None:
        """Let go of the hook."""
        self._hook.close()

    def _ask(self, operation: int, extra: bytes = b"", document: bytes = b"") -> list[Group]:
        uri = f"ipp://localhost:{self._port}/ipp/print".encode()
        body = (
            struct.pack(">BBHI", 2, 0, operation, 1)
            + b"\x01"
            + _attribute(_CHARSET, "attributes-charset", b"utf-8")
            + _attribute(_LANGUAGE, "attributes-natural-language", b"en")
            + _attribute(_URI, "printer-uri", uri)
            + _attribute(_NAME, "requesting-user-name", b"ann")
            + extra
            + bytes([_END_OF_ATTRIBUTES])
            + document
        )
        connection = http.client.HTTPConnection("127.0.0.1", self._port, timeout=5)
        try:
            headers = {"Content-Type": "application/ipp"}
            connection.request("POST", "/ipp/print", body, headers)
            return _groups(connection.getresponse().read())
        finally:
            connection.close()


def _which(jobs: str) -> bytes:
    return (
        _attribute(_KEYWORD, "which-jobs", jobs.encode())
        + _attribute(_KEYWORD, "requested-attributes", b"job-state")
        + _attribute(_KEYWORD, "", b"job-id")
    )


def _attribute(tag: int, name: str, value: bytes) -> bytes:
    """RFC 8010 §3.1.4; without a name a further value of the one before."""
    words = name.encode()
    return struct.pack(">BH", tag, len(words)) + words + struct.pack(">H", len(value)) + value


def _groups(reply: bytes) -> list[Group]:
    """The groups of a response, after its version, status and request id."""
    groups: list[Group] = []
    at, name = 8, ""
    while at < len(reply) and (tag := reply[at]) != _END_OF_ATTRIBUTES:
        at += 1
        if tag < _LEAST_TAG_OF_A_VALUE:
            groups.append({})
            continue
        words, at = _counted(reply, at)
        value, at = _counted(reply, at)
        name = words.decode() or name
        is_number = tag in {_INTEGER, _ENUM}
        known = struct.unpack(">i", value)[0] if is_number else value.decode("utf-8", "replace")
        groups[-1].setdefault(name, []).append(known)
    return groups


def _counted(reply: bytes, at: int) -> tuple[bytes, int]:
    (length,) = struct.unpack(">H", reply[at : at + 2])
    return reply[at + 2 : at + 2 + length], at + 2 + length


@contextmanager
def running(folder: Path, port: int) -> Iterator[IppPrinter]:
    """The printer and the bus that it insists on; both ended by their own handles."""
    if PRINTER is None or BUS is None:
        raise RuntimeError("ippeveprinter and dbus-daemon are not both there")
    bus, fifo, script = folder / "bus", folder / "hook", folder / "command.sh"
    (folder / "spool").mkdir()
    os.mkfifo(fifo)
    script.write_text(
        f"#!/bin/sh\nexec 3<>{fifo}\nwhile read -r line <&3; do\n"
        '  [ "$line" = done ] && exit 0\n  echo "$line" >&2\ndone\n',
        "utf-8",
    )
    script.chmod(0o755)
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    first = [BUS, "--session", f"--address=unix:path={bus}", "--nofork", "--nopidfile"]
    second = [PRINTER, "-n", "localhost", "-p", str(port), "-d", str(folder / "spool")]
    second += ["-c", str(script), "-f", "application/octet-stream,text/plain", "-r", "off", "Bench"]
    places = {**os.environ, "DBUS_SYSTEM_BUS_ADDRESS": f"unix:path={bus}"}
    with subprocess.Popen(first, **quiet) as daemon:  # type: ignore[call-overload]
        try:
            while not bus.exists() and daemon.poll() is None:
                time.sleep(0.01)
            with subprocess.Popen(second, env=places, **quiet) as process:  # type: ignore[call-overload]
                printer = IppPrinter(port, fifo)
                try:
                    yield printer
                finally:
                    printer.close()
                    process.terminate()
        finally:
            daemon.terminate()
