"""The stop step, as the unit starts it: a process of its own, after a daemon that is gone."""

from __future__ import annotations

import asyncio
import os
import struct
import subprocess
import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest
from aiohttp import web

from bridge.engine.leaving import ready_requests
from bridge.engine.site import Access, Site
from bridge.service.lock import site_lock
from bridge.service.ready_requests import SentInstants, ready_path, sent_path, write_ready
from bridge.service.socket_path import socket_path
from tests.engine.workroom import workroom
from tests.serving import serving

OPEN = Access()
THIRD_PARTY = ("aiohttp", "paho", "pydantic", "structlog", "ruamel", "yarl")


@dataclass
class Asked:
    """What a controller was asked, and when."""

    status: int = 200
    requests: list[tuple[float, str, str]] = field(default_factory=list)

    async def answer(self, request: web.Request) -> web.StreamResponse:
        """Write it down."""
        await request.read()
        let_in = request.headers.get("Authorization", "")
        self.requests.append((time.monotonic(), f"{request.method} {request.path}", let_in))
        return web.Response(status=self.status)


@dataclass
class Scene:
    """A site's directory, and what its daemon left beside its socket."""

    folder: Path
    environment: dict[str, str] = field(default_factory=dict)

    @property
    def site(self) -> Path:
        """Where its files would be."""
        return self.folder / "site"

    def ready(self, url: str, *, requests: int | None = 100, access: Access = OPEN) -> None:
        """As a daemon leaves it that started this very moment."""
        site = workroom()
        rail = replace(site.controllers["rail"], url=url, access=access)
        self.ready_site(replace(site, controllers={"rail": rail}), requests)

    def ready_site(self, site: Site, requests: int | None) -> None:
        """Of any site."""
        dialects = {
            name: replace(each, limits=replace(each.limits, requests=requests, timeout_ms=1500))
            for name, each in site.dialects.items()
        }
        ready = ready_requests(replace(site, dialects=dialects))
        now_ms = time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1_000_000
        SentInstants(self.sent_file, ready, now_ms).close()
        write_ready(self.ready_file, ready)

    @property
    def ready_file(self) -> Path:
        """What is ready."""
        return ready_path(socket_path(self.site, self.variables))

    @property
    def sent_file(self) -> Path:
        """What was sent when."""
        return sent_path(socket_path(self.site, self.variables))

    @property
    def variables(self) -> Mapping[str, str]:
        """The step's environment."""
        return {**os.environ, "RUNTIME_DIRECTORY": str(self.folder), **self.environment}

    async def step(self) -> subprocess.CompletedProcess[str]:
        """What the unit starts."""
        self.site.mkdir(exist_ok=True)
        return await asyncio.to_thread(self.run)

    def run(self) -> subprocess.CompletedProcess[str]:
        """The same, whether the site is there or not."""
        return subprocess.run(
            [sys.executable, "-m", "bridge.service.stop_step", str(self.site)],
            env=dict(self.variables),
            capture_output=True,
            text=True,
            timeout=30,
            check=False,
        )


@pytest.mark.asyncio
async def test_it_sends_what_is_ready_and_then_nothing_is(tmp_path: Path) -> None:
    """Once: a second call finds that the lights are off watch."""
    scene, asked = Scene(tmp_path), Asked()
    async with serving(asked.answer) as url:
        scene.ready(url)
        done = await scene.step()
        assert (done.returncode, done.stderr) == (0, "")
        assert {what for _, what, _ in asked.requests} == {"PUT /pegs/1/row", "PUT /pegs/2/row"}
        count = len(asked.requests)
        again = await scene.step()
        assert (again.returncode, len(asked.requests)) == (0, count)
        assert "nothing is ready" in again.stdout


@pytest.mark.asyncio
async def test_it_keeps_the_limits_counted_on_from_what_the_daemon_sent(tmp_path: Path) -> None:
    """The daemon's last second is used up; after that at most so many in any second."""
    scene, asked = Scene(tmp_path), Asked()
    async with serving(asked.answer) as url:
        began = time.monotonic()
        scene.ready(url, requests=2)
        assert (await scene.step()).returncode == 0
    instants = [began, began, *(at for at, _, _ in asked.requests)]
    assert len(instants) > 4
    for first, third in zip(instants, instants[2:], strict=False):
        assert third - first > 0.99


@pytest.mark.asyncio
async def test_a_second_stop_step_counts_on_from_the_first(tmp_path: Path) -> None:
    """What was not taken is sent again, and not sooner than the limit lets it."""
    scene, asked = Scene(tmp_path), Asked(status=404)
    async with serving(asked.answer) as url:
        scene.ready(url, requests=4)
        assert (await scene.step()).returncode == 1
        count, asked.status = len(asked.requests), 200
        assert (await scene.step()).returncode == 0
    instants = [at for at, _, _ in asked.requests]
    assert len(instants) == 2 * count
    for first, fifth in zip(instants, instants[4:], strict=False):
        assert fifth - first > 0.99


@pytest.mark.asyncio
async def test_instants_of_another_start_of_the_board_are_none(tmp_path: Path) -> None:
    """They lie in the future; the limit counts as used up just now, and no longer."""
    scene, asked = Scene(tmp_path), Asked()
    async with serving(asked.answer) as url:
        scene.ready(url, requests=4)
        scene.sent_file.write_bytes(struct.pack("<4q", *[1 << 60] * 4))
        began = time.monotonic()
        assert (await scene.step()).returncode == 0
    assert 0.9 < asked.requests[0][0] - began < 5


@pytest.mark.asyncio
@pytest.mark.parametrize("text", ["", "{", "[]", '{"controllers": [{}]}', '{"controllers": 7}'])
async def test_a_damaged_file_is_said_in_one_line(tmp_path: Path, text: str) -> None:
    """Nothing was sent, and the code says so."""
    scene = Scene(tmp_path)
    scene.ready_file.write_text(text, "utf-8")
    done = await scene.step()
    assert (done.returncode, done.stdout) == (1, "")
    (line,) = done.stderr.splitlines()
    assert "is damaged" in line


@pytest.mark.asyncio
async def test_what_is_ready_for_one_may_be_damaged_alone(tmp_path: Path) -> None:
    """Of another release, perhaps: a line, no trace."""
    scene = Scene(tmp_path)
    scene.ready_file.write_text('{"controllers": [{"name": "rail"}]}', "utf-8")
    done = await scene.step()
    assert done.returncode == 1
    (line,) = done.stderr.splitlines()
    assert line.startswith("controller rail is not off watch: what is ready for it cannot be used")


@pytest.mark.asyncio
async def test_a_site_that_is_gone_still_has_its_lights(tmp_path: Path) -> None:
    """Somebody moved its files while it ran."""
    scene, asked = Scene(tmp_path), Asked()
    async with serving(asked.answer) as url:
        scene.ready(url)
        done = await asyncio.to_thread(scene.run)
    assert (done.returncode, bool(asked.requests)) == (0, True)


@pytest.mark.asyncio
async def test_it_does_nothing_while_the_daemon_runs(tmp_path: Path) -> None:
    """All requests of a running site are the daemon's."""
    scene, asked = Scene(tmp_path), Asked()
    async with serving(asked.answer) as url:
        scene.ready(url)
        scene.site.mkdir()
        lock = site_lock(scene.site)
        lock.take()
        done = await scene.step()
        lock.release()
    assert (done.returncode, asked.requests) == (0, [])
    assert "its daemon runs" in done.stdout


@pytest.mark.asyncio
async def test_it_is_let_in_as_the_daemon_is(tmp_path: Path) -> None:
    """Credentials come from the same places, by the same names."""
    for access, header in (
        (Access("basic", "rail-login"), "Basic Ym9zdW46cm9wZQ=="),
        (Access("bearer", "rail-login"), "Bearer bosun:rope"),
    ):
        scene, asked = Scene(tmp_path), Asked()
        scene.environment = {"LAMPWRIGHT_CREDENTIAL_RAIL_LOGIN": "bosun:rope"}
        async with serving(asked.answer) as url:
            scene.ready(url, access=access)
            assert (await scene.step()).returncode == 0
        assert {let_in for _, _, let_in in asked.requests} == {header}


@pytest.mark.asyncio
@pytest.mark.parametrize(
    ("url", "status", "access", "why"),
    [
        ("http://127.0.0.1:9", 0, Access(), "connection refused"),
        ("", 503, Access(), "with 503"),
        ("", 200, Access("basic", "nobody"), "there is no credential 'nobody'"),
        ("", 200, Access("digest", "rail"), "there is no credential 'rail'"),
    ],
)
async def test_what_cannot_be_done_is_said_in_one_line(
    tmp_path: Path, url: str, status: int, access: Access, why: str
) -> None:
    """With the controller's name, and what is ready stays ready."""
    scene, asked = Scene(tmp_path), Asked(status)
    async with serving(asked.answer) as served:
        scene.ready(url or served, access=access)
        done = await scene.step()
    assert done.returncode == 1
    (line,) = done.stderr.splitlines()
    assert line.startswith("controller rail is not off watch: ")
    assert why in line
    assert scene.ready_file.exists()


@pytest.mark.asyncio
async def test_one_controller_holds_up_no_other(tmp_path: Path) -> None:
    """All of them at once, each within its own time."""

    async def hangs(_: web.Request) -> web.StreamResponse:
        await asyncio.sleep(60)
        return web.Response()

    scene, asked = Scene(tmp_path), Asked()
    async with serving(asked.answer) as url, serving(hangs) as dead:
        site = workroom()
        rail = site.controllers["rail"]
        controllers = {
            "rail": replace(rail, url=url),
            "dead": replace(rail, name="dead", url=dead),
        }
        segments = {
            **site.segments,
            "s2": replace(site.segments["s2"], controller="dead"),
        }
        scene.ready_site(replace(site, controllers=controllers, segments=segments), None)
        done = await scene.step()
    assert asked.requests
    assert done.returncode == 1
    assert "controller dead is not off watch: " in done.stderr


def test_it_loads_nothing_that_is_slow_to_load() -> None:
    """It runs when the board may be going down."""
    code = "import sys, bridge.service.stop_step; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=30
    )
    assert not [name for name in done.stdout.split() if name.split(".")[0] in THIRD_PARTY]


def test_misuse_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """One site."""
    from bridge.service.stop_step import main  # noqa: PLC0415 - as a process it is started above

    assert main([], {}) == 2
    assert "usage" in capsys.readouterr().err
