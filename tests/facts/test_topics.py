"""Topic filters: what is wrong with one, what it matches, and what its wildcards stand for."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.topics import (
    captured,
    matches,
    problem_of_filter,
    problem_of_topic,
    wildcard_count,
)


@pytest.mark.parametrize(
    "topic_filter", ["#", "+", "/", "bench/+/phase", "bench/#", "+/+", "+/#", "a b", "$SYS/#", "//"]
)
def test_a_valid_filter_has_no_problem(topic_filter: str) -> None:
    """What the specification allows is allowed."""
    assert problem_of_filter(topic_filter) is None


@pytest.mark.parametrize(
    ("topic_filter", "problem"),
    [
        ("", "at least one character"),
        ("bench#", "# beside other characters"),
        ("bench/#/phase", "goes on after #"),
        ("bench+", "+ beside other characters"),
        ("bench/+phase/x", "+ beside other characters"),
        ("bench/\0", "U+0000"),
        ("bench/\ud800", "surrogate"),
        ("$share/all/bench", "shared subscription"),
        ("é" * 32_768, "65536 bytes"),
    ],
)
def test_a_bad_filter_has_a_problem(topic_filter: str, problem: str) -> None:
    """Told before a broker hangs up because of it."""
    assert problem in str(problem_of_filter(topic_filter))


@pytest.mark.parametrize(
    ("topic", "problem"),
    [("bench/ask", None), ("bench/+", "wildcard"), ("#", "wildcard"), ("", "one character")],
)
def test_problem_of_topic(topic: str, problem: str | None) -> None:
    """What is published needs a topic of its own."""
    found = problem_of_topic(topic)
    assert found is None if problem is None else problem in str(found)


@pytest.mark.parametrize(
    ("topic_filter", "topic", "texts"),
    [
        ("bench/1/phase", "bench/1/phase", ()),
        ("bench/1/phase", "bench/1", None),
        ("bench/1", "bench/1/phase", None),
        ("bench/+/phase", "bench/7/phase", ("7",)),
        ("bench/+/+", "bench/7/spool", ("7", "spool")),
        ("bench/+", "bench/", ("",)),
        ("bench/#", "bench/7/spool", ("7/spool",)),
        ("bench/#", "bench", ("",)),
        ("+/#", "bench/7/spool", ("bench", "7/spool")),
        ("Bench", "bench", None),
    ],
)
def test_captured(topic_filter: str, topic: str, texts: tuple[str, ...] | None) -> None:
    """One text a wildcard, in their order; ``#`` stands for all the levels that it covers."""
    assert captured(topic_filter, topic) == texts


LEVEL = st.text(st.characters(exclude_characters="/+#\0", exclude_categories=["Cs"]), max_size=4)


@given(st.lists(LEVEL, min_size=1, max_size=5), st.data())
def test_a_filter_made_of_a_topic_matches_it(levels: list[str], data: st.DataObject) -> None:
    """Any levels made wildcards match, and stand for what was there."""
    topic = "/".join(levels)
    wild = data.draw(st.lists(st.booleans(), min_size=len(levels), max_size=len(levels)))
    pairs = list(zip(levels, wild, strict=True))
    topic_filter = "/".join("+" if is_wild else level for level, is_wild in pairs)
    if not topic or (topic.startswith("$") and wild[0]):
        return
    assert problem_of_filter(topic_filter) is None or topic_filter.startswith("$share/")
    assert captured(topic_filter, topic) == tuple(level for level, is_wild in pairs if is_wild)
    assert wildcard_count(topic_filter) == sum(wild)
    assert matches(topic, topic)
