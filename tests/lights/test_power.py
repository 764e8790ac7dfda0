"""What looks draw, and the cap: never exceeded, the mildest dimmed first."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.lights.dialect.codecs import round_to
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.dialect.grammar import ColourCodec, NativeEffect, ScaleCodec
from bridge.lights.look import Look, Moving, Native, Still
from bridge.lights.power import (
    FULL,
    Load,
    dimmed,
    drive_as_read,
    drive_of,
    drives_of,
    least_of,
    shares,
    worst_drive,
)
from tests.lights.board import PEGS

WHITE = 3 * 255
OWN = Dialect(PEGS)


def flashing(worst: Literal["full", "steady"]) -> Dialect:
    """Pegs whose flash is at its brightest so."""
    effects = {**PEGS.effects, "flash": (NativeEffect("hop", 600, worst),)}
    return Dialect(replace(PEGS, effects=effects))


def scaled(high: int) -> Dialect:
    """Pegs that know only so many levels."""
    return Dialect(replace(PEGS, level=ScaleCodec(high=high)))


RED = Native("steady", (255, 0, 0), 1.0)
FLASH = Native("flash", (255, 0, 0), 0.5)
HALVES = Moving((bytes((200, 0, 0)) * 4, bytes((50, 0, 0)) * 4), (1250,))


@pytest.mark.parametrize(
    ("look", "dialect", "drive"),
    [
        (RED, OWN, 255 * 4),
        (Native("steady", (10, 20, 30), 0.5), scaled(1000), 30 * 4),
        (Native("steady", (255, 255, 255), 0.0), OWN, 0),
        (FLASH, scaled(1000), 383 * 4),
        (Still(bytes((1, 2, 3)) * 4), OWN, 24),
        (HALVES, OWN, 800),
    ],
)
def test_a_look_counts_with_its_brightest_frame(look: Look, dialect: Dialect, drive: int) -> None:
    """Of its whole period."""
    assert drive_of(look, 4, dialect) == drive


@pytest.mark.parametrize(("worst", "drive"), [("full", WHITE), ("steady", 255)])
def test_a_flash_of_the_controllers_own_counts_as_the_dialect_says(
    worst: Literal["full", "steady"], drive: int
) -> None:
    """Every channel full, or the steady look; dark is dark."""
    dialect = flashing(worst)
    assert drive_of(replace(FLASH, level=1.0), 4, dialect) == drive * 4
    assert drive_of(replace(FLASH, level=0.0), 4, dialect) == 0


def test_a_level_counts_as_the_controller_rounds_it() -> None:
    """Of ten levels 0.26 is told as three: more than was meant."""
    assert drive_of(Native("steady", (255, 0, 0), 0.26), 10, scaled(10)) == 77 * 10


def test_a_strip_with_a_white_of_its_own_has_a_channel_more() -> None:
    """Whoever sets it can light all four."""
    four = Dialect(replace(PEGS, colour=ColourCodec(order="GRBW")))
    assert (worst_drive(10, OWN), worst_drive(10, four)) == (7650, 10_200)


@pytest.mark.parametrize(
    ("seen", "drive"),
    [
        ({"colour": "ff0000", "level": 255, "effect": "calm"}, 255 * 4),
        ({"colour": "ff0000", "level": 51, "effect": "calm"}, 51 * 4),
        ({"colour": "ff0000", "level": 51, "effect": "hop"}, WHITE * 4),
        ({"colour": "ff0000", "level": 51, "effect": "who knows"}, WHITE * 4),
        ({"level": 0}, 0),
        ({"pixels": ["010203"] * 4}, 24),
        ({}, WHITE * 4),
    ],
)
def test_what_somebody_set_counts_as_it_was_read(seen: dict[str, object], drive: int) -> None:
    """At its worst where the reading does not tell."""
    assert drive_as_read(seen, 4, OWN) == drive


looks = st.one_of(
    st.builds(
        Native,
        st.sampled_from(["steady", "flash"]),
        st.tuples(*[st.integers(0, 255)] * 3),
        st.floats(0, 1),
    ),
    st.binary(min_size=12, max_size=12).map(Still),
    st.lists(st.binary(min_size=12, max_size=12), min_size=2, max_size=4).map(
        lambda frames: Moving(tuple(frames), (1250,))
    ),
)


@given(looks, st.sampled_from([OWN, scaled(10), flashing("steady")]))
def test_a_dimmed_look_draws_no_more_than_was_reckoned(look: Look, dialect: Dialect) -> None:
    """At every scale, and never more when it is dimmed further."""
    drives = drives_of(look, 4, dialect)
    assert list(drives) == sorted(drives)
    for sixteenths in range(1, FULL + 1):
        assert drive_of(dimmed(look, sixteenths), 4, dialect) <= drives[sixteenths - 1]


@given(st.binary(min_size=12, max_size=12), st.integers(1, FULL))
def test_what_is_lit_stays_lit(frame: bytes, sixteenths: int) -> None:
    """A cap may not turn a signal off."""
    look = dimmed(Still(frame), sixteenths)
    assert isinstance(look, Still)
    assert [bool(code) for code in look.frame] == [bool(code) for code in frame]


@given(st.tuples(*[st.integers(0, 255)] * 3), st.floats(0.0, 1.0), st.sampled_from([10, 100, 255]))
def test_no_lit_look_is_dimmed_to_black(
    colour: tuple[int, int, int], level: float, high: int
) -> None:
    """At the least scale a code is left, as the controller rounds and 8 bits show it."""
    look = Native("steady", colour, level)
    least = dimmed(look, least_of(look, scaled(high)))
    assert isinstance(least, Native)

    def brightest(of: Native) -> float:
        return max(of.colour) * float(round_to(of.level * high, "nearest", 0)) / high

    assert (brightest(least) >= 0.5) == (brightest(look) >= 0.5)


def _load(
    drives: list[int], channel_ua: int, rank: tuple[bool, int], least: int
) -> tuple[tuple[int, ...], int, tuple[bool, int], int]:
    return tuple(sorted(drives)), channel_ua, rank, least


loads = st.lists(
    st.builds(
        _load,
        st.lists(st.integers(0, 300 * WHITE), min_size=FULL, max_size=FULL),
        st.integers(1000, 20_000),
        st.tuples(st.booleans(), st.integers(0, 5)),
        st.sampled_from([1, 1, 1, 3, FULL]),
    ),
    min_size=1,
    max_size=8,
).map(lambda each: [Load(f"s{n}", *load) for n, load in enumerate(each)])


def drawn(given_loads: list[Load], sixteenths: dict[str, int]) -> int:
    """What all of them draw."""
    return sum(load.ua(sixteenths[load.segment]) for load in given_loads)


@given(loads, st.integers(0, 60_000_000))
def test_the_cap_is_kept_or_it_is_said_by_how_much_it_is_not(
    given_loads: list[Load], available_ua: int
) -> None:
    """Never silently exceeded."""
    found = shares(given_loads, available_ua)
    total = drawn(given_loads, dict(found.sixteenths))
    assert total <= available_ua + found.over_ua
    assert found.over_ua == 0 or total - found.over_ua == available_ua


@given(loads, st.integers(0, 60_000_000))
def test_the_graver_is_never_dimmed_before_the_milder(
    given_loads: list[Load], available_ua: int
) -> None:
    """Who is dimmed has everybody milder at the least there is; one rank is dimmed alike."""
    scales = shares(given_loads, available_ua).sixteenths
    for one in given_loads:
        for other in given_loads:
            if one.rank < other.rank and scales[other.segment] < FULL:
                assert scales[one.segment] == one.least
            if one.rank == other.rank and one.least == other.least:
                assert scales[one.segment] == scales[other.segment]


@given(loads, st.integers(0, 60_000_000), st.integers(0, 5_000_000))
def test_more_current_never_dims_more(
    given_loads: list[Load], available_ua: int, more_ua: int
) -> None:
    """A larger supply is no reason to be darker."""
    less = shares(given_loads, available_ua).sixteenths
    more = shares(given_loads, available_ua + more_ua).sixteenths
    assert all(more[load.segment] >= less[load.segment] for load in given_loads)


def test_nothing_is_dimmed_that_need_not_be() -> None:
    """The largest scale that fits, to a sixteenth."""
    lamp = Load("lamp", drives_of(Native("steady", (255, 255, 255), 1.0), 100, OWN), 10_000)
    alarm = Load("alarm", drives_of(RED, 10, OWN), 10_000, (True, 5))
    found = shares([lamp, alarm], 2_000_000)
    assert found.sixteenths["alarm"] == FULL
    one_more = lamp.ua(found.sixteenths["lamp"] + 1) + alarm.ua(FULL)
    assert drawn([lamp, alarm], dict(found.sixteenths)) <= 2_000_000 < one_more
