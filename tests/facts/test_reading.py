"""One alternative, from a document to a fact's value."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from bridge.facts.forms import compile_form
from bridge.facts.judging import NOTHING
from bridge.facts.moment import Moment
from bridge.facts.places import ABSENT, Document, compile_place
from bridge.facts.reader import Alternative, Is, Unit
from bridge.facts.reading import LONGEST_TEXT, Forms, compile_read
from bridge.facts.values import Unknown, Why
from bridge.facts.vocabulary import FactName, Kind, fact_named
from tests.facts.building import at, of

UTC = ZoneInfo("UTC")
NOW = Moment(0, 0)
COURSES: Forms = ((compile_form("{layer} of {layers}"), None),)
NESTED: Forms = (
    (compile_form("course {layer}"), compile_place("/said")),
    (compile_form("{layer} of {_}"), compile_place("/said")),
)
WORDS = {"LAYING": "processing", "HALTED": "stopped", "LOST": "unknown"}


def _read(
    fact: str,
    alternative: Alternative,
    document: Document,
    *,
    forms: Forms = (),
    wildcards: tuple[str, ...] = (),
    text: bool = False,
) -> object:
    named = fact_named(fact) or FactName(fact, Kind.TEXT)
    value = compile_read(alternative, named, forms, UTC, text=text)(document, wildcards, NOW)
    return value.why if isinstance(value, Unknown) else value


@pytest.mark.parametrize(
    ("fact", "alternative", "document", "value"),
    [
        ("state", at("s", "/m", values=WORDS), {"m": "LAYING"}, "processing"),
        ("state", at("s", "/m", values=WORDS), {"m": "laying"}, Why.UNMAPPED),
        ("state", at("s", "/m", values=WORDS), {"m": None}, Why.UNMAPPED),
        ("state", at("s", "/m", values=WORDS), {"m": ["LAYING"]}, Why.UNMAPPED),
        ("state", at("s", "/m", values=WORDS), {"m": "LOST"}, Why.NO_VALUE),
        ("state", at("s", "/m", values=WORDS), {}, ABSENT),
        ("state", at("s", "/m", values=WORDS), [], ABSENT),
        ("state", at("s", "/m", values=WORDS), "LAYING", ABSENT),
        ("state", at("s", "/m", values={20: "idle"}), {"m": 20}, "idle"),
        ("state", at("s", "/m", values={20: "idle"}), {"m": "20"}, Why.UNMAPPED),
        ("state", at("s", "/m", values={1: "idle"}), {"m": True}, Why.UNMAPPED),
        ("state", at("s", "/m"), {"m": "idle"}, "idle"),
        ("state", at("s", "/m"), {"m": "unknown"}, Why.NO_VALUE),
        ("state", at("s", "/m"), {"m": "Idle"}, Why.UNMAPPED),
        ("state", at("s", "/m"), {"m": 3}, Why.UNMAPPED),
        ("state", at("s", "/h", is_=Is((True,)), gives="stopped"), {"h": True}, "stopped"),
        ("state", at("s", "/h", is_=Is((True,)), gives="stopped"), {"h": False}, NOTHING),
        ("state", at("s", "/h", is_=Is((True,)), gives="stopped"), {}, ABSENT),
        ("state", at("s", "/m", unless=("", "-"), values=WORDS), {"m": "-"}, NOTHING),
        ("job", at("s", "/j", values={"F": "completed"}, no_value=("-",)), {"j": "-"}, "no-value"),
        ("job", at("s", "/j", values={"F": "completed"}, no_value=("-",)), {"j": "F"}, "completed"),
        ("progress", at("s", "/p", no_value=(-1,), scale=(0, 100)), {"p": -1}, Why.NO_VALUE),
        ("progress", at("s", "/p", no_value=(-1,), scale=(0, 100)), {"p": 25}, 0.25),
        ("progress", at("s", "/p", is_=Is((7,)), gives=1), {"p": 7}, 1.0),
        ("progress", at("s", "$.p[?@.on==true].v"), {"p": [{"on": True, "v": 0.5}]}, 0.5),
        ("progress", at("s", "$.p[*]"), {"p": [0.5, 0.5]}, 0.5),
        ("progress", at("s", "$.p[*]"), {"p": [0.5, 0.6]}, Why.WRONG_TYPE),
        ("progress", at("s", "$.p[*]"), {"p": []}, ABSENT),
        (
            "state",
            at("s", "$[?$.on==true && $.held==false]", gives="processing"),
            {"on": True, "held": False},
            "processing",
        ),
        (
            "state",
            at("s", "$[?$.on==true && $.held==false]", gives="processing"),
            {"on": True, "held": 0},
            ABSENT,
        ),
        (
            "state",
            at("s", "$[?$.on==true]", is_=Is((True,)), gives="processing"),
            {"on": True, "held": False},
            Why.WRONG_TYPE,
        ),
        ("job-name", at("s", "/n"), {"n": "hull no. 4"}, "hull no. 4"),
        ("job-name", at("s", "/n"), {"n": 4}, "4"),
        ("job-name", at("s", "/n"), {"n": ""}, ""),
        ("job-name", at("s", "/n"), {"n": None}, Why.WRONG_TYPE),
        ("job-name", at("s", "/n"), {"n": True}, Why.WRONG_TYPE),
        ("job-name", at("s", "/n"), {"n": "x" * 300}, "x" * (LONGEST_TEXT - 1) + "…"),
        ("site-lid", at("s", "/l"), {"l": True}, True),
        ("site-lid", at("s", "/l"), {"l": 3}, 3.0),
        ("site-lid", at("s", "/l"), {"l": 10**400}, Why.OUT_OF_RANGE),
        ("site-lid", at("s", "/l"), {"l": "ajar"}, "ajar"),
        ("site-lid", at("s", "/l"), {"l": None}, Why.WRONG_TYPE),
        ("site-lid", at("s", "/l", unit=Unit("%", 0.01)), {"l": "57 %"}, 0.57),
        ("site-lid", at("s", "/l", values={True: "ajar"}), {"l": True}, "ajar"),
    ],
)
def test_a_place_of_a_document(
    fact: str, alternative: Alternative, document: Document, value: object
) -> None:
    """A value; unknown, which ends the search; or absent or nothing, which goes on."""
    found = _read(fact, alternative, document)
    assert found == value
    assert type(found) is type(value)


@pytest.mark.parametrize(
    ("alternative", "said", "value"),
    [
        (of("t", values={"RESTING": "idle", 20: "stopped"}), "RESTING", "idle"),
        (of("t", values={"RESTING": "idle", 20: "stopped"}), "20", "stopped"),
        (of("t", values={"RESTING": "idle"}), "AFLOAT", Why.UNMAPPED),
        (of("t", unless=("",), values={"RESTING": "idle"}), "", NOTHING),
        (of("t", is_=Is((True,)), gives="stopped"), "true", "stopped"),
    ],
)
def test_a_text(alternative: Alternative, said: str, value: object) -> None:
    """A text message is its own raw value, and has numbers as text."""
    assert _read("state", alternative, said, text=True) == value


@pytest.mark.parametrize(
    ("forms", "document", "value"),
    [
        (COURSES, "12 of 40", 12.0),
        (COURSES, "twelve of 40", Why.WRONG_TYPE),
        (COURSES, "12/40", ABSENT),
        (NESTED, {"said": "course 7"}, 7.0),
        (NESTED, {"said": "8 of many"}, 8.0),
        (NESTED, {"said": "done"}, ABSENT),
        (NESTED, {"said": 12}, ABSENT),
        (NESTED, {}, ABSENT),
        ((), "12 of 40", ABSENT),
    ],
)
def test_a_part_of_a_form(forms: Forms, document: Document, value: object) -> None:
    """The first form that the text has gives the part; a text of no form is an absent place."""
    text = isinstance(document, str)
    assert _read("layer", of("t", part="layer"), document, forms=forms, text=text) == value


@pytest.mark.parametrize(
    ("wildcard", "said", "value"),
    [(1, "on", "7"), (2, "on", "LAYING"), (2, "off", NOTHING), (3, "on", ABSENT)],
)
def test_a_wildcard(wildcard: int, said: str, value: object) -> None:
    """The wildcard's text is read, the payload is judged."""
    alternative = of("t", wildcard=wildcard, unless=("off",))
    found = _read("job-name", alternative, said, wildcards=("7", "LAYING"), text=True)
    assert found == value
