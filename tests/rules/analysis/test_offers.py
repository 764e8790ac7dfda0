"""What readers can say, read off their shapes."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from bridge.facts.reader import Alternative, FactRule, Form, Is, Message, Reader, Unit
from bridge.rules.alarm import Alarm, Prompt
from bridge.rules.alarm_states import ALARM_SYMBOLS
from bridge.rules.analysis.offers import (
    Offer,
    Values,
    any_offer,
    every_reason,
    offer_of,
    other_keyword,
)
from bridge.rules.conditions import SymbolIs
from bridge.rules.prompt_states import PROMPT_SYMBOLS
from bridge.settings.load import load_site
from tests.rules.made_up import HERE

CLUB = load_site(Path(__file__).parents[3] / "config")


#: How long something has been so is known as long as it is.
TIMES = frozenset({"time-in-state", "time-unchanged"})


def offer(
    *rules: FactRule, required: tuple[str, ...] = ("page",), forms: tuple[Form, ...] = ()
) -> Offer:
    """The offer of a made-up reader."""
    return offer_of(made_up(*rules, required=required, forms=forms))


def made_up(
    *rules: FactRule, required: tuple[str, ...] = ("page",), forms: tuple[Form, ...] = ()
) -> Reader:
    """A reader with the messages ``page`` and ``side``."""
    messages = {
        name: Message(name, "text", 1000, required=name in required) for name in ("page", "side")
    }
    return Reader("made up", messages, {rule.fact: rule for rule in rules}, forms)


def rule(fact: str, *alternatives: Alternative, union: bool = False) -> FactRule:
    """A fact's rule."""
    return FactRule(fact, alternatives, union=union)


WORDS = Alternative("page", values={"1": "idle", "2": "stopped", "3": "unknown"})
CASES: list[tuple[str, FactRule, Values]] = [
    ("the words of a table", rule("state", WORDS), Values(("idle", "stopped"))),
    (
        "what an alternative gives, beside the words of another",
        rule("state", Alternative("page", is_=Is(("x",)), gives="stopped"), WORDS),
        Values(("stopped", "idle")),
    ),
    (
        "the vocabulary, where nothing is mapped",
        rule("state", Alternative("page")),
        Values(("idle", "processing", "stopped")),
    ),
    (
        "a job that the printer says it has not",
        rule("job", Alternative("page", values={"F": "completed"}, no_value=("",))),
        Values(("completed", "no-value")),
    ),
    ("a share", rule("progress", Alternative("page")), Values(numbers=(0.0, 1.0))),
    (
        "the narrower limit",
        rule("layer", Alternative("page", most=40.0), Alternative("side", most=90.0)),
        Values(numbers=(0.0, 90.0)),
    ),
    ("a given number", rule("layers", Alternative("page", gives=7)), Values(numbers=(7.0, 7.0))),
    ("any text", rule("job-name", Alternative("page")), Values(any_text=True)),
    (
        "whatever a site makes of its own fact",
        rule("site-lid", Alternative("page")),
        Values(any_text=True, numbers=(-math.inf, math.inf), truths=True),
    ),
    ("a truth of a site", rule("site-lid", Alternative("page", gives=True)), Values(truths=True)),
    (
        "the keywords of words, bits and what is given",
        rule(
            "reasons",
            Alternative("page", values={"a": ("door-open-error",), "b": ()}),
            Alternative("page", bits={0: ("fan-failure",)}),
            Alternative("page", is_=Is(("x",)), gives=("material-low",)),
            union=True,
        ),
        Values(
            reasons=frozenset(
                reason
                for word in ("door-open-error", "fan-failure", "material-low")
                for keyword, _, _ in [word.partition("-error")]
                for reason in every_reason(keyword)
                if reason.said == word
            )
        ),
    ),
    ("keywords as they come", rule("reasons", Alternative("page")), Values(any_reason=True)),
]  # fmt: skip


@pytest.mark.parametrize(("given", "values"), [c[1:] for c in CASES], ids=[c[0] for c in CASES])
def test_a_fact_can_be_what_its_alternatives_give(given: FactRule, values: Values) -> None:
    """All of them together, and unknown."""
    assert offer(given).values[given.fact] == values


def test_a_unit_does_not_widen_what_a_fact_can_be() -> None:
    """Limits are in the fact's own unit."""
    given = rule("extruder-temperature", Alternative("page", unit=Unit("0.1 °C", 0.1), least=0.0))
    assert offer(given).values["extruder-temperature"].numbers == (0.0, 2000.0)


def test_parts_of_forms_count() -> None:
    """A part that bears a fact's name gives the fact."""
    made = offer(rule("state", WORDS), forms=(Form("side", "{layer} of {layers}"),))
    assert made.facts - TIMES == {"state", "layer", "layers", "link", "stale", "own reasons"}


def test_what_is_bound_to_the_required_message_is_lost_with_it() -> None:
    """By the first alternative, by any part of a union of reasons, by a ratio's parts."""
    made = offer(
        rule("state", WORDS, Alternative("side")),
        rule("job", Alternative("side"), Alternative("page")),
        rule("layer", Alternative("page")),
        rule("layers", Alternative("side")),
        rule("progress", Alternative(ratio=("layer", "layers"))),
        rule("reasons", Alternative("side"), Alternative("page"), union=True),
    )
    heard, late = made.worlds
    assert dict(heard.fixed) == {"stale": False}
    assert dict(late.fixed) == {"stale": True}
    assert late.lost == {"state", "layer", "progress", "reasons", "link", *TIMES}
    assert dict(heard.unsaid) == dict(late.unsaid) == {"link": "down"}


def test_with_several_required_messages_any_of_them_may_be_late() -> None:
    """Each is a world of its own, and the link stays what the others make it."""
    made = offer(rule("state", WORDS), rule("job", Alternative("side")), required=("page", "side"))
    lost = [world.lost - {"reasons", *TIMES} for world in made.worlds]
    assert lost == [set(), {"state"}, {"job"}]
    assert made.worlds[1].lost & TIMES == {"time-in-state"}


def test_a_link_of_its_own_can_be_down_and_then_nothing_is_known() -> None:
    """Heron's tether tells; without one the link is never down."""
    heron = offer_of(CLUB.printers["heron"].reader)
    *_, cut_off = heron.worlds
    assert dict(cut_off.fixed) == {"link": "down"}
    assert {"state", "job", "progress"} <= cut_off.lost
    assert offer_of(CLUB.printers["plover"].reader).values["link"] == Values(("up",))


def test_a_reader_for_all_readers_gives_whatever_a_fact_can_be() -> None:
    """With the link and staleness, which every printer has."""
    made = any_offer(["state", "progress", "reasons", "site-lid", "job-name"])
    assert made.values["state"].symbols == ("idle", "processing", "stopped")
    assert made.values["progress"].numbers == (0.0, 1.0)
    assert made.values["reasons"].any_reason
    assert made.values["site-lid"].truths
    assert made.values["job-name"].any_text
    assert {"link", "stale"} <= made.facts


def test_a_keyword_comes_bare_and_with_each_suffix() -> None:
    """As devices say them; and there is always one that nobody named."""
    assert [each.said for each in every_reason("door-open")] == [
        "door-open",
        "door-open-report",
        "door-open-warning",
        "door-open-error",
    ]
    assert other_keyword(["door-open"]) == "other"
    assert other_keyword(["other"]) != "other"


JOB_WORDS = Alternative("page", values={"W": "processing", "F": "completed", "X": "canceled"})


def test_what_the_bridge_remembers_follows_from_what_is_said() -> None:
    """An outcome only where there is a word for it; no word for a job, no last one."""
    progress = rule("progress", Alternative("page"))
    made = offer(rule("state", WORDS), rule("job", JOB_WORDS), progress)
    assert made.values["last-job"] == Values(("completed", "canceled", "no-value"), unknown=False)
    assert made.values["time-in-state"].numbers == (0.0, math.inf)
    assert made.values["time-unchanged"].unknown
    bare = offer(rule("layer", Alternative("page")))
    assert not {"last-job", *TIMES} & set(bare.values)


def test_faults_that_the_bridge_finds_are_reasons_too() -> None:
    """Of a reader that has none nobody waits for them to be complete."""
    made = offer(rule("state", WORDS), rule("progress", Alternative("page")))
    said = {reason.said for reason in made.values["reasons"].reasons}
    assert said == {"bridge-job-vanished", "bridge-stalled"}
    assert "reasons" in made.uncounted
    assert "reasons" not in made.facts
    assert all("reasons" in world.lost for world in made.worlds)
    heard = offer(rule("state", WORDS), rule("reasons", Alternative("side")))
    assert "reasons" in heard.facts
    assert "reasons" not in heard.worlds[0].lost


HALTED = SymbolIs("state", frozenset({"stopped"}))
NOT_KNOWN = SymbolIs("state", frozenset(), unknown=True)
RAISED = (
    Alarm("halt", (HALTED,), 0, 0, "A", "low", "", "", None, HERE),
    Alarm("lost", (NOT_KNOWN,), 0, 0, "R", "low", "", "", None, HERE),
    Prompt("come", (SymbolIs("last-job", frozenset({"completed"})),), None, "", HERE),
)


def test_alarms_have_the_words_that_their_sequence_can_reach() -> None:
    """And are unknown where something that raises them can be."""
    words = Alternative("page", values={"F": "completed"})
    made = offer_of(made_up(rule("state", WORDS), rule("job", words)), RAISED)
    assert "latched" not in made.values["alarm halt"].symbols
    assert "latched" in made.values["alarm lost"].symbols
    assert made.values["prompt come"] == Values(("normal", "waiting"), unknown=False)
    assert made.values["alarm halt"].unknown
    assert not made.values["alarm lost"].unknown


def test_any_reader_has_any_alarm_and_any_time() -> None:
    """Whatever they can be."""
    made = any_offer(["alarm x", "prompt y", "local-time"])
    assert made.values["alarm x"].symbols == ALARM_SYMBOLS
    assert made.values["prompt y"].symbols == PROMPT_SYMBOLS
    assert made.values["local-time"].numbers is not None
    assert "local-time" not in made.facts
