"""What the stop step finds on disk."""

from __future__ import annotations

import json
import stat
import struct
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.engine.leaving import Ready, ready_requests
from bridge.engine.site import Access, Site
from bridge.facts.places import compile_place
from bridge.lights.dialect.grammar import Limits, ReplyCheck
from bridge.service.ready_requests import (
    SentInstants,
    ready_path,
    sent_path,
    write_ready,
)
from tests.engine.workroom import workroom


def ready(site: Site | None = None, **limits: int | None) -> Ready:
    """Of the workroom's one controller, with other limits and another name."""
    (found,) = ready_requests(site or workroom())
    return replace(
        found,
        dialect=replace(found.dialect, limits=Limits(requests=limits.get("requests", 4))),
    )


def named(name: str, requests: int | None) -> Ready:
    """Of one that is called so and bears so many."""
    found = ready(requests=requests)
    return replace(found, controller=replace(found.controller, name=name))


def test_they_are_written_for_nobody_else_to_read(tmp_path: Path) -> None:
    """With credentials by name only."""
    site = workroom()
    rail = replace(site.controllers["rail"], access=Access("basic", "rail-login"))
    path = ready_path(tmp_path / "site.sock")
    write_ready(path, [ready(replace(site, controllers={"rail": rail}))])
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


@pytest.mark.parametrize(
    ("place", "kept"),
    [
        ("/ok", {"at": "/ok", "wanted": True}),
        ("", {"at": "", "wanted": True}),
        ("$.list[?@.ok]", None),
    ],
)
def test_what_a_good_answer_says_is_written_with_it(
    tmp_path: Path, place: str, kept: dict[str, object] | None
) -> None:
    """Where the standard library can look for it."""
    found = ready()
    template = replace(
        found.requests[0].template, reply=ReplyCheck(compile_place(place), wanted=True)
    )
    request = replace(found.requests[0], template=replace(template, accepts=(202,)))
    path = tmp_path / "site.ready"
    write_ready(path, [replace(found, requests=(request,))])
    (controller,) = json.loads(path.read_text("utf-8"))["controllers"]
    (written,) = controller["requests"]
    assert (written["reply"], written["accepts"]) == (kept, [202])


def instants(path: Path) -> list[int]:
    """What is in the file."""
    return [at for (at,) in struct.iter_unpack("<q", path.read_bytes())]


def test_the_last_instants_of_each_controller_stand_in_memory(tmp_path: Path) -> None:
    """As many as its limit counts, from the start as if they had been sent just then."""
    path = sent_path(tmp_path / "site.sock")
    sent = SentInstants(path, [named("door", 2), named("mute", None), named("rack", 3)], 100)
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
    sent = SentInstants(tmp_path / "x", [named("door", None)], 1)
    sent.sent("door", 5)
    sent.close()
    assert instants(tmp_path / "x") == [1]


def test_what_cannot_be_written_is_an_error_of_the_system(tmp_path: Path) -> None:
    """For whoever calls it to tell."""
    with pytest.raises(OSError, match="No such file"):
        write_ready(tmp_path / "nowhere" / "x.ready", ())
