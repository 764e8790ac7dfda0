"""A restart is noticed by its mark or its uptime, and nothing else is taken for one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.lights.restart import DRIFT, TOLERANCE_MS, Began, RestartWatch

#: Read-backs as (uptime, mark, now), and whether the last of them tells of a restart.
CASES: list[tuple[str, list[tuple[int | None, str | None, int]], Began]] = [
    ("the first is never one", [(5000, "a", 0)], Began.AS_BEFORE),
    ("uptime that kept step", [(5000, None, 0), (15_000, None, 10_000)], Began.AS_BEFORE),
    ("uptime that began anew", [(50_000, None, 0), (2000, None, 10_000)], Began.ANEW),
    ("began anew and is past the last one", [(5000, None, 0), (50_000, None, 60_000)], Began.ANEW),
    ("a slow clock", [(0, None, 0), (970_000, None, 1_000_000)], Began.AS_BEFORE),
    ("an answer on its way for long", [(5000, None, 0), (12_500, None, 10_000)], Began.AS_BEFORE),
    ("a fast clock", [(0, None, 0), (1_025_000, None, 1_000_000)], Began.AS_BEFORE),
    ("longer awake than it can be", [(0, None, 0), (90_000, None, 10_000)], Began.ANOTHER),
    ("the same mark", [(None, "a", 0), (None, "a", 10_000)], Began.AS_BEFORE),
    ("another mark", [(None, "a", 0), (None, "b", 10_000)], Began.ANEW),
    ("a mark only now", [(None, None, 0), (None, "b", 10_000)], Began.AS_BEFORE),
    (
        "a mark missing once",
        [(None, "a", 0), (None, None, 5000), (None, "a", 10_000)],
        Began.AS_BEFORE,
    ),
    (
        "a mark missing meanwhile",
        [(None, "a", 0), (None, None, 5000), (None, "b", 10_000)],
        Began.ANEW,
    ),
    ("the mark tells, the uptime not", [(50_000, "a", 0), (60_000, "b", 10_000)], Began.ANEW),
    (
        "an uptime missing meanwhile",
        [(5000, None, 0), (None, None, 60_000), (50_000, None, 60_100)],
        Began.ANEW,
    ),
]


@pytest.mark.parametrize(
    ("reads", "began"), [case[1:] for case in CASES], ids=[case[0] for case in CASES]
)
def test_a_restart_is_told_from_what_was_read_before(
    reads: list[tuple[int | None, str | None, int]], began: Began
) -> None:
    """An uptime below the last one plus the time since, less a tolerance, or a changed mark."""
    watch = RestartWatch()
    told = [watch.happened(uptime_ms, mark, now_ms) for uptime_ms, mark, now_ms in reads]
    assert told[-1] is began
    assert set(told[:-1]) <= {Began.AS_BEFORE}


def test_one_restart_is_told_once() -> None:
    """The next read-back is measured from the new beginning."""
    watch = RestartWatch()
    reads = [(90_000, 0), (1000, 15_000), (16_000, 30_000), (31_000, 45_000)]
    told = [watch.happened(up, None, now) is Began.ANEW for up, now in reads]
    assert told == [False, True, False, False]


@given(
    st.integers(0, 10_000_000),
    st.lists(st.tuples(st.integers(1, 100_000), st.integers(0, 1500)), max_size=20),
    st.floats(1 - DRIFT / 2, 1 + DRIFT / 2),
)
def test_an_honest_clock_is_never_taken_for_a_restart(
    uptime_ms: int, steps: list[tuple[int, int]], pace: float
) -> None:
    """A clock somewhat off and answers somewhat late are what the tolerance is for."""
    watch = RestartWatch()
    now_ms = 0
    for since_ms, late_ms in steps:
        now_ms += since_ms
        assert late_ms < TOLERANCE_MS
        began = watch.happened(int(uptime_ms + now_ms * pace), None, now_ms + late_ms)
        assert began is Began.AS_BEFORE
