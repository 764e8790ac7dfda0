"""Local times around every change of the clocks, by the tz database's own files.

Source: the IANA tz database (https://www.iana.org/time-zones) as compiled on this machine, read
here byte by byte as RFC 8536 (The Time Zone Information Format, 2019) §3 lays it out. What follows
from the changes is worked out with integers only, without the library that the bridge uses.
"""

from __future__ import annotations

import struct
import zoneinfo
from bisect import bisect_right
from collections.abc import Iterator
from datetime import UTC, datetime
from functools import cache
from importlib import resources
from pathlib import Path

import pytest

from bridge.rules.timing import local_seconds, next_wall_ms

DAY_S = 24 * 3600
#: With the change in the middle of a night, of half an hour, of a whole day, and around a month of
#: fasting.
ZONES = (
    "Europe/Dublin",
    "America/St_Johns",
    "Australia/Lord_Howe",
    "Pacific/Apia",
    "Africa/Casablanca",
)
#: Times of day, in and around what changes skip and repeat.
CUTS = (22 * 3600, 6 * 3600, 90 * 60, 2 * 3600, 3 * 3600, 105 * 60 + 30)
#: Around a change, in ms.
_APART_MS = (1, 999, 60_000, 1_799_999, 1_800_000, 3_600_000, 7_200_001, 43_200_000, 90_000_000)
BESIDE_MS = (0, *(sign * each for each in _APART_MS for sign in (-1, 1)))


def _file(zone: str) -> bytes:
    """As the library would find it: the system's first, then the package's."""
    for folder in zoneinfo.TZPATH:
        path = Path(folder) / zone
        if path.is_file():
            return path.read_bytes()
    region, _, name = zone.partition("/")
    return (resources.files("tzdata.zoneinfo") / region / name).read_bytes()


@cache
def changes(zone: str) -> tuple[tuple[int, int], ...]:
    """Instants in s at which the offset changes, with the new offset in s; the first is -2^63."""
    content = _file(zone)
    assert content[:4] == b"TZif"
    assert content[4:5] >= b"2"
    head = struct.Struct(">4s c 15x 6I")
    _, _, is_ut, is_std, leaps, times, types, letters = head.unpack_from(content)
    # §3.2: the first block has times of four bytes and is passed over.
    start = head.size + times * 5 + types * 6 + letters + leaps * 8 + is_std + is_ut
    _, _, _, _, _, times, types, _ = head.unpack_from(content, start)
    start += head.size
    at = struct.unpack_from(f">{times}q", content, start)
    kinds = content[start + 8 * times : start + 9 * times]
    offsets = [
        int(struct.unpack_from(">i", content, start + 9 * times + 6 * each)[0])
        for each in range(types)
    ]
    found = [(-(2**63), offsets[0])]
    for instant, kind in zip(at, kinds, strict=True):
        if offsets[kind] != found[-1][1]:
            found.append((instant, offsets[kind]))
    return tuple(found)


def between(zone: str) -> Iterator[int]:
    """The changes of 2011 to 2037, as instants in s."""
    first, last = (int(datetime(year, 1, 1, tzinfo=UTC).timestamp()) for year in (2011, 2038))
    return (at for at, _ in changes(zone) if first <= at < last)


def local(zone: str, wall_ms: int) -> float:
    """Seconds since midnight there, by the file alone."""
    _, offset, _ = _now(zone, wall_ms)
    return ((wall_ms + offset * 1000) % (DAY_S * 1000)) / 1000


def following(zone: str, wall_ms: int) -> int:
    """The next midnight, time of ``CUTS``, or change, by the file alone."""
    _, offset, end_ms = _now(zone, wall_ms)
    day_ms = DAY_S * 1000
    local_ms = wall_ms + offset * 1000
    waits = [(cut * 1000 - local_ms) % day_ms or day_ms for cut in (0, *CUTS)]
    return min(wall_ms + min(waits), end_ms)


def _now(zone: str, wall_ms: int) -> tuple[int, int, int]:
    table = changes(zone)
    index = bisect_right(table, (wall_ms // 1000, 2**31)) - 1
    end_ms = table[index + 1][0] * 1000 if index + 1 < len(table) else 2**62
    return (*table[index], end_ms)


@pytest.mark.parametrize("zone", ZONES)
def test_local_times_around_every_change(zone: str) -> None:
    """To the millisecond: what a clock on the wall shows, and when it next shows one of these."""
    there = zoneinfo.ZoneInfo(zone)
    instants = list(between(zone))
    # Apia gave its summer time up in 2021; the others change twice a year or nearly so.
    assert len(instants) >= (20 if zone == "Pacific/Apia" else 50)
    for change in instants:
        for beside_ms in BESIDE_MS:
            now_ms = change * 1000 + beside_ms
            assert local_seconds(there, now_ms) == pytest.approx(local(zone, now_ms), abs=1e-6)
            assert next_wall_ms(there, now_ms, map(float, CUTS)) == following(zone, now_ms), (
                zone,
                now_ms,
            )


@pytest.mark.parametrize("zone", ZONES)
def test_every_turn_of_three_days_is_met_one_after_the_other(zone: str) -> None:
    """From deadline to deadline, as the core goes: none is left out, and none comes twice."""
    there = zoneinfo.ZoneInfo(zone)
    for change in list(between(zone))[::6]:
        ours = theirs = (change - DAY_S) * 1000
        while theirs < (change + 2 * DAY_S) * 1000:
            ours, theirs = next_wall_ms(there, ours, map(float, CUTS)), following(zone, theirs)
            assert ours == theirs


def test_the_day_that_samoa_left_out() -> None:
    """From the end of 29 December 2011 to the beginning of the 31st, in one instant."""
    change = int(datetime(2011, 12, 30, 10, tzinfo=UTC).timestamp())
    table = dict(changes("Pacific/Apia"))
    assert table[change] == 14 * 3600
    there = zoneinfo.ZoneInfo("Pacific/Apia")
    before, after = (datetime.fromtimestamp(change + each, there).day for each in (-1, 0))
    assert (before, after) == (29, 31)
    assert local_seconds(there, change * 1000) == 0.0
    assert next_wall_ms(there, (change - 1) * 1000, ()) == change * 1000
