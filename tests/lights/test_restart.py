"""A restart is noticed by its mark or its uptime, and nothing else is taken for one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.lights.restart import DRIFT, TOLERANCE_MS, RestartWatch

#: Read-backs as (uptime, mark, now), and whether the last of them tells of a restart.
CASES: list[tuple[str, list[tuple[int | None, str | None, int]], bool]] = [
    ("the first is never one", [(5000, "a", 0)], False),
    ("uptime that kept step", [(5000, None, 0), (15_000, None, 10_000)], False),
    ("uptime that began anew", [(50_000, None, 0), (2000, None, 10_000)], True),
    ("began anew and is past the last one", [(5000, None, 0), (50_000, None, 60_000)], True),
    ("a slow clock", [(0, None, 0), (970_000, None, 1_000_000)], False),
    ("an answer on its way for long", [(5000, None, 0), (12_500, None, 10_000)], False),
    ("a fast clock", [(0, None, 0), (2_000_000, None, 1_000_000)], False),
    ("the same mark", [(None, "a", 0), (None, "a", 10_000)], False),
    ("another mark", [(None, "a", 0), (None, "b", 10_000)], True),
    ("a mark only now", [(None, None, 0), (None, "b", 10_000)], False),
    ("a mark missing once", [(None, "a", 0), (None, None, 5000), (None, "a", 10_000)], False),
    ("a mark missing meanwhile", [(None, "a", 0), (None, None, 5000), (None, "b", 10_000)], True),
    ("the mark tells, the uptime not", [(50_000, "a", 0), (60_000, "b", 10_000)], True),
    (
        "an uptime missing meanwhile",
        [(5000, None, 0), (None, None, 60_000), (50_000, None, 60_100)],
        True,
    ),
]


@pytest.mark.parametrize(
    ("reads", "restarted"), [case[1:] for case in CASES], ids=[case[0] for case in CASES]
)
def test_a_restart_is_told_from_what_was_read_before(
    reads: list[tuple[int | None, str | None, int]], *, restarted: bool
) -> None:
    """An uptime below the last one plus the time since, less a tolerance, or a changed mark."""
    watch = RestartWatch()
    told = [watch.happened(uptime_ms, mark, now_ms) for uptime_ms, mark, now_ms in reads]
    assert told[-1] is restarted
    assert not any(told[:-1])


def test_one_restart_is_told_once() -> None:
    """The next read-back is measured from the new beginning."""
    watch = RestartWatch()
    reads = [(90_000, 0), (1000, 15_000), (16_000, 30_000), (31_000, 45_000)]
    assert [watch.happened(up, None, now) for up, now in reads] == [False, True, False, False]


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
        assert not watch.happened(int(uptime_ms + now_ms * pace), None, now_ms + late_ms)
