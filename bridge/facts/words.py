"""Words without a mapping: never healthy, kept with their circumstances, waiting to be taught."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from bridge.facts.codes import written
from bridge.facts.moment import Moment
from bridge.facts.reader import Alternative, FactRule, Scalar
from bridge.facts.stamp import Stamp
from bridge.facts.surroundings import UnmappedWord

#: A sender of ever new words must not fill the memory.
MOST_WORDS: Final = 64


@dataclass(frozen=True, slots=True)
class Word:
    """A word without a mapping: when, how often and where it was met.

    ``count`` is in messages that were read, equal ones in a row not counted. ``alternative`` is
    which of the fact's alternatives read it, from 0. ``beside`` is what else was known when it was
    last met.
    """

    first: Stamp
    last: Stamp
    count: int
    message: str
    address: str
    alternative: int
    beside: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class WordRecord:
    """A word in wall time; ``None`` where the wall clock is not known. As in ``Word`` else.

    ``word`` is as ``codes.written`` writes it: ``20`` the number, ``"20"`` the text.
    """

    fact: str
    word: str
    message: str
    address: str
    alternative: int
    first_wall_ms: int | None
    last_wall_ms: int | None
    count: int
    beside: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class WordsRecord:
    """The words of one printer, the one met last behind the others."""

    printer: str
    words: tuple[WordRecord, ...]


class Words:
    """The latest ``MOST_WORDS`` words, by fact and word."""

    __slots__ = ("by_fact_and_word",)

    def __init__(self) -> None:
        self.by_fact_and_word: dict[tuple[str, str], Word] = {}

    def add(self, met: UnmappedWord, beside: Mapping[str, str], now: Moment) -> None:
        """Keep a word that was met; the one not met for longest makes room."""
        words = self.by_fact_and_word
        last = Stamp.of(now)
        # Taken out first, so that the mapping's order is that of the last meeting.
        before = words.pop((met.fact, met.word), None)
        first, count = (last, 0) if before is None else (before.first, before.count)
        if len(words) >= MOST_WORDS:
            del words[next(iter(words))]
        words[met.fact, met.word] = Word(
            first, last, count + 1, met.message, met.address, met.alternative, beside
        )

    def records(self, now: Moment) -> tuple[WordRecord, ...]:
        """Every word in wall time."""
        return tuple(
            WordRecord(
                fact,
                word,
                each.message,
                each.address,
                each.alternative,
                each.first.wall_at(now),
                each.last.wall_at(now),
                each.count,
                each.beside,
            )
            for (fact, word), each in self.by_fact_and_word.items()
        )

    def restore(self, record: WordsRecord, rules: Mapping[str, FactRule], now: Moment) -> None:
        """Words of an earlier start, before those of this one; not what was taught meanwhile."""
        kept = self.by_fact_and_word
        restored: dict[tuple[str, str], Word] = {}
        for each in record.words:
            key = (each.fact, each.word)
            rule = rules.get(each.fact)
            if key in kept or rule is None or not _still_waits(each, rule):
                continue
            restored[key] = Word(
                Stamp(None, each.first_wall_ms).placed(now),
                Stamp(None, each.last_wall_ms).placed(now),
                each.count,
                each.message,
                each.address,
                each.alternative,
                each.beside,
            )
        room = max(0, MOST_WORDS - len(kept))
        latest = dict(list(restored.items())[-room:]) if room else {}
        self.by_fact_and_word = {**latest, **kept}


def _still_waits(word: WordRecord, rule: FactRule) -> bool:
    """Whether the fact is still read from the message, and nothing there knows the word."""
    ways = [way for way in rule.alternatives if way.message == word.message]
    return bool(ways) and not any(word.word in set(words_known(way)) for way in ways)


def words_known(way: Alternative) -> Iterator[str]:
    """Every word that an alternative knows what to do with, as ``codes.written`` writes it."""
    codes: list[Scalar] = [*way.unless, *way.no_value, *(way.values or ())]
    if way.severity is not None:
        codes += way.severity.values
    for code in codes:
        yield written(code)
        if not isinstance(code, str):
            # Where a source has only text, the code stands for the text too.
            yield written(json.dumps(code))
    for bit in way.bits or ():
        yield f"bit {bit}"
