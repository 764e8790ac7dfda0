"""Numbers, durations and instants as printers write them.

Nothing is guessed: a text that could mean two things means none, and the caller gets ``None``.
"""

from __future__ import annotations

import math
import re
from datetime import datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from bridge.facts.reader import EndsAt

_MS: Final = 1000.0
_DAY_S: Final = 86_400.0
#: Longer than any number or duration is written; bounds the time that a match can take.
_LONGEST: Final = 64

#: A sign, digits, and decimals after one point or comma; then whatever stands behind. Groups of
#: thousands are never guessed: ``1,234`` is a little over one, ``1 234`` no number.
_QUANTITY: Final = re.compile(r"([+−-]?)([0-9]+(?:[.,][0-9]+)?)\s*([^\s0-9.,](?:.*\S)?)?\s*")


def parse_quantity(text: str) -> tuple[float, str] | None:
    """The number that ``text`` starts with, and the unit behind it; ``None`` for no number."""
    found = _QUANTITY.fullmatch(text.lstrip()) if len(text) <= _LONGEST else None
    if found is None:
        return None
    sign, digits, unit = found.groups()
    value = float(digits.replace(",", "."))
    return (value if sign in {"", "+"} else -value), unit or ""


_H_M_S: Final = re.compile(r"(?:([0-9]{1,6}):)?([0-9]{1,6}):([0-9]{2}(?:[.,][0-9]{1,6})?)")
_SIXTY: Final = 60.0


def parse_h_m_s(text: str) -> float | None:
    """Seconds in ``H:MM:SS`` or ``M:SS``; the leading part may be any size, the others under 60."""
    found = _H_M_S.fullmatch(text.strip())
    if found is None:
        return None
    hours, minutes, seconds = found[1], int(found[2]), float(found[3].replace(",", "."))
    if seconds >= _SIXTY or (hours is not None and minutes >= _SIXTY):
        return None
    return int(hours or 0) * 3600 + minutes * 60 + seconds


_DURATION_UNITS: Final = {"d": _DAY_S, "h": 3600.0, "min": 60.0, "m": 60.0, "s": 1.0, "ms": 0.001}
_DURATION_PART: Final = re.compile(r"\s*([0-9]{1,12}(?:[.,][0-9]{1,6})?)\s*(d|h|min|ms|m|s)")


def parse_duration_words(text: str) -> float | None:
    """Seconds in ``1 h 12 min``, ``90min``, ``45 s``: each unit at most once, largest first."""
    text = text.strip() if len(text) <= _LONGEST else ""
    total, position, least = 0.0, 0, math.inf
    while position < len(text):
        part = _DURATION_PART.match(text, position)
        if part is None or _DURATION_UNITS[part[2]] >= least:
            return None
        least = _DURATION_UNITS[part[2]]
        total += float(part[1].replace(",", ".")) * least
        position = part.end()
    return total if position else None


_ISO_DURATION: Final = re.compile(
    r"P(?:(?P<W>[0-9.,]{1,12})W"
    r"|(?:(?P<D>[0-9.,]{1,12})D)?"
    r"(?:T(?:(?P<H>[0-9.,]{1,12})H)?(?:(?P<M>[0-9.,]{1,12})M)?(?:(?P<S>[0-9.,]{1,12})S)?)?)"
)
_ISO_NUMBER: Final = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_ISO_UNITS: Final = {"W": 7 * _DAY_S, "D": _DAY_S, "H": 3600.0, "M": 60.0, "S": 1.0}


def parse_iso_duration(text: str) -> float | None:
    """Seconds in an ISO 8601 duration (``PT1H30M``, ``P1DT2H``, ``P2W``).

    Years and months have no fixed length and are refused; only the smallest part may have
    decimals (ISO 8601-1:2019 §5.5.2.3).
    """
    text = text.strip()
    found = _ISO_DURATION.fullmatch(text)
    if found is None or text.endswith(("P", "T")):
        return None
    parts = [(unit, digits) for unit, digits in found.groupdict().items() if digits is not None]
    if any(not _ISO_NUMBER.fullmatch(digits) for _, digits in parts):
        return None
    if any(not digits.isdigit() for _, digits in parts[:-1]):
        return None
    return sum(float(digits.replace(",", ".")) * _ISO_UNITS[unit] for unit, digits in parts)


def parse_instant(value: object, form: EndsAt, wall_ms: int, zone: ZoneInfo) -> float | None:
    """Milliseconds since the epoch of an instant that is about to come, or just passed.

    A clock time is the occurrence in ``zone`` from an hour before ``wall_ms`` to 23 hours after;
    an ISO 8601 text without an offset is local time in ``zone``.
    """
    return _instant(value, form, zone, earliest_ms=wall_ms - 3_600_000)


def parse_stamp(value: object, form: EndsAt, wall_ms: int, zone: ZoneInfo) -> float | None:
    """Milliseconds since the epoch of an instant that just passed.

    As ``parse_instant``, but a clock time is the occurrence from 23 hours before ``wall_ms`` to an
    hour after.
    """
    return _instant(value, form, zone, earliest_ms=wall_ms - 23 * 3_600_000)


def _instant(value: object, form: EndsAt, zone: ZoneInfo, *, earliest_ms: int) -> float | None:
    if form is EndsAt.EPOCH_S or form is EndsAt.EPOCH_MS:
        return _epoch_ms(value, 1.0 if form is EndsAt.EPOCH_MS else _MS)
    if not isinstance(value, str):
        return None
    if form is EndsAt.ISO:
        return _iso_ms(value.strip(), zone)
    return _clock_ms(value.strip(), zone, earliest_ms)


def _epoch_ms(value: object, factor: float) -> float | None:
    if isinstance(value, bool):
        return None
    if isinstance(value, str):
        quantity = parse_quantity(value)
        if quantity is None or quantity[1]:
            return None
        return quantity[0] * factor
    if isinstance(value, int | float):
        try:
            instant = float(value) * factor
        except OverflowError:
            return None
        return None if math.isinf(instant) else instant
    return None


def _iso_ms(text: str, zone: ZoneInfo) -> float | None:
    try:
        moment = datetime.fromisoformat(text)
        if moment.tzinfo is None:
            moment = moment.replace(tzinfo=zone)
        return moment.timestamp() * _MS
    except (ValueError, OverflowError):
        # Not ISO 8601, or a year that does not fit once it is shifted to UTC.
        return None


_CLOCK: Final = re.compile(r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2}))?")


def _clock_ms(text: str, zone: ZoneInfo, earliest_ms: int) -> float | None:
    found = _CLOCK.fullmatch(text)
    if found is None:
        return None
    try:
        clock = time(int(found[1]), int(found[2]), int(found[3] or 0), tzinfo=zone)
        day = datetime.fromtimestamp(earliest_ms / _MS, zone).date()
        instant = datetime.combine(day, clock).timestamp() * _MS
        if instant < earliest_ms:
            instant = datetime.combine(day + timedelta(days=1), clock).timestamp() * _MS
    except (ValueError, OverflowError):
        # No time of day, or a wall clock beyond the calendar.
        return None
    return instant
