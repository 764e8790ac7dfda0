"""Requests that a controller could not take in are found before it is asked to."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.check.bodies import MOST_TARGET_BYTES, size_findings
from bridge.engine.site import Site
from bridge.lights.dialect.grammar import Limits
from bridge.settings.load import load_site

CONFIG = Path(__file__).parents[2] / "config"


@pytest.fixture(scope="module")
def club() -> Site:
    """The example site."""
    return load_site(CONFIG)


def _limited(site: Site, dialect: str, limits: Limits) -> Site:
    grammar = replace(site.dialects[dialect], limits=limits)
    return replace(site, dialects={**site.dialects, dialect: grammar})


def test_the_example_site_asks_for_nothing_too_large(club: Site) -> None:
    """Every scene of every segment fits."""
    assert list(size_findings(club)) == []


def test_a_painted_look_that_cannot_be_divided_is_found(club: Site) -> None:
    """120 pixels in one text of six digits each are 720 bytes and their frame."""
    found = list(size_findings(_limited(club, "bars", Limits(body_bytes=400))))
    assert [(each.severity, each.source) for each in found] == [
        ("error", club.segments["door-frame"].source)
    ]
    assert "a body of 732 bytes, more than its limit of 400 B" in found[0].message


@pytest.mark.parametrize(("limit", "found"), [(732, 0), (731, 1)])
def test_a_body_may_be_as_large_as_its_limit(limit: int, found: int, club: Site) -> None:
    """Not a byte more."""
    assert len(list(size_findings(_limited(club, "bars", Limits(body_bytes=limit))))) == found


def _with_a_note(site: Site, length: int) -> Site:
    """The pixels of one segment, in an address with so many characters more."""
    show = site.dialects["beads"].show
    assert show is not None
    long = replace(show, query={**show.query, "note": "x" * length})
    grammar = replace(site.dialects["beads"], show=long)
    segments = {"bench-left": site.segments["bench-left"]}
    return replace(site, dialects={**site.dialects, "beads": grammar}, segments=segments)


def test_an_address_that_small_servers_refuse_is_found(club: Site) -> None:
    """What stands in the query counts as the address; at the limit it is still taken."""
    (found,) = size_findings(_with_a_note(club, 500))
    assert found.severity == "warning"
    length = re.search(r"an address of (\d+) bytes", found.message)
    assert length is not None
    too_many = int(length[1]) - MOST_TARGET_BYTES
    assert list(size_findings(_with_a_note(club, 500 - too_many))) == []
    assert len(list(size_findings(_with_a_note(club, 501 - too_many)))) == 1
