"""How contributions to the reasons go together."""

from __future__ import annotations

import pytest

from bridge.facts.contributions import (
    MOST_WORDS,
    NO_CONTRIBUTION,
    NO_REASONS,
    Contribution,
    for_each,
    graded,
    guarded,
    joined,
    none_if_absent,
    open_for,
    together,
)
from bridge.facts.judging import NOTHING, compile_also
from bridge.facts.places import ABSENT, Document, compile_place
from bridge.facts.reader import Also, Graded, Interval, Is
from bridge.facts.reason_reading import compile_reasons
from bridge.facts.reasons import parse_reason
from bridge.facts.values import Severity, Why
from tests.facts.building import at

DOOR = Contribution((parse_reason("door-open"),))
EMPTY = Contribution((parse_reason("material-empty"),))
READ = compile_reasons(
    at("s", "/nr", values={1: "door-open", 2: "material-empty", 3: ()}), (), text=False
)


def _said(found: object) -> object:
    """What was said and why it is open, or what else it is."""
    if not isinstance(found, Contribution):
        return found
    return [reason.said for reason in found.known], [one.why for one in found.open_because]


def test_together() -> None:
    """Each reason once, sorted; open if one of them is."""
    assert together([]) is NO_REASONS
    assert together([NO_CONTRIBUTION]) is NO_REASONS
    reasons = together([EMPTY, open_for(Why.UNMAPPED, "cat"), DOOR, EMPTY])
    assert [reason.said for reason in reasons.known] == ["door-open", "material-empty"]
    assert reasons.open_because is not None
    assert reasons.open_because.why is Why.UNMAPPED


def test_joined() -> None:
    """In their order, nothing left out."""
    assert joined([]) == NO_CONTRIBUTION
    assert _said(joined([EMPTY, open_for(Why.UNMAPPED, "cat"), DOOR])) == (
        ["material-empty", "door-open"],
        [Why.UNMAPPED],
    )


LIVE = compile_also((Also(compile_place("/live"), Is((True,))),))


@pytest.mark.parametrize(
    ("document", "in_a_union", "in_order"),
    [
        ({"live": True, "nr": 1}, (["door-open"], []), (["door-open"], [])),
        ({"live": False, "nr": 1}, NOTHING, ABSENT),
        ({"live": False, "nr": 9}, NOTHING, ABSENT),
        ({"live": 1, "nr": 1}, ([], [Why.WRONG_TYPE]), ([], [Why.WRONG_TYPE])),
        ({"nr": 1}, ([], [Why.ABSENT]), ABSENT),
        ({"live": True}, ABSENT, ABSENT),
        ({"live": True, "nr": 9}, ([], [Why.UNMAPPED]), ([], [Why.UNMAPPED])),
    ],
)
def test_guarded(document: Document, in_a_union: object, in_order: object) -> None:
    """What is not live counts for nothing; in an ordered list it leaves it to the next way."""
    assert LIVE is not None
    assert _said(guarded(LIVE, READ, ordered=False)(document, ())) == in_a_union
    assert _said(guarded(LIVE, READ, ordered=True)(document, ())) == in_order


def test_a_further_test_that_cannot_be_judged_leaves_the_reasons_open() -> None:
    """In a union and in an ordered list."""
    above = compile_also((Also(compile_place("/live"), Is(interval=Interval(least=1))),))
    assert above is not None
    for ordered in (True, False):
        found = guarded(above, READ, ordered=ordered)({"live": "much", "nr": 1}, ())
        assert _said(found) == ([], [Why.WRONG_TYPE])


def test_none_if_absent() -> None:
    """Only the absence of the place itself says so."""
    read = none_if_absent(READ)
    assert _said(read({}, ())) == ([], [])
    assert _said(read({"nr": 9}, ())) == ([], [Why.UNMAPPED])
    assert LIVE is not None
    assert _said(guarded(LIVE, read, ordered=True)({}, ())) is ABSENT
    assert _said(guarded(LIVE, read, ordered=False)({}, ())) == ([], [Why.ABSENT])


@pytest.mark.parametrize(
    ("document", "found"),
    [
        ({"all": []}, ([], [])),
        ({"all": [{"nr": 1}, {"nr": 3}, {"nr": 2}]}, (["door-open", "material-empty"], [])),
        ({"all": [{"nr": 1}, {"nr": 9}]}, (["door-open"], [Why.UNMAPPED])),
        ({"all": [{}, {"nr": 1}]}, (["door-open"], [Why.ABSENT])),
        ({"all": [7]}, ([], [Why.ABSENT])),
        ({"all": {"nr": 1}}, ([], [Why.WRONG_TYPE])),
        ({"all": None}, ([], [Why.WRONG_TYPE])),
        ({"all": [{"nr": 1}] * (MOST_WORDS + 1)}, ([], [Why.OUT_OF_RANGE])),
        ({}, ABSENT),
    ],
)
def test_for_each(document: Document, found: object) -> None:
    """An element that cannot be read may be a fault: it leaves the reasons open."""
    assert _said(for_each(compile_place("/all"), READ)(document, ())) == found


GRADED = Graded(compile_place("/weight"), {"mild": Severity.WARNING, 3: Severity.ERROR})


@pytest.mark.parametrize(
    ("document", "found"),
    [
        ({"nr": 1, "weight": "mild"}, (["door-open-warning"], [])),
        ({"nr": 1, "weight": 3}, (["door-open-error"], [])),
        ({"nr": 1, "weight": "odd"}, ([], [Why.UNMAPPED])),
        ({"nr": 1}, ([], [Why.ABSENT])),
        ({"nr": 3}, ([], [])),
        ({"nr": 9, "weight": "mild"}, ([], [Why.UNMAPPED])),
        ({}, ABSENT),
    ],
)
def test_graded(document: Document, found: object) -> None:
    """A reason whose severity is not known is not known; where there is none, nobody asks."""
    assert _said(graded(GRADED, READ)(document, ())) == found


def test_a_graded_reason_is_as_severe_as_was_said() -> None:
    """Material that runs low is a warning by itself; here the printer says what it is."""
    read = compile_reasons(
        at("s", "/nr", values={1: "material-low"}, severity=GRADED), (), text=False
    )
    found = read({"nr": 1, "weight": 3}, ())
    assert isinstance(found, Contribution)
    assert [reason.severity for reason in found.known] == [Severity.ERROR]
    # The same number again, and less severe: nothing is remembered of the last message.
    again = read({"nr": 1, "weight": "mild"}, ())
    assert isinstance(again, Contribution)
    assert [reason.severity for reason in again.known] == [Severity.WARNING]
