"""Words without a mapping: never healthy, kept with their circumstances, waiting to be taught."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bridge.facts.surroundings import UnmappedWord

#: A sender of ever new words must not fill the memory.
MOST_WORDS: Final = 64


@dataclass(frozen=True, slots=True)
class Word:
    """A word without a mapping: when (monotonic ms), how often and where it was met.

    ``count`` is in messages that were read, equal ones in a row not counted; ``beside`` is what
    ``state`` and ``job`` were when it was last met.
    """

    first_ms: int
    last_ms: int
    count: int
    message: str
    address: str
    beside: Mapping[str, str]


class Words:
    """The latest ``MOST_WORDS`` words, by fact and word."""

    __slots__ = ("by_fact_and_word",)

    def __init__(self) -> None:
        self.by_fact_and_word: dict[tuple[str, str], Word] = {}

    def add(self, met: UnmappedWord, beside: Mapping[str, str], now_ms: int) -> None:
        """Keep a word that was met; the one not met for longest makes room."""
        words = self.by_fact_and_word
        # Taken out first, so that the mapping's order is that of the last meeting.
        before = words.pop((met.fact, met.word), None)
        first_ms, count = (now_ms, 0) if before is None else (before.first_ms, before.count)
        if len(words) >= MOST_WORDS:
            del words[next(iter(words))]
        words[met.fact, met.word] = Word(
            first_ms, now_ms, count + 1, met.message, met.address, beside
        )
