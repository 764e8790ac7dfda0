"""Visits over real HTTP: within the limits, one controller holding up no other."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.engine.site import Access, Site
from bridge.service.lock import site_lock
from bridge.service.visiting import DaemonRunsError, take_site, visit_all
from tests.check.test_visit import mast_site
from tests.lights.mast import Mast
from tests.lights.mast_server import mast_server


def at(url: str, access: Access | None = None) -> Site:
    """The mast's site at that address."""
    site = mast_site()
    rail = replace(site.controllers["rail"], url=url, access=access or Access())
    return replace(site, controllers={"rail": rail})


@pytest.mark.asyncio
async def test_a_controller_is_visited_as_slowly_as_it_bears() -> None:
    """Ten a second: the first second counts as used up, then a tenth between two."""
    mast, loop = Mast(), asyncio.get_running_loop()
    async with mast_server(mast) as url:
        began = loop.time()
        (visit,) = await visit_all(at(url), {})
        assert loop.time() - began >= 1.0 + 0.1
    assert mast.done == ["GET /mast", "GET /dawn"]
    assert visit.wrong == []


@pytest.mark.asyncio
@pytest.mark.parametrize(
    ("access", "why"),
    [
        (None, "connection refused"),
        (Access("bearer", "nobody"), "there is no credential 'nobody'"),
    ],
)
async def test_what_cannot_be_reached_is_said(access: Access | None, why: str) -> None:
    """Once, in one line, whatever else would have been asked."""
    (visit,) = await visit_all(at("http://127.0.0.1:9", access), {})
    (line,) = visit.wrong
    assert why in line


def test_a_site_that_runs_is_its_daemons(tmp_path: Path) -> None:
    """Nobody talks to its controllers behind the daemon's back."""
    lock = site_lock(tmp_path)
    take_site(tmp_path, "ask it")
    lock.take()
    try:
        with pytest.raises(DaemonRunsError, match=r"a daemon runs this site.*ask it"):
            take_site(tmp_path, "ask it")
    finally:
        lock.release()
