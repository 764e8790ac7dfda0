"""Where a segment is."""

from __future__ import annotations

import pytest

from bridge.lights.place import Place


@pytest.mark.parametrize(("first", "length", "last"), [(0, 1, 0), (0, 120, 119), (120, 60, 179)])
def test_the_last_pixel_is_included(first: int, length: int, last: int) -> None:
    """Pixels are counted from 0, and a range of one ends where it begins."""
    assert Place("frame", 1, first, length).last == last
