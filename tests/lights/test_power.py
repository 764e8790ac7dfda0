"""What looks draw, and the cap: never exceeded, the mildest dimmed first."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.lights.dialect.grammar import NativeEffect
from bridge.lights.look import Look, Moving, Native, Still
from bridge.lights.power import (
    FULL,
    WHITE,
    Load,
    current_ua,
    dimmed,
    dimmed_drive,
    drive_of,
    shares,
)

RED = Native("steady", (255, 0, 0), 1.0)
FLASH = Native("flash", (255, 0, 0), 0.5)
HALVES = Moving((bytes((200, 0, 0)) * 4, bytes((50, 0, 0)) * 4), (1250,))


@pytest.mark.parametrize(
    ("look", "native", "drive"),
    [
        (RED, None, 255 * 4),
        (Native("steady", (10, 20, 30), 0.5), None, 30 * 4),
        (Native("steady", (255, 255, 255), 0.0), None, 0),
        (FLASH, NativeEffect("hop", 600, "full"), 383 * 4),
        (FLASH, NativeEffect("hop", 600, "steady"), 128 * 4),
        (Still(bytes((1, 2, 3)) * 4), None, 24),
        (HALVES, None, 800),
        (None, None, WHITE * 4),
    ],
)
def test_a_look_counts_with_its_brightest_frame(
    look: Look | None, native: NativeEffect | None, drive: int
) -> None:
    """Of a controller's own flash as the dialect says; what is not known may be anything."""
    assert drive_of(look, 4, native) == drive


def test_a_full_channel_draws_what_its_data_sheet_says() -> None:
    """WS2811 at 18.5 mA a channel: 50 white pixels draw 2.775 A (data sheet, FACTS C)."""
    assert current_ua(WHITE * 50, 18_500) == 2_775_000


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


@given(looks, st.integers(1, FULL))
def test_a_dimmed_look_draws_no_more_than_was_reckoned(look: Look, sixteenths: int) -> None:
    """And never more than the whole look."""
    reckoned = dimmed_drive(drive_of(look, 4), 4, sixteenths)
    assert drive_of(dimmed(look, sixteenths), 4) <= reckoned <= drive_of(look, 4)


@given(st.binary(min_size=12, max_size=12), st.integers(1, FULL))
def test_what_is_lit_stays_lit(frame: bytes, sixteenths: int) -> None:
    """A cap may not turn a signal off."""
    look = dimmed(Still(frame), sixteenths)
    assert isinstance(look, Still)
    assert [bool(code) for code in look.frame] == [bool(code) for code in frame]


loads = st.lists(
    st.builds(
        Load,
        st.just(""),
        st.integers(1, 300),
        st.integers(0, 300 * WHITE),
        st.integers(1000, 20_000),
        st.tuples(st.booleans(), st.integers(0, 5)),
    ),
    min_size=1,
    max_size=8,
).map(lambda each: [Load(f"s{n}", *_rest(load)) for n, load in enumerate(each)])


def _rest(load: Load) -> tuple[int, int, int, tuple[bool, int]]:
    return load.pixels, min(load.drive, load.pixels * WHITE), load.channel_ua, load.rank


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
                assert scales[one.segment] == 1
            if one.rank == other.rank:
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
    lamp = Load("lamp", 100, 100 * WHITE, 10_000)
    alarm = Load("alarm", 10, 10 * 255, 10_000, (True, 5))
    found = shares([lamp, alarm], 2_000_000)
    assert found.sixteenths["alarm"] == FULL
    one_more = lamp.ua(found.sixteenths["lamp"] + 1) + alarm.ua(FULL)
    assert drawn([lamp, alarm], dict(found.sixteenths)) <= 2_000_000 < one_more
