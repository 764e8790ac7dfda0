"""What pixels give off: the beat, the memory, and stretches laid over stretches."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.simulator.pixels import POWER_UP, Board, Glow, rounded

RED = bytes((200, 0, 0))


@pytest.mark.parametrize(
    ("now_ms", "level"), [(0, 200), (249, 200), (250, 50), (499, 50), (500, 200), (10_250, 50)]
)
def test_a_beat_alternates_full_and_weak(now_ms: int, level: int) -> None:
    """Half and half, by the controller's own clock, and never dark."""
    assert Glow(RED, 500).at(now_ms) == bytes((level, 0, 0))


def test_a_still_glow_stays() -> None:
    """Whatever the time."""
    assert {Glow(RED).at(now_ms) for now_ms in range(0, 5000, 10)} == {RED}


def test_power_up_forgets_and_starts_at_zero() -> None:
    """A look of its own until somebody says something."""
    board = Board(3)
    board.put(0, Glow(RED * 3))
    assert board.frame(0) == RED * 3
    board.boot(5000)
    assert board.frame(5000) == POWER_UP * 3
    assert (board.awake_ms(5000), board.awake_ms(7500), board.boots) == (0, 2500, 2)


@given(
    st.lists(
        st.tuples(st.integers(0, 11), st.integers(1, 12), st.integers(0, 255)).map(
            lambda put: (put[0], min(put[1], 12 - put[0]), put[2])
        ),
        max_size=8,
    )
)
def test_the_last_one_laid_is_seen(puts: list[tuple[int, int, int]]) -> None:
    """As if each pixel were set by itself, in order."""
    board = Board(12)
    expected = [POWER_UP] * 12
    for first, length, value in puts:
        cell = bytes((value, value, value))
        board.put(first, Glow(cell * length))
        expected[first : first + length] = [cell] * length
    assert board.frame(0) == b"".join(expected)


@pytest.mark.parametrize(
    ("value", "code"), [(-1, 0), (0.49, 0), (0.5, 1), (254.5, 255), (300, 255)]
)
def test_values_are_rounded_into_a_byte(value: float, code: int) -> None:
    """Halves up, nothing outside."""
    assert rounded(value) == code


def test_a_change_fades() -> None:
    """Evenly from what was there, also where that was still on its way."""
    board = Board(2)
    board.put(0, Glow(bytes(6)))
    board.put(0, Glow(RED), 1000, 400)
    assert [board.frame(at)[0] for at in (1000, 1100, 1200, 1399, 1400, 9000)] == [
        *(0, 50, 100, 200, 200, 200)
    ]
    assert board.full()[:3] == RED
    board.put(0, Glow(bytes(3)), 1200, 100)
    assert [board.frame(at)[0] for at in (1200, 1250, 1300)] == [100, 50, 0]


def test_what_is_left_of_a_fading_stretch_fades_on() -> None:
    """Its pixels keep what each came from."""
    board = Board(3)
    board.put(0, Glow(bytes((0, 0, 0, 100, 0, 0, 0, 0, 0))))
    board.put(0, Glow(RED * 3), 0, 100)
    board.put(1, Glow(bytes(3)), 10)
    assert board.frame(50) == bytes((100, 0, 0, 0, 0, 0, 100, 0, 0))
