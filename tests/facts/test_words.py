"""Words without a mapping wait to be taught, in bounded number, across starts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.facts.moment import Moment
from bridge.facts.places import compile_place
from bridge.facts.reader import Alternative, FactRule, Graded, Scalar
from bridge.facts.stamp import Stamp
from bridge.facts.surroundings import UnmappedWord
from bridge.facts.values import Severity
from bridge.facts.words import MOST_WORDS, Word, WordRecord, Words, WordsRecord, words_known

PHASE = Alternative("phase", values={"WARM": "processing"})
RULES = {"state": FactRule("state", (PHASE,))}
#: Noon of a first of May, in UTC.
NOON = 1_777_636_800_000


def _met(word: str) -> UnmappedWord:
    return UnmappedWord("state", word, "phase", "bench/1/phase", 1)


def _record(word: str, message: str = "phase", fact: str = "state") -> WordRecord:
    return WordRecord(fact, word, message, "bench/1/phase", 0, NOON, NOON + 50, 7, {"job": "x"})


def test_a_word_keeps_its_first_and_its_last_meeting() -> None:
    """And what else was known when it was last met."""
    words = Words()
    words.add(_met("AFLOAT"), {"job": "pending"}, Moment(10))
    words.add(_met("AFLOAT"), {"job": "processing"}, Moment(30))
    kept = Word(Stamp(10), Stamp(30), 2, "phase", "bench/1/phase", 1, {"job": "processing"})
    assert words.by_fact_and_word == {("state", "AFLOAT"): kept}


def test_the_word_not_met_for_longest_makes_room() -> None:
    """A sender of ever new words fills nothing, and does not push out what is still met."""
    words = Words()
    words.add(_met("often"), {}, Moment(0))
    for number in range(3 * MOST_WORDS):
        words.add(_met(f"once {number}"), {}, Moment(number))
        words.add(_met("often"), {}, Moment(number))
    assert len(words.by_fact_and_word) == MOST_WORDS
    assert words.by_fact_and_word["state", "often"].count == 3 * MOST_WORDS + 1
    assert ("state", "once 0") not in words.by_fact_and_word
    assert ("state", f"once {3 * MOST_WORDS - 1}") in words.by_fact_and_word


@pytest.mark.parametrize(
    ("met", "asked", "wall_ms"),
    [
        (Moment(10, NOON), Moment(90, NOON + 80), NOON),
        # Not known when it was met, known since.
        (Moment(10), Moment(90, NOON), NOON - 80),
        (Moment(10), Moment(90), None),
    ],
)
def test_a_record_is_in_wall_time(met: Moment, asked: Moment, wall_ms: int | None) -> None:
    """As it was then, or worked out as soon as the wall clock is known."""
    words = Words()
    words.add(_met("AFLOAT"), {"job": "pending"}, met)
    (record,) = words.records(asked)
    assert (record.fact, record.word, record.count) == ("state", "AFLOAT", 1)
    assert (record.first_wall_ms, record.last_wall_ms) == (wall_ms, wall_ms)
    assert (record.alternative, record.beside) == (1, {"job": "pending"})


def test_words_come_back_after_a_start() -> None:
    """With their first meeting and their count; they go on from there."""
    before = Words()
    before.add(_met("AFLOAT"), {"job": "pending"}, Moment(10, NOON))
    record = WordsRecord("kestrel", before.records(Moment(10, NOON)))
    words, now = Words(), Moment(5, NOON + 60_000)
    words.restore(record, RULES, now)
    words.add(_met("AFLOAT"), {"job": "processing"}, now)
    (again,) = words.records(now)
    assert (again.first_wall_ms, again.last_wall_ms, again.count) == (NOON, NOON + 60_000, 2)


def test_a_restored_word_is_older_than_those_of_this_start() -> None:
    """And what was met already is not overwritten."""
    words, now = Words(), Moment(5, NOON)
    words.add(_met("NEW"), {}, now)
    words.add(_met("BOTH"), {}, now)
    words.restore(WordsRecord("kestrel", (_record("OLD"), _record("BOTH"))), RULES, now)
    assert [word for _, word in words.by_fact_and_word] == ["OLD", "NEW", "BOTH"]
    assert words.by_fact_and_word["state", "BOTH"].count == 1


def test_no_more_are_restored_than_there_is_room_for() -> None:
    """Those that were met last; a record of an older version may hold more."""
    words = Words()
    many = tuple(_record(f"w{number}") for number in range(MOST_WORDS + 3))
    words.add(_met("NEW"), {}, Moment(0))
    words.restore(WordsRecord("kestrel", many), RULES, Moment(0))
    assert len(words.by_fact_and_word) == MOST_WORDS
    assert ("state", "w3") not in words.by_fact_and_word
    assert ("state", f"w{MOST_WORDS + 2}") in words.by_fact_and_word


@pytest.mark.parametrize(
    "record",
    [
        pytest.param(_record("WARM"), id="it was taught"),
        pytest.param(_record("WARM", fact="job"), id="the fact is not read any more"),
        pytest.param(_record("COLD", message="status"), id="nor the message"),
    ],
)
def test_a_word_that_waits_no_more_is_not_restored(record: WordRecord) -> None:
    """The reader may be another than when the word was met."""
    words = Words()
    words.restore(WordsRecord("kestrel", (record,)), RULES, Moment(0))
    assert words.by_fact_and_word == {}


GRADED = Graded(compile_place("/how"), {"mild": Severity.WARNING})


@pytest.mark.parametrize(
    ("way", "known", "not_known"),
    [
        (PHASE, ["WARM"], ["warm", "COLD"]),
        (replace(PHASE, values={20: "idle"}), ["20", '"20"'], ["21"]),
        (replace(PHASE, values={"20": "idle"}), ['"20"'], ["20"]),
        (replace(PHASE, values={True: "idle"}), ["true", '"true"'], ["1"]),
        (replace(PHASE, unless=("",), no_value=(None,)), ['""', "null", "WARM"], ["~"]),
        (Alternative("page", bits={3: ("door-open",)}), ["bit 3"], ["bit 4", "3"]),
        (replace(PHASE, severity=GRADED), ["mild", "WARM"], ["grave"]),
    ],
)
def test_what_an_alternative_knows(
    way: Alternative, known: list[Scalar], not_known: list[Scalar]
) -> None:
    """Its words, codes and bits, and those that it passes over."""
    words = set(words_known(way))
    assert words >= set(known)
    assert words.isdisjoint(not_known)
