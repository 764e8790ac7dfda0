"""Words without a mapping wait to be taught, in bounded number."""

from __future__ import annotations

from bridge.facts.surroundings import UnmappedWord
from bridge.facts.words import MOST_WORDS, Word, Words


def _met(word: str) -> UnmappedWord:
    return UnmappedWord("state", word, "phase", "bench/1/phase")


def test_a_word_keeps_its_first_and_its_last_meeting() -> None:
    """And what else was known when it was last met."""
    words = Words()
    words.add(_met("AFLOAT"), {"job": "pending"}, 10)
    words.add(_met("AFLOAT"), {"job": "processing"}, 30)
    assert words.by_fact_and_word == {
        ("state", "AFLOAT"): Word(10, 30, 2, "phase", "bench/1/phase", {"job": "processing"})
    }


def test_the_word_not_met_for_longest_makes_room() -> None:
    """A sender of ever new words fills nothing, and does not push out what is still met."""
    words = Words()
    words.add(_met("often"), {}, 0)
    for number in range(3 * MOST_WORDS):
        words.add(_met(f"once {number}"), {}, number)
        words.add(_met("often"), {}, number)
    assert len(words.by_fact_and_word) == MOST_WORDS
    assert words.by_fact_and_word["state", "often"].count == 3 * MOST_WORDS + 1
    assert ("state", "once 0") not in words.by_fact_and_word
    assert ("state", f"once {3 * MOST_WORDS - 1}") in words.by_fact_and_word
