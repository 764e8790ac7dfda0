"""``lampwright provision`` and ``check --live``: on real simulated controllers over HTTP."""

from __future__ import annotations

import asyncio
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Self

import pytest

from bridge.service.lock import site_lock
from bridge.simulator.evening import controllers
from bridge.simulator.servers import controller_server
from bridge.simulator.stage import running_ms
from tests.cli.commands import CONFIG, hold_to_shape, lampwright
from tests.lights.mast import Mast
from tests.lights.mast_server import mast_server

MAST_DIALECT = """\
limits: {requests: 20/s, settles_in: 200ms}
show: {method: PUT, path: "/pennants/{number}", body: {dye: "{colour}", wind: "{level}"}}
read:
  method: GET
  path: /mast
  keyed: {at: /pennants, key: "{number}"}
  values: {/dye: colour, /wind: level, /from: first, /span: length}
  restart: {mark: /hoisted}
define:
  {method: PUT, path: "/pennants/{number}/place", body: {from: "{first}", span: "{length}"}}
boot:
  read: {method: GET, path: /dawn, values: {/dye: colour, /wind: level}}
  write: {method: PUT, path: /dawn, body: {dye: "{colour}", wind: "{level}"}}
"""


class Serving:
    """The club's three controllers, and a mast, on a loop of their own."""

    def __init__(self) -> None:
        self.urls: dict[str, str] = {}
        self.mast = Mast()
        self._loop = asyncio.new_event_loop()
        self._up, self._stop = threading.Event(), asyncio.Event()
        self._thread = threading.Thread(target=self._loop.run_until_complete, args=(self._serve(),))

    async def _serve(self) -> None:
        servers = {
            name: controller_server(board, running_ms)
            for name, board in controllers(now_ms=running_ms()).items()
        }
        for name, server in servers.items():
            self.urls[name] = await server.start()
        async with mast_server(self.mast) as url:
            self.urls["mast"] = url
            self._up.set()
            await self._stop.wait()
        for server in servers.values():
            await server.stop()

    def __enter__(self) -> Self:
        """Wait until all are up."""
        self._thread.start()
        assert self._up.wait(10)
        return self

    def __exit__(self, *_: object) -> None:
        """Take all down."""
        self._loop.call_soon_threadsafe(self._stop.set)
        self._thread.join(10)
        self._loop.close()


@pytest.fixture
def served() -> Iterator[Serving]:
    """Everything up."""
    with Serving() as serving:
        yield serving


@pytest.fixture
def club(tmp_path: Path, served: Serving) -> Path:
    """A copy of the example site, at the simulators' addresses."""
    site = shutil.copytree(CONFIG, tmp_path / "club")
    text = (site / "site.yaml").read_text("utf-8")
    for name in ("door", "rack", "bench"):
        text = text.replace(f"http://{name}.club.example", served.urls[name])
    (site / "site.yaml").write_text(text, "utf-8")
    return site


def with_a_mast(club: Path, served: Serving) -> None:
    """The bench's controller is a mast."""
    (club / "dialects" / "mast.yaml").write_text(MAST_DIALECT, "utf-8")
    text = (club / "site.yaml").read_text("utf-8")
    text = text.replace(served.urls["bench"], served.urls["mast"])
    text = text.replace("dialect: beads, pixels: 72", "dialect: mast, pixels: 72")
    text = text.replace("bench-left: {on: bench, first", "bench-left: {on: bench, number: a, first")
    text = text.replace(
        "bench-right: {on: bench, first", "bench-right: {on: bench, number: b, first"
    )
    text = text.replace(', identity: "52117"', "")
    (club / "site.yaml").write_text(text, "utf-8")


def test_a_live_check_visits_every_controller(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And changes nothing."""
    code, said, complaint = lampwright(capsys, "check", club, "--live")
    assert (code, complaint) == (0, "")
    assert "is 'oak rack', as the site says" in said
    assert "has 150 pixels, the site uses 150" in said
    code, said, _ = lampwright(capsys, "check", club, "--live", "--json")
    value = hold_to_shape(said, "check")
    assert isinstance(value, dict)
    assert [each["controller"] for each in value["live"]] == ["door", "rack", "bench"]


def test_one_that_is_gone_is_to_mend(
    club: Path, served: Serving, capsys: pytest.CaptureFixture[str]
) -> None:
    """The others are visited all the same."""
    text = (club / "site.yaml").read_text("utf-8")
    (club / "site.yaml").write_text(
        text.replace(served.urls["rack"], "http://127.0.0.1:9"), "utf-8"
    )
    code, said, _ = lampwright(capsys, "check", club, "--live")
    assert code == 1
    assert "WRONG: GET /plate: connection refused" in said
    assert "is 'D-4', as the site says" in said
    assert "1 to mend" in said


@pytest.mark.parametrize("command", [("check", "--live"), ("provision",)])
def test_a_running_site_is_left_to_its_daemon(
    club: Path, command: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """All requests pass through it."""
    lock = site_lock(club)
    lock.take()
    try:
        code, _, complaint = lampwright(capsys, *command, club)
    finally:
        lock.release()
    assert code == 2
    assert "a daemon runs this site" in complaint


def test_what_is_stored_is_put_right_with_leave_only(
    club: Path, served: Serving, capsys: pytest.CaptureFixture[str]
) -> None:
    """First the difference, then with --write the writing, then nothing differs any more."""
    with_a_mast(club, served)
    code, said, _ = lampwright(capsys, "provision", club)
    assert code == 1
    assert "would change: bench-left: would be told which pixels it is" in said
    assert "would change: look at power-up (colour, level): would be off watch" in said
    assert not any(each.startswith("PUT") for each in served.mast.done)
    code, said, _ = lampwright(capsys, "provision", club, "--write")
    assert code == 0
    assert "bench: PUT /pennants/a/place" in said
    assert served.mast.pennants["b"]["from"] == 36
    assert served.mast.dawns_written == 1
    code, said, _ = lampwright(capsys, "provision", club, "--write")
    assert code == 0
    assert "nothing is stored otherwise" in said
    assert served.mast.dawns_written == 1
