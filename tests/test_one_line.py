"""Text of others on one line of ours."""

from __future__ import annotations

import pytest

from bridge.one_line import one_line

CASES = {
    "nothing to do": ("état: 3 °C – █", "état: 3 °C – █"),
    "empty": ("", ""),
    "line breaks": ("one\r\ntwo", r"one\r\ntwo"),
    "an escape sequence": ("\x1b[2Jgone", r"\x1b[2Jgone"),
    "a bell and a delete": ("\x07\x7f", r"\x07\x7f"),
    "a C1 control sequence": ("\x9b2J", r"\x9b2J"),
    "a line separator": ("a\u2028b", r"a\u2028b"),
    "text turned around": ("\u202egnorw", r"\u202egnorw"),
    "half a surrogate pair": ("\udcff", r"\udcff"),
}


@pytest.mark.parametrize(("given", "expected"), CASES.values(), ids=CASES.keys())
def test_what_cannot_be_printed_is_written_out(given: str, expected: str) -> None:
    """Everything else stays as it is."""
    assert one_line(given) == expected
    assert one_line(given).isprintable()
