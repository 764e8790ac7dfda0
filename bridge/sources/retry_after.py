"""Retry-After (RFC 9110 §10.2.3): seconds, or a date in any of the three forms of §5.6.7."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from typing import Final

#: Who asks for more is asked again after this: a printer is not worth a day of darkness.
MOST_MS: Final = 10 * 60 * 1000


def retry_after_ms(value: str | None, date: str | None, wall_ms: int | None) -> int | None:
    """How long to wait in ms, from 0 to ``MOST_MS``; ``None`` where nothing usable is said.

    A date is read against the answer's own ``Date``, because a printer's clock is often wrong, or
    else against the wall clock.
    """
    if value is None:
        return None
    value = value.strip()
    if value.isascii() and value.isdigit():
        # Ten digits are three hundred years: what is longer need not be counted.
        return MOST_MS if len(value) > 9 else min(int(value) * 1000, MOST_MS)
    then = _date_ms(value)
    now = _date_ms(date) if date is not None else None
    now = wall_ms if now is None else now
    if then is None or now is None:
        return None
    return max(0, min(then - now, MOST_MS))


def _date_ms(text: str) -> int | None:
    try:
        found = parsedate_to_datetime(text)
    except (ValueError, IndexError, OverflowError):
        return None
    if found.tzinfo is None:
        # §5.6.7: all three forms are in UTC, and the one of asctime() does not say so.
        found = found.replace(tzinfo=UTC)
    return (found - datetime(1970, 1, 1, tzinfo=UTC)) // _MILLISECOND


_MILLISECOND: Final = timedelta(milliseconds=1)
