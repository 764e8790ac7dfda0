"""What is asked of a raw value before it is read."""

from __future__ import annotations

import pytest

from bridge.facts.judging import NOTHING, Nothing, bits_in, compile_judge
from bridge.facts.reader import Alternative, Interval, Is
from bridge.facts.values import Unknown, Why

GO_ON = None


@pytest.mark.parametrize(
    ("alternative", "raw", "only_text", "verdict"),
    [
        (Alternative(unless=("", "none")), "none", False, NOTHING),
        (Alternative(unless=("", "none")), "", False, NOTHING),
        (Alternative(unless=("", "none")), "None", False, GO_ON),
        (Alternative(unless=(0,)), "0", False, GO_ON),
        (Alternative(unless=(0,)), "0", True, NOTHING),
        (Alternative(unless=(None,)), None, False, NOTHING),
        (Alternative(no_value=(-1,)), -1, False, Why.NO_VALUE),
        (Alternative(no_value=(-1,)), -1.0, False, Why.NO_VALUE),
        (Alternative(no_value=(0,)), False, False, GO_ON),
        (Alternative(unless=(1,), no_value=(1,)), 1, False, NOTHING),
        (Alternative(is_=Is((True,))), True, False, GO_ON),
        (Alternative(is_=Is((True,))), False, False, NOTHING),
        (Alternative(is_=Is((True,))), 1, False, NOTHING),
        (Alternative(is_=Is((True,))), "true", True, GO_ON),
        (Alternative(is_=Is(("a", "b"))), "b", False, GO_ON),
        (Alternative(is_=Is((1,))), [1], False, NOTHING),
        (Alternative(is_=Is(interval=Interval(1.0))), 1, False, GO_ON),
        (Alternative(is_=Is(interval=Interval(1.0, least_included=False))), 1, False, NOTHING),
        (Alternative(is_=Is(interval=Interval(None, 5.0))), "5", False, GO_ON),
        (Alternative(is_=Is(interval=Interval(None, 5.0))), "5 mm", False, Why.WRONG_TYPE),
        (Alternative(is_=Is(interval=Interval(0.0))), True, False, Why.WRONG_TYPE),
        (Alternative(is_=Is(interval=Interval(0.0))), None, False, Why.WRONG_TYPE),
        (Alternative(is_=Is(bit=3)), 8, False, GO_ON),
        (Alternative(is_=Is(bit=3)), 7, False, NOTHING),
        (Alternative(is_=Is(bit=3)), "0x08", True, GO_ON),
        (Alternative(is_=Is(bit=3)), -1, False, Why.WRONG_TYPE),
        (Alternative(unless=(0,), is_=Is((1,))), 1, False, GO_ON),
        (Alternative(unless=(0,), is_=Is((1,))), 2, False, NOTHING),
    ],
)
def test_judge(
    alternative: Alternative, raw: object, only_text: bool, verdict: Nothing | Why | None
) -> None:
    """Means nothing, has no value, is not what is asked for, or goes on."""
    judge = compile_judge(alternative, only_text=only_text)
    assert judge is not None
    found = judge(raw)
    assert (found.why if isinstance(found, Unknown) else found) is verdict


def test_nothing_to_ask() -> None:
    """No test is compiled where none is written."""
    assert compile_judge(Alternative(values={1: "idle"}), only_text=False) is None


@pytest.mark.parametrize(
    ("raw", "bits"),
    [
        (0, 0),
        (36, 36),
        (36.0, 36),
        ("36", 36),
        (" 0X24 ", 36),
        ("0036", 36),
        (10**40, 10**40),
        (36.5, None),
        (-1, None),
        (1e300, None),
        (True, None),
        ("", None),
        ("-1", None),
        ("0b1", None),
        ("9" * 20, None),
        (None, None),
        ([1], None),
    ],
)
def test_bits_in(raw: object, bits: int | None) -> None:
    """Whole numbers from 0, as numbers or as decimal or hexadecimal text."""
    assert bits_in(raw) == bits
