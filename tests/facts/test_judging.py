"""What is asked of a raw value before it is read."""

from __future__ import annotations

import pytest

from bridge.facts.judging import NOTHING, Nothing, bits_in, compile_also, compile_judge
from bridge.facts.places import ABSENT, compile_place
from bridge.facts.reader import Also, Alternative, Interval, Is
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
        (Alternative(is_=Is((True,))), 1, False, Why.WRONG_TYPE),
        (Alternative(is_=Is((False,))), None, False, Why.WRONG_TYPE),
        (Alternative(is_=Is((False,))), [], False, Why.WRONG_TYPE),
        (Alternative(is_=Is((True, False))), False, False, GO_ON),
        (Alternative(is_=Is((True, 1))), 0, False, NOTHING),
        (Alternative(unless=(None,), is_=Is((True,))), None, False, NOTHING),
        (Alternative(is_=Is((True,))), "yes", True, NOTHING),
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


@pytest.mark.parametrize(
    ("raw", "base", "bits"),
    [
        ("0A", 16, 10),
        ("0x0a", 16, 10),
        ("ff", 16, 255),
        ("0101", 2, 5),
        ("0b101", 2, 5),
        ("12", 2, None),
        ("0g", 16, None),
        ("-a", 16, None),
        ("", 16, None),
        ("1_0", 16, None),
        ("10000000000000000", 16, None),
        (10, 16, None),
        (None, 16, None),
    ],
)
def test_bits_in_a_base(raw: object, base: int, bits: int | None) -> None:
    """Only a text has digits in another base; at most 64 bits."""
    assert bits_in(raw, base) == bits


LIE, HEAT = compile_place("/lie"), compile_place("$.heat[?@.at == 'nose'].is")


@pytest.mark.parametrize(
    ("several", "document", "verdict"),
    [
        ((Also(LIE, Is(("fast",))),), {"lie": "fast"}, GO_ON),
        ((Also(LIE, Is(("fast",))),), {"lie": "home"}, NOTHING),
        ((Also(LIE, Is(("fast",))),), {}, ABSENT),
        ((Also(LIE, Is((1,))),), {"lie": True}, NOTHING),
        ((Also(LIE, Is((None,))),), {"lie": None}, GO_ON),
        ((Also(LIE, Is(bit=1)),), {"lie": 2}, GO_ON),
        ((Also(LIE, Is(interval=Interval(least=1))),), {"lie": 0.5}, NOTHING),
        ((Also(LIE, None),), {}, GO_ON),
        ((Also(LIE, None),), {"lie": None}, NOTHING),
        ((Also(LIE, Is((1,))), Also(HEAT, Is((2,)))), {"lie": 1, "heat": []}, ABSENT),
        ((Also(LIE, Is((1,))), Also(HEAT, Is((2,)))), {"lie": 2, "heat": []}, NOTHING),
        ((Also(HEAT, Is((2,))),), {"heat": [{"at": "nose", "is": 2}]}, GO_ON),
        ((Also(HEAT, None),), {"heat": [{"at": "slab", "is": 2}]}, GO_ON),
    ],
)
def test_further_tests(several: tuple[Also, ...], document: object, verdict: object) -> None:
    """All must hold; the first that does not says why."""
    judge = compile_also(several)
    assert judge is not None
    assert judge(document) is verdict


@pytest.mark.parametrize(
    ("also", "document"),
    [
        (Also(LIE, Is(interval=Interval(least=1))), {"lie": "much"}),
        (Also(LIE, Is(bit=1)), {"lie": "much"}),
        (Also(HEAT, Is((2,))), {"heat": [{"at": "nose", "is": 2}, {"at": "nose", "is": 3}]}),
        (Also(HEAT, None), {"heat": [{"at": "nose", "is": 2}, {"at": "nose", "is": 3}]}),
    ],
)
def test_a_further_test_that_cannot_be_judged(also: Also, document: object) -> None:
    """It does not hold, and where it asks for a value the search ends at unknown."""
    judge = compile_also((also,))
    assert judge is not None
    verdict = judge(document)
    if also.is_ is None:
        assert verdict is NOTHING
    else:
        assert isinstance(verdict, Unknown)
        assert verdict.why is Why.WRONG_TYPE


def test_no_further_test() -> None:
    """Then nothing is asked."""
    assert compile_also(()) is None
