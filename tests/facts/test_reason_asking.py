"""The reasons: freshness, unions, order, and what silence says."""

from __future__ import annotations

import pytest

from bridge.facts.held import MOST_ADDRESSES
from bridge.facts.places import compile_place
from bridge.facts.reader import Also, Alternative, Form, Is
from bridge.facts.values import Reasons, Unknown, Why
from tests.facts.building import Bench, at, of, rule, status, text


def _said(value: object) -> object:
    """Reasons as their words and why there may be more; an unknown as its why."""
    if isinstance(value, Reasons):
        open_because = value.open_because
        return [one.said for one in value.known], open_because.why if open_because else None
    return value.why if isinstance(value, Unknown) else value


CODES = at("status", "/e", bits={2: ("door-open",)})
WARM = at("status", "/warming", is_=Is((True,)), gives="extruder-heating-report")
SNAG = of("snag", wildcard=1, unless=("", "clear"), values={"spool": "material-empty-error"})


@pytest.mark.parametrize(
    ("document", "absent_none", "reasons"),
    [
        ({"e": 4, "warming": True}, False, (["door-open", "extruder-heating-report"], None)),
        ({"e": 0, "warming": False}, False, ([], None)),
        ({"e": 5, "warming": True}, False, (
            ["door-open", "extruder-heating-report"], Why.UNMAPPED)),
        ({"e": 4}, False, (["door-open"], Why.ABSENT)),
        ({"e": 4}, True, (["door-open"], None)),
        ({}, True, ([], None)),
        ({}, False, ([], Why.ABSENT)),
    ],
)  # fmt: skip
def test_a_union(document: object, absent_none: bool, reasons: object) -> None:
    """All that is known, and whether it is all."""
    bench = Bench((status(),), (rule("reasons", CODES, WARM, union=True, absent_none=absent_none),))
    bench.hear("status", document)
    assert _said(bench["reasons"]) == reasons


@pytest.mark.parametrize(
    ("document", "reasons"),
    [
        ({"e": 4, "warming": True}, (["door-open"], None)),
        ({"warming": True}, (["extruder-heating-report"], None)),
        ({"e": 1}, ([], Why.UNMAPPED)),
        ({"e": 0, "warming": True}, ([], None)),
        ({"warming": False}, Why.ABSENT),
        ({}, Why.ABSENT),
    ],
)
def test_reasons_in_order(document: object, reasons: object) -> None:
    """Without a union the first that is there counts."""
    bench = Bench((status(),), (rule("reasons", CODES, WARM),))
    bench.hear("status", document)
    assert _said(bench["reasons"]) == reasons


def test_reasons_all_passed_over_are_none() -> None:
    """The printer says of each that it does not hold."""
    bench = Bench((status(),), (rule("reasons", WARM),))
    bench.hear("status", {"warming": False})
    assert _said(bench["reasons"]) == ([], None)


def _snags(*, absent_none: bool, up: bool = True) -> Bench:
    return Bench(
        (text("snag"),),
        (rule("reasons", SNAG, union=True, absent_none=absent_none),),
        wildcards=frozenset({"snag"}),
        up=up,
    )


@pytest.mark.parametrize(
    ("absent_none", "up", "reasons"),
    [
        (False, True, ([], Why.ABSENT)),
        (True, True, ([], None)),
        (True, False, ([], Why.SOURCE_LOST)),
    ],
)
def test_a_wildcard_on_which_nothing_arrived(absent_none: bool, up: bool, reasons: object) -> None:
    """It means none only where the reader says so and the broker is there."""
    assert _said(_snags(absent_none=absent_none, up=up)["reasons"]) == reasons


@pytest.mark.parametrize("absent_none", [False, True])
def test_a_union_over_the_addresses_of_a_wildcard(absent_none: bool) -> None:
    """Each address by itself; one that is not fresh any more leaves the union open."""
    bench = _snags(absent_none=absent_none)
    bench.hear("snag", "broken", part="spool")
    assert _said(bench["reasons"]) == (["material-empty-error"], None)
    bench.hear("snag", "broken", part="cat")
    assert _said(bench["reasons"]) == (["material-empty-error"], Why.UNMAPPED)
    bench.hear("snag", "clear", part="cat")
    bench.hear("snag", "", part="spool")
    assert _said(bench["reasons"]) == ([], None)
    bench.wait(20_000)
    bench.hear("snag", "clear", part="cat")
    bench.wait(10_001)
    assert _said(bench["reasons"]) == ([], Why.NOT_FRESH)
    bench.printer.source_lost("bench", bench.now)
    assert _said(bench["reasons"]) == ([], Why.SOURCE_LOST)


def test_more_addresses_than_are_kept_leave_the_union_open() -> None:
    """What is left out may be a fault."""
    bench = _snags(absent_none=True)
    for number in range(MOST_ADDRESSES + 1):
        bench.hear("snag", "clear", part=f"p{number}")
    assert _said(bench["reasons"]) == ([], Why.INCOMPLETE)


EXPECTING = of(
    "snag",
    wildcard=1,
    is_=Is(("broken",)),
    expects=("spool", "lid"),
    values={"spool": "material-empty-error", "lid": "cover-open"},
)


def test_a_wildcard_that_names_what_must_be_heard() -> None:
    """Until the last of them was heard there may be more reasons than are known."""
    bench = Bench(
        (text("snag"),),
        (rule("reasons", EXPECTING, union=True),),
        wildcards=frozenset({"snag"}),
    )
    bench.hear("snag", "broken", part="spool")
    assert _said(bench["reasons"]) == (["material-empty-error"], Why.NOT_HEARD)
    bench.hear("snag", "sound", part="lid")
    assert _said(bench["reasons"]) == (["material-empty-error"], None)
    bench.wait(30_001)
    assert _said(bench["reasons"]) == ([], Why.NOT_FRESH)


@pytest.mark.parametrize(
    ("woes", "union", "document", "reasons"),
    [
        ({}, False, {}, Why.ABSENT),
        ({"absent_none": True}, False, {}, ([], None)),
        ({"absent_none": True}, True, {"e": 0}, ([], None)),
        ({"absent_none": True}, True, {}, ([], Why.ABSENT)),
        ({"absent_none": True}, True, {"e": 4}, (["door-open"], None)),
        ({"absent_none": True}, True, {"e": 0, "woes": "cat"}, ([], Why.UNMAPPED)),
    ],
)
def test_one_place_whose_absence_says_none(
    woes: dict[str, bool], union: bool, document: object, reasons: object
) -> None:
    """The other places must be there all the same."""
    words = at("status", "/woes", values={"spool": "material-empty"}, **woes)
    ways = (words, CODES) if union else (words,)
    bench = Bench((status(),), (rule("reasons", *ways, union=union),))
    bench.hear("status", document)
    assert _said(bench["reasons"]) == reasons


def test_silence_of_the_whole_message_is_not_absence() -> None:
    """A message that was never heard or is old says nothing."""
    words = at("status", "/woes", absent_none=True, values={"spool": "material-empty"})
    bench = Bench((status(),), (rule("reasons", words),))
    assert _said(bench["reasons"]) == ([], Why.NOT_HEARD)
    bench.hear("status", {})
    assert _said(bench["reasons"]) == ([], None)
    bench.wait(30_001)
    assert _said(bench["reasons"]) == ([], Why.NOT_FRESH)


SENTENCES = (
    Form("laid", "laying {layer} of {layers}", gives=(("state", "processing"), ("reasons", ()))),
    Form("laid", "all laid", gives=(("state", "idle"), ("reasons", ()))),
    Form("laid", "stuck because {why}", gives=(("state", "stopped"),)),
)
WHY_STUCK = Alternative(message="laid", part="why", values={"no stock": "material-empty"})


@pytest.mark.parametrize(
    ("said", "state", "reasons"),
    [
        ("laying 3 of 9", "processing", ([], None)),
        ("all  laid", "idle", ([], None)),
        ("stuck because no stock", "stopped", (["material-empty"], None)),
        ("stuck because cat", "stopped", ([], Why.UNMAPPED)),
        ("all laid out", Why.ABSENT, Why.ABSENT),
    ],
)
def test_a_form_gives_facts(said: str, state: object, reasons: object) -> None:
    """Which sentence it is says something; a sentence that is none of them says nothing."""
    bench = Bench((text("laid"),), (rule("reasons", WHY_STUCK),), SENTENCES)
    bench.hear("laid", said)
    assert _said(bench["state"]) == state
    assert _said(bench["reasons"]) == reasons


FAST = (Also(compile_place("/lie"), Is(("fast",))),)
WHY = at("status", "/why", also=FAST, values={"ice": "platform-temperature-low"})
AWAY = at("status", "/lie", values={"away": ()})


@pytest.mark.parametrize(
    ("ways", "document", "reasons"),
    [
        ((WHY,), {"lie": "fast", "why": "ice"}, (["platform-temperature-low"], None)),
        ((WHY,), {"lie": "away", "why": "ice"}, Why.ABSENT),
        ((WHY, AWAY), {"lie": "away", "why": "ice"}, ([], None)),
        ((WHY, AWAY), {"lie": "adrift", "why": "ice"}, ([], Why.UNMAPPED)),
        ((WHY, AWAY), {"lie": "fast", "why": "cat"}, ([], Why.UNMAPPED)),
        ((WHY, AWAY), {"why": "ice"}, Why.ABSENT),
    ],
)
def test_a_word_that_means_something_only_beside_another(
    ways: tuple[Alternative, ...], document: object, reasons: object
) -> None:
    """Where it is not meant it says nothing, and above all not that there is no reason."""
    bench = Bench((status(),), (rule("reasons", *ways),))
    bench.hear("status", document)
    assert _said(bench["reasons"]) == reasons


def test_silence_of_a_wildcard_that_says_none_by_itself() -> None:
    """As where the whole union says so."""
    snag = of("snag", wildcard=1, unless=("clear",), absent_none=True, values={"lid": "cover-open"})
    ways = rule("reasons", snag, union=True)
    bench = Bench((text("snag"),), (ways,), wildcards=frozenset({"snag"}))
    assert _said(bench["reasons"]) == ([], None)
    bench.hear("snag", "broken", part="lid")
    assert _said(bench["reasons"]) == (["cover-open"], None)
