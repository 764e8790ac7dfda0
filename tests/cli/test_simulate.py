"""Simulators started by hand: they say where they are, and tell each change."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from bridge.simulator.brokers import free_port, mosquitto_path, start_broker


@contextmanager
def simulating(*options: str) -> Iterator[subprocess.Popen[str]]:
    """The command in a process of its own, interrupted at the end."""
    process = subprocess.Popen(
        [sys.executable, "-m", "bridge", "simulate", *options],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        yield process
    finally:
        process.send_signal(signal.SIGINT)
        _, complaint = process.communicate(timeout=10)
    assert (process.returncode, complaint) == (130, "")


def lines(process: subprocess.Popen[str], count: int) -> list[str]:
    """The next lines of it."""
    assert process.stdout is not None
    return [process.stdout.readline().rstrip("\n") for _ in range(count)]


def answer(url: str, body: object = None) -> object:
    """What is answered there."""
    data = None if body is None else json.dumps(body).encode()
    with urllib.request.urlopen(url, data, timeout=5) as reply:  # noqa: S310 - our own loopback
        parsed: object = json.load(reply)
    return parsed


def test_controllers_say_where_they_are_and_what_they_show() -> None:
    """At the ports that were asked for, else at free ones; a line for each change."""
    port = free_port()
    with simulating("controllers", "--port", str(port)) as process:
        where = dict(line.split(" listens on ") for line in lines(process, 6))
        urls = {name.strip(): url for name, url in where.items()}
        assert urls["door"] == f"http://127.0.0.1:{port}"
        assert answer(f"{urls['rack']}/plate") == {"maker": {"calls-it": "oak rack", "points": 90}}
        assert answer(f"{urls['bench']}/tag") == {"serial": "52117", "threaded": 72}
        assert {line.split()[1] for line in lines(process, 5)} == urls.keys() - {"switchboard"}
        wish = {"shelf-1": {"turn": 0, "depth": 0, "shine": 1000, "way": 0}}
        assert answer(f"{urls['rack']}/shelves", wish) == {"taken": 1}
        (change,) = lines(process, 1)
        assert change.split()[1] == "rack"
        assert "@" in change


def test_printers_publish_and_answer() -> None:
    """On the broker that is named, and over HTTP; each change is told in words."""
    broker = start_broker(mosquitto_path())
    try:
        address = f"mqtt://127.0.0.1:{broker.port}"
        with simulating("printers", "--broker", address, "--pace", "1000") as process:
            plover, *others = lines(process, 3)
            assert [line.split() for line in others] == [
                ["kestrel", "publishes", "to", address],
                ["heron", "publishes", "to", address],
            ]
            page = answer(plover.split()[-1], {"turn": "last"})
            assert isinstance(page, dict)
            assert set(page) == {"duty", "work", "heat", "trips"}
            told = " ".join(lines(process, 30))
            assert all(name in told for name in ("kestrel", "plover", "heron"))
    finally:
        broker.stop()


def test_a_broker_that_is_not_there_is_said() -> None:
    """The printers live on, and try again."""
    address = f"mqtt://127.0.0.1:{free_port()}"
    with simulating("printers", "--broker", address) as process:
        told = lines(process, 6)
        assert sum("no broker answers" in line for line in told) == 2


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["printers", "--broker", "http://somewhere"], "expected mqtt://HOST[:PORT]"),
        (["printers", "--broker", "mqtt://host:seven"], "expected mqtt://HOST[:PORT]"),
        (["printers", "--pace", "0"], "'0' is no pace"),
        (["controllers", "--port", "70000"], "'70000' is no port"),
        (["controllers", *["--port", "0"] * 7], "7 ports given, there are 6 to listen on"),
        (["bridges"], "invalid choice"),
    ],
)
def test_bad_input_ends_in_one_sentence(options: list[str], words: str) -> None:
    """And with the code for unusable input."""
    command = [sys.executable, "-m", "bridge", "simulate", *options]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=10, check=False)
    assert ended.returncode == 2
    assert words in ended.stderr
    assert "Traceback" not in ended.stderr


def test_a_port_in_use_is_said() -> None:
    """Whose port it was to be, and why not."""
    broker = start_broker(mosquitto_path())
    try:
        command = [sys.executable, "-m", "bridge", "simulate", "controllers"]
        command += ["--port", str(broker.port)]
        ended = subprocess.run(command, capture_output=True, text=True, timeout=10, check=False)
    finally:
        broker.stop()
    assert ended.returncode == 2
    assert f"door cannot listen on port {broker.port}" in ended.stderr


def test_a_controller_is_made_hard_to_please_while_it_runs() -> None:
    """By the switchboard; what it cannot do it says, and what is wrong it tells."""
    with simulating("controllers") as process:
        where = dict(line.split(" listens on ") for line in lines(process, 6))
        urls = {name.strip(): url for name, url in where.items()}
        board = urls["switchboard"]
        assert asked("PUT", f"{board}/rack", {"loses": 1})[0] == 200
        lines(process, 5)
        wish = {"shelf-1": {"turn": 0, "depth": 0, "shine": 1000, "way": 0}}
        assert answer(f"{urls['rack']}/shelves", wish) == {"taken": 1}
        told = asked("GET", f"{board}/rack")[1]
        assert (told["writes"], told["lost"], told["faults"]["loses"]) == (1, 1, 0)
        assert asked("POST", f"{board}/yard/darken")[0] == 200
        (change,) = lines(process, 1)
        assert change.split()[1] == "yard"
        assert asked("PUT", f"{board}/rack", {"sulks": True}) == (
            422,
            {"why": "no fault is called sulks, expected " + ", ".join(told["faults"])},
        )


def asked(method: str, url: str, body: object = None) -> tuple[int, Any]:
    """Status and answer of the switchboard."""
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(url, data, method=method)  # noqa: S310 - our own loopback
    try:
        with urllib.request.urlopen(request, timeout=5) as reply:  # noqa: S310
            return reply.status, json.load(reply)
    except urllib.error.HTTPError as error:
        return error.code, json.load(error)
