"""A strip is told other codes than are meant, and never more."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.scenes.calibration import Calibration, calibrated_frame
from bridge.scenes.light import LIGHT

WARM = Calibration((255, 216, 176), 1.0)
STRAIGHT = Calibration(gamma=2.2)
CODES = st.integers(0, 255)
CALIBRATIONS = st.builds(Calibration, st.tuples(*[st.integers(1, 255)] * 3), st.floats(1.0, 3.0))


def test_white_is_what_the_strip_looks_white_at() -> None:
    """And every colour goes with it; black stays black."""
    assert calibrated_frame(bytes((255, 255, 255, 0, 0, 0)), WARM) == bytes(
        (255, 216, 176, 0, 0, 0)
    )
    assert calibrated_frame(bytes((128, 128, 128)), WARM) == bytes((128, 108, 88))


def test_half_the_code_is_as_much_on_time_as_it_is_light() -> None:
    """Within some code values: a power of 2.2 is near what sRGB is (IEC 61966-2-1)."""
    for code in (32, 64, 128, 192, 255):
        (on_time, *_) = calibrated_frame(bytes((code, 0, 0)), STRAIGHT)
        assert on_time / 255 == pytest.approx(LIGHT[code], abs=0.012)


@given(st.binary(min_size=3, max_size=30).filter(lambda b: len(b) % 3 == 0), CALIBRATIONS)
def test_nothing_gets_more_than_its_code_and_what_is_lit_stays_lit(
    frame: bytes, calibration: Calibration
) -> None:
    """So a supply that bears the code bears what is told."""
    told = calibrated_frame(frame, calibration)
    assert all(after <= before for after, before in zip(told, frame, strict=True))
    assert [bool(code) for code in told] == [bool(code) for code in frame]


@given(CALIBRATIONS, CODES, CODES)
def test_more_is_never_less(calibration: Calibration, one: int, other: int) -> None:
    """Order is kept in each channel."""
    low, high = sorted((one, other))
    told = calibrated_frame(bytes((low,) * 3 + (high,) * 3), calibration)
    assert all(a <= b for a, b in zip(told[:3], told[3:], strict=True))
