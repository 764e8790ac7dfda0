"""What the stop step finds on disk."""

from __future__ import annotations

import json
import stat
import struct
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.engine.leaving import ready_requests
from bridge.engine.site import Access, Controller
from bridge.lights.dialect.grammar import Limits
from bridge.service.ready_requests import (
    SentInstants,
    ready_path,
    sent_path,
    write_ready,
)
from tests.engine.workroom import workroom


def limits(_: Controller) -> Limits:
    """Four a second."""
    return Limits(requests=4)


def test_they_are_written_for_nobody_else_to_read(tmp_path: Path) -> None:
    """With credentials by name only."""
    site = workroom()
    rail = replace(site.controllers["rail"], access=Access("basic", "rail-login"))
    ready = ready_requests(replace(site, controllers={"rail": rail}))
    path = ready_path(tmp_path / "site.sock")
    write_ready(path, ready, limits)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    (kept,) = json.loads(path.read_text("utf-8"))["controllers"]
    assert (kept["name"], kept["credential"], kept["limit"], kept["sent"]) == (
        "rail",
        "rail-login",
        4,
        0,
    )
    assert [each["method"] for each in kept["requests"]] == ["PUT"] * len(kept["requests"])
    assert [each.name for each in tmp_path.iterdir()] == ["site.ready"]


def instants(path: Path) -> list[int]:
    """What is in the file."""
    return [at for (at,) in struct.iter_unpack("<q", path.read_bytes())]


def test_the_last_instants_of_each_controller_stand_in_memory(tmp_path: Path) -> None:
    """As many as its limit counts, from the start as if they had been sent just then."""
    path = sent_path(tmp_path / "site.sock")
    sent = SentInstants(path, [("door", 2), ("mute", 0), ("rack", 3)], 100)
    assert instants(path) == [100] * 5
    for at in (200, 300, 400):
        sent.sent("door", at)
    sent.sent("rack", 250)
    sent.sent("mute", 999)
    sent.sent("nobody", 999)
    assert instants(path) == [400, 300, 250, 100, 100]
    sent.close()
    assert instants(path) == [400, 300, 250, 100, 100]


def test_without_any_limit_there_is_still_a_file(tmp_path: Path) -> None:
    """An empty one cannot be mapped."""
    sent = SentInstants(tmp_path / "x", [("door", 0)], 1)
    sent.sent("door", 5)
    sent.close()


def test_what_cannot_be_written_is_an_error_of_the_system(tmp_path: Path) -> None:
    """For whoever calls it to tell."""
    with pytest.raises(OSError, match="No such file"):
        write_ready(tmp_path / "nowhere" / "x.ready", (), limits)
