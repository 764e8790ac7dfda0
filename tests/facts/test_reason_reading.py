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
from bridge.facts.places import ABSENT, Document, compile_place
from bridge.facts.reader import Also, Alternative, Graded, Is
from bridge.facts.reason_reading import compile_reasons, every_reason_of, reasons_named
from bridge.facts.reasons import ReasonError
from bridge.facts.values import Severity, Unknown, Why
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
    assert read({"e": "1"}, ()) == open_for(Why.UNMAPPED, '"1"')


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


FLAGS = {"lid": "door-open", "spool": "material-empty", "hum": ()}


@pytest.mark.parametrize(
    ("rest", "members", "found"),
    [
        ({}, {"lid": False, "spool": False, "hum": True}, ([], [])),
        ({}, {"lid": True, "spool": False, "hum": True}, (["door-open"], [])),
        ({}, {"lid": True, "spool": True, "hum": False, "cat": False},
            (["door-open", "material-empty"], [])),
        ({}, {"lid": True, "spool": False, "hum": False, "cat": True},
            (["door-open"], [Why.UNMAPPED])),
        ({}, {"lid": True, "spool": "dunno", "hum": False}, (["door-open"], [Why.WRONG_TYPE])),
        ({}, {"lid": True, "spool": 1, "hum": False}, (["door-open"], [Why.WRONG_TYPE])),
        ({}, {"lid": True, "hum": False}, (["door-open"], [Why.ABSENT])),
        ({"others_none": True}, {"lid": False, "spool": False, "hum": False, "cat": True},
            ([], [])),
        ({"others_none": True}, {"lid": False, "spool": False, "hum": False, "n": 3}, ([], [])),
        ({"others_none": True}, {"lid": 3, "spool": False, "hum": False}, ([], [Why.WRONG_TYPE])),
        ({}, [], ([], [Why.WRONG_TYPE])),
        ({}, {}, ([], [Why.ABSENT] * 3)),
        ({}, {f"n{number}": False for number in range(MOST_WORDS + 1)}, ([], [Why.OUT_OF_RANGE])),
    ],
)  # fmt: skip
def test_flags(rest: dict[str, bool], members: object, found: object) -> None:
    """The names of true members are words; what is listed must be there and be a truth."""
    assert _read(at("s", "/snags", flags=True, values=FLAGS, **rest), {"snags": members}) == found


def test_flags_of_which_only_the_true_ones_are_told() -> None:
    """Where absence says that there is no reason, that holds for each of them."""
    alternative = at("s", "/snags", flags=True, values=FLAGS)
    read = compile_reasons(alternative, (), text=False, absent_none=True)
    found = read({"snags": {"lid": True}}, ())
    assert isinstance(found, Contribution)
    assert [reason.said for reason in found.known] == ["door-open"]
    assert found.open_because == ()
    assert read({}, ()) is ABSENT


@pytest.mark.parametrize(
    ("document", "found"),
    [
        ({}, ABSENT),
        ([], ABSENT),
        (None, ([], [Why.WRONG_TYPE])),
        ("busy", ([], [Why.WRONG_TYPE])),
        (0, ([], [Why.WRONG_TYPE])),
        (False, ([], [Why.WRONG_TYPE])),
    ],
)
@pytest.mark.parametrize(
    "alternative",
    [at("s", "/e", values=LID), at("s", "", each=compile_place("/all"), values=LID)],
)
def test_absence_says_something_only_of_what_can_have_members(
    alternative: Alternative, document: Document, found: object
) -> None:
    """Where it says that there is no reason; else all of these are absent places."""
    read = compile_reasons(alternative, (), text=False, absent_none=True)
    given = read(document, ())
    if isinstance(given, Contribution):
        assert ([], [one.why for one in given.open_because]) == found
    else:
        assert given is found
    assert compile_reasons(alternative, (), text=False)(document, ()) is ABSENT


def test_a_whole_message_may_be_the_reason_itself() -> None:
    """Nothing is looked for in it, so nothing can be absent."""
    read = compile_reasons(of("s", values=LID), (), text=False, absent_none=True)
    assert read("fine", ()) == Contribution()


@pytest.mark.parametrize(
    ("register", "found"),
    [
        ("24", (["door-open", "material-empty"], [])),
        ("0x04", (["door-open"], [])),
        ("2G", ([], [Why.WRONG_TYPE])),
        (24, ([], [Why.WRONG_TYPE])),
    ],
)
def test_bits_of_a_register_in_base_16(register: object, found: object) -> None:
    """A number is none of its texts: 24 may be either."""
    assert _read(at("s", "/e", bits=BITS, base=16), {"e": register}) == found


def test_each_element_of_a_list_with_all_that_is_said_of_it() -> None:
    """Live ones count, as severe as they are; what is absent in one stays open."""
    alternative = at(
        "s",
        "/nr",
        each=compile_place("/bothers"),
        also=(Also(compile_place("/live"), Is((True,))),),
        values={14: "extruder-jam", 22: "material-low"},
        severity=Graded(compile_place("/weight"), {"stern": Severity.ERROR}),
        absent_none=True,
    )
    jam = {"nr": 14, "live": True, "weight": "stern"}
    past = {"nr": 99, "live": False, "weight": "odd"}
    assert _read(alternative, {"bothers": [past, jam]}) == (["extruder-jam-error"], [])
    assert _read(alternative, {"bothers": [jam, {"live": True}]}) == (
        ["extruder-jam-error"],
        [Why.ABSENT],
    )


@pytest.mark.parametrize(
    ("alternative", "said"),
    [
        (at("s", "/e", values=LID), {"cover-open", "material-empty", "material-needed"}),
        (at("s", "/e", bits=BITS), {"door-open", "material-empty"}),
        (at("s", "/e", is_=Is((1,)), gives="door-open-error"), {"door-open-error"}),
        (at("s", "/e", is_=Is((1,)), gives=()), set()),
        (at("s", "/e", flags=True, values=FLAGS), {"door-open", "material-empty"}),
        (
            at(
                "s",
                "/e",
                values={1: "door-open"},
                severity=Graded(compile_place("/w"), {"a": Severity.ERROR, "b": Severity.REPORT}),
            ),
            {"door-open-error", "door-open-report"},
        ),
    ],
)
def test_every_reason_of_an_alternative(alternative: Alternative, said: set[str]) -> None:
    """In every severity that it can have."""
    reasons = every_reason_of(alternative)
    assert reasons is not None
    assert {reason.said for reason in reasons} == said


def test_a_printer_that_speaks_keywords_can_give_any() -> None:
    """Nothing in the reader says which."""
    assert every_reason_of(at("s", "/e")) is None
