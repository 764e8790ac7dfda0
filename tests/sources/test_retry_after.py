"""Bad and boundary values of Retry-After; its forms are in tests/standards."""

from __future__ import annotations

import pytest

from bridge.sources.retry_after import MOST_MS, retry_after_ms

NOW_MS = 784_111_777_000


@pytest.mark.parametrize(
    ("value", "wait_ms"),
    [
        (None, None),
        ("0", 0),
        (" 7 ", 7000),
        ("600", MOST_MS),
        ("601", MOST_MS),
        ("9" * 400, MOST_MS),
        ("-5", None),
        ("1.5", None),
        ("٣", None),
        ("", None),
        ("soon", None),
        ("Sun, 99 Nov 1994 08:49:37 GMT", None),
        ("Sun, 06 Nov 99999999999 08:49:37 GMT", None),
        ("Sun, 06 Nov 1994 08:49:36 GMT", 0),
    ],
)
def test_what_is_asked_for(value: str | None, wait_ms: int | None) -> None:
    """From 0 to the cap, or nothing where nothing can be understood."""
    assert retry_after_ms(value, None, NOW_MS) == wait_ms


def test_a_date_needs_something_to_be_held_against() -> None:
    """Without a known clock and without the answer's own date, a date says nothing."""
    assert retry_after_ms("Sun, 06 Nov 1994 08:49:39 GMT", None, None) is None
    assert retry_after_ms("2", None, None) == 2000


def test_the_peers_own_clock_counts_first() -> None:
    """A printer that thinks it is 1994 asks for two seconds, whatever year it is here."""
    asked, said = "Sun, 06 Nov 1994 08:49:39 GMT", "Sun, 06 Nov 1994 08:49:37 GMT"
    assert retry_after_ms(asked, said, 1_790_000_000_000) == 2000
    assert retry_after_ms(asked, "no date", NOW_MS) == 2000
