"""One alternative for the reasons: what it contributes and what it leaves open."""

from __future__ import annotations

import pytest

from bridge.facts.contributions import (
    MOST_WORDS,
    NO_REASONS,
    Contribution,
    open_for,
    together,
)
from bridge.facts.judging import NOTHING
from bridge.facts.places import ABSENT, Document
from bridge.facts.reader import Alternative, Is
from bridge.facts.reason_reading import compile_reasons, reasons_named
from bridge.facts.reasons import ReasonError
from bridge.facts.values import Unknown, Why
from tests.facts.building import at, of

LID = {"lid": "cover-open", "spool": ("material-empty", "material-needed"), "fine": ()}
BITS = {2: ("door-open",), 5: ("material-empty",), 7: ()}


def _read(
    alternative: Alternative,
    document: Document,
    *,
    wildcards: tuple[str, ...] = (),
    text: bool = False,
) -> object:
    """What was said and why it is open, or what else it is."""
    read = compile_reasons(alternative, (), text=text)
    found = read(document, wildcards)
    assert read(document, wildcards) == found
    if not isinstance(found, Contribution):
        return found
    return [reason.said for reason in found.known], [one.why for one in found.open_because]


@pytest.mark.parametrize(
    ("alternative", "document", "found"),
    [
        (at("s", "/e", values=LID), {"e": "lid"}, (["cover-open"], [])),
        (at("s", "/e", values=LID), {"e": "spool"}, (["material-empty", "material-needed"], [])),
        (at("s", "/e", values=LID), {"e": "fine"}, ([], [])),
        (at("s", "/e", values=LID), {"e": "cat"}, ([], [Why.UNMAPPED])),
        (at("s", "/e", values=LID), {"e": None}, ([], [Why.UNMAPPED])),
        (at("s", "/e", values=LID), {"e": {}}, ([], [Why.UNMAPPED])),
        (at("s", "/e", values=LID), {}, ABSENT),
        (at("s", "/e", values=LID), {"e": []}, ([], [])),
        (at("s", "/e", values=LID), {"e": ["lid", "cat"]}, (["cover-open"], [Why.UNMAPPED])),
        (at("s", "/e", values=LID, others_none=True), {"e": ["lid", "cat"]}, (["cover-open"], [])),
        (at("s", "/e", values=LID, unless=("", "ok")), {"e": "ok"}, NOTHING),
        (at("s", "/e", values=LID, unless=("", "ok")), {"e": ["ok", ""]}, NOTHING),
        (at("s", "/e", values=LID, unless=("ok",)), {"e": ["ok", "lid"]}, (["cover-open"], [])),
        (at("s", "/e", values=LID, no_value=("?",)), {"e": "?"}, ([], [Why.NO_VALUE])),
        (at("s", "/e", values={1: "door-open"}), {"e": True}, ([], [Why.UNMAPPED])),
        (at("s", "/e", values={1: "door-open"}), {"e": 1.0}, (["door-open"], [])),
        (at("s", "/e", split=",", values=LID), {"e": "lid, spool"}, (
            ["cover-open", "material-empty", "material-needed"], [])),
        (at("s", "/e", split=",", values=LID), {"e": ""}, ([], [])),
        (at("s", "/e", split=" ", values=LID), {"e": " lid  cat "}, (
            ["cover-open"], [Why.UNMAPPED])),
        (at("s", "/e", split=",", values=LID), {"e": ["lid, spool", 7]}, (
            ["cover-open", "material-empty", "material-needed"], [Why.UNMAPPED])),
        (at("s", "/e", split=",", values={7: "door-open"}), {"e": "7"}, (["door-open"], [])),
        (at("s", "/e", split=",", unless=("ok",), values=LID), {"e": "ok,ok"}, NOTHING),
        (at("s", "/e", bits=BITS), {"e": 36}, (["door-open", "material-empty"], [])),
        (at("s", "/e", bits=BITS), {"e": 0}, ([], [])),
        (at("s", "/e", bits=BITS), {"e": 128}, ([], [])),
        (at("s", "/e", bits=BITS), {"e": 5}, (["door-open"], [Why.UNMAPPED])),
        (at("s", "/e", bits=BITS, others_none=True), {"e": 5}, (["door-open"], [])),
        (at("s", "/e", bits=BITS), {"e": "0x24"}, (["door-open", "material-empty"], [])),
        (at("s", "/e", bits=BITS), {"e": -1}, ([], [Why.WRONG_TYPE])),
        (at("s", "/e", bits=BITS), {"e": None}, ([], [Why.WRONG_TYPE])),
        (at("s", "/h", is_=Is((True,)), gives=("door-open",)), {"h": True}, (["door-open"], [])),
        (at("s", "/h", is_=Is((True,)), gives=("door-open",)), {"h": False}, NOTHING),
        (at("s", "/h", is_=Is(bit=1), gives="fan-failure"), {"h": 2}, (["fan-failure"], [])),
        (at("s", "/h", is_=Is(bit=1), gives="fan-failure"), {"h": None}, ([], [Why.WRONG_TYPE])),
        (at("s", "/e"), {"e": "Door-Open-Report"}, (["Door-Open-Report"], [])),
        (at("s", "/e"), {"e": ["none"]}, ([], [])),
        (at("s", "/e"), {"e": "unknown"}, ([], [Why.NO_VALUE])),
        (at("s", "/e"), {"e": "cat-on-bed"}, ([], [Why.UNMAPPED])),
        (at("s", "/e", others_none=True), {"e": "cat-on-bed"}, ([], [])),
        (at("s", "/e"), {"e": 7}, ([], [Why.WRONG_TYPE])),
        (at("s", "$.e[*].w", values=LID), {"e": [{"w": "lid"}, {"w": ["fine"]}]}, (
            ["cover-open"], [])),
        (at("s", "$.e[*].w", values=LID), {"e": []}, ABSENT),
    ],
)  # fmt: skip
def test_a_place_of_a_document(alternative: Alternative, document: Document, found: object) -> None:
    """Words, codes, bits, lists and keywords; each thing that is not known stays open."""
    assert _read(alternative, document) == found


@pytest.mark.parametrize(
    ("part", "said", "found"),
    [
        ("spool", "1", (["material-empty", "material-needed"], [])),
        ("spool", "", NOTHING),
        ("cat", "1", ([], [Why.UNMAPPED])),
        ("cat", "", NOTHING),
        ("spool", "?", ([], [Why.NO_VALUE])),
    ],
)
def test_a_wildcard(part: str, said: str, found: object) -> None:
    """The payload says whether, the wildcard which."""
    alternative = of("t", wildcard=1, unless=("",), no_value=("?",), values=LID)
    assert _read(alternative, said, wildcards=(part,), text=True) == found


def test_a_wildcard_that_the_address_does_not_have() -> None:
    """A number too high finds nothing."""
    assert _read(of("t", wildcard=2), "1", wildcards=("lid",), text=True) is ABSENT


def test_a_list_of_thousands_is_no_list_of_reasons() -> None:
    """It is read up to a bound, and the rest stays open."""
    found = _read(at("s", "/e", values=LID), {"e": ["lid"] * (MOST_WORDS + 1)})
    assert found == (["cover-open"] * MOST_WORDS, [Why.OUT_OF_RANGE])


def test_remembered_words_are_not_mixed_up() -> None:
    """1, true, 1.0 and "1" are asked one after another of the same reader."""
    read = compile_reasons(at("s", "/e", values={1: "door-open"}), (), text=False)
    door = Contribution(reasons_named("door-open"))
    assert read({"e": 1}, ()) == door
    assert read({"e": True}, ()) == open_for(Why.UNMAPPED, "true")
    assert read({"e": 1.0}, ()) == door
    assert read({"e": "1"}, ()) == open_for(Why.UNMAPPED, "1")


def test_more_words_than_are_remembered() -> None:
    """A sender of ever new words is read rightly all the same."""
    read = compile_reasons(at("s", "/e", values=LID), (), text=False)
    for number in range(200):
        assert read({"e": f"w{number}"}, ()) == open_for(Why.UNMAPPED, f"w{number}")
        assert read({"e": "fine"}, ()) == Contribution()


def test_together() -> None:
    """Each reason once, sorted, mildest first; the first open question stays."""
    one = Contribution(reasons_named(("material-empty-error", "door-open")))
    other = Contribution(reasons_named(("material-empty-report", "door-open")))
    open_one, open_other = open_for(Why.UNMAPPED, "a"), open_for(Why.NOT_FRESH, "b")
    reasons = together([one, open_one, other, open_other])
    assert [reason.said for reason in reasons.known] == [
        "door-open",
        "material-empty-report",
        "material-empty-error",
    ]
    assert reasons.open_because == Unknown(Why.UNMAPPED, "a")
    assert together([]) is NO_REASONS


@pytest.mark.parametrize(("words", "count"), [("none", 0), (("none", "door-open"), 1), ((), 0)])
def test_reasons_named(words: object, count: int) -> None:
    """``none`` is no reason."""
    assert len(reasons_named(words)) == count


def test_reasons_named_refuses_what_is_none() -> None:
    """A reader with a misspelt keyword is refused before it reads anything."""
    with pytest.raises(ReasonError, match="did you mean 'door-open'"):
        reasons_named("door-opn")
