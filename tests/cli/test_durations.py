"""A length of time among the words of a command."""

from __future__ import annotations

import argparse

import pytest

from bridge.cli.durations import duration_ms


@pytest.mark.parametrize(
    ("text", "ms"), [("300ms", 300), ("90s", 90_000), ("2 h", 7_200_000), ("1d", 86_400_000)]
)
def test_a_duration_is_written_as_in_the_files(text: str, ms: int) -> None:
    """With its unit."""
    assert duration_ms(text) == ms


@pytest.mark.parametrize(
    ("text", "why"),
    [("2", "has no unit"), ("soon", "is no duration"), ("0s", "no time at all"), ("", "is no")],
)
def test_what_is_no_duration_is_told_with_examples(text: str, why: str) -> None:
    """As the parser of the command line says it."""
    with pytest.raises(argparse.ArgumentTypeError, match=f"{why}.*, write for example 300ms, 5s"):
        duration_ms(text)
