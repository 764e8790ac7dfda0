"""The words that every room shares."""

from __future__ import annotations

import pytest

from bridge.facts.vocabulary import FACTS, GRAVITY, Kind, Says, fact_named, gravity


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("state", Kind.SYMBOL),
        ("reasons", Kind.REASONS),
        ("progress", Kind.NUMBER),
        ("job-name", Kind.TEXT),
        ("stale", Kind.TRUTH),
        ("site-humidity", Kind.TEXT),
        ("site-", None),
        ("State", None),
        ("humidity", None),
    ],
)
def test_fact_named(name: str, kind: Kind | None) -> None:
    """The facts, ``stale``, and whatever a site names with its prefix."""
    found = fact_named(name)
    assert (found.kind if found else None) is kind


@pytest.mark.parametrize(
    ("milder", "graver"),
    [("resting", "well"), ("well", "unknown"), ("unknown", "notice"), ("act", "trouble")],
)
def test_gravity(milder: Says, graver: Says) -> None:
    """Further right is graver; not to know is graver than to be well."""
    assert gravity(milder) < gravity(graver)


def test_gravity_is_of_every_word() -> None:
    """One rank a word, from nought."""
    assert sorted(map(gravity, GRAVITY)) == list(range(len(GRAVITY)))


def test_facts_are_under_their_own_name() -> None:
    """A table that names a fact twice would hide one."""
    assert all(name == fact.name for name, fact in FACTS.items())
