"""Tables of any size over the eight columns of the measurements: 3 of words, 3 numbers, 2 truths.

``grown``: the leaves of a tree of splits, so that the rows cover everything and never overlap;
``changed``: the same with every tenth row made wider or narrower; ``scattered``: two to four
conditions a row by chance; ``layered``: exceptions above what they are exceptions from.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

from bridge.facts.reader import Interval
from bridge.facts.values import FactValue
from bridge.facts.vocabulary import GRAVITY
from bridge.rules.analysis.offers import Offer, Values
from bridge.rules.conditions import Condition, NumberIn, SymbolIs, TruthIs
from bridge.rules.table import Row, Source, Table

_HERE: Final = Source("rules.yaml", 1, 1)
WORDS: Final = tuple(f"word-{n}" for n in range(8))
SYMBOLS: Final = ("site-a", "site-b", "site-c")
NUMBERS: Final = ("site-d", "site-e", "site-f")
TRUTHS: Final = ("site-g", "site-h")
FACTS: Final = (*SYMBOLS, *NUMBERS, *TRUTHS)
MOST: Final = 1000.0
OFFER: Final = Offer(
    "eight columns",
    {
        **{name: Values(WORDS, unknown=False) for name in SYMBOLS},
        **{name: Values(numbers=(0.0, MOST), unknown=False) for name in NUMBERS},
        **{name: Values(truths=True, unknown=False) for name in TRUTHS},
    },
)


@dataclass(frozen=True, slots=True)
class Leaf:
    """A region: by column its words, its first and its last whole number, its truths."""

    words: tuple[frozenset[str], ...]
    numbers: tuple[tuple[int, int], ...]
    truths: tuple[frozenset[bool], ...]


_ROOT: Final = Leaf((frozenset(WORDS),) * 3, ((0, int(MOST)),) * 3, (frozenset({True, False}),) * 2)


def grown(rng: random.Random, rows: int) -> Table:
    """A tree of splits, always of one of the wider leaves."""
    return _table(rng, _leaves(rng, rows))


def changed(rng: random.Random, rows: int) -> Table:
    """A grown table of which every tenth row is wider or narrower than it was."""
    leaves = _leaves(rng, rows)
    for index in range(0, rows, 10):
        leaves[index] = _altered(rng, leaves[index])
    return _table(rng, leaves)


def scattered(rng: random.Random, rows: int) -> Table:
    """Two to four conditions a row, by chance."""
    return _table(rng, [_some(rng, rng.randint(2, 4)) for _ in range(rows)])


def layered(rng: random.Random, rows: int) -> Table:
    """A third of the rows are exceptions, above a grown table that covers the rest."""
    exceptions = [_some(rng, rng.randint(4, 6)) for _ in range(rows // 3)]
    return _table(rng, exceptions + _leaves(rng, rows - len(exceptions)))


KINDS: Final[dict[str, Callable[[random.Random, int], Table]]] = {
    "grown": grown,
    "changed": changed,
    "scattered": scattered,
    "layered": layered,
}


def situation(rng: random.Random) -> dict[str, FactValue]:
    """Every fact known, by chance."""
    return {
        **{name: rng.choice(WORDS) for name in SYMBOLS},
        **{name: float(rng.randint(0, int(MOST))) for name in NUMBERS},
        **{name: rng.random() < 0.5 for name in TRUTHS},
    }


def _leaves(rng: random.Random, rows: int) -> list[Leaf]:
    leaves = [_ROOT]
    while len(leaves) < rows:
        # The widest half is split, so that no branch runs away from the others.
        leaf = leaves.pop(rng.randrange((len(leaves) + 1) // 2))
        parts = _split(rng, leaf)
        leaves.extend(parts)
    rng.shuffle(leaves)
    return leaves


def _split(rng: random.Random, leaf: Leaf) -> tuple[Leaf, Leaf]:
    kinds = [("words", n) for n, words in enumerate(leaf.words) if len(words) > 1]
    kinds += [("numbers", n) for n, (first, last) in enumerate(leaf.numbers) if last > first]
    kinds += [("truths", n) for n, truths in enumerate(leaf.truths) if len(truths) > 1]
    kind, column = rng.choice(kinds)
    if kind == "numbers":
        first, last = leaf.numbers[column]
        cut = rng.randint(first, last - 1)
        return _numbers(leaf, column, (first, cut)), _numbers(leaf, column, (cut + 1, last))
    if kind == "truths":
        return _truths(leaf, column, {True}), _truths(leaf, column, {False})
    words = sorted(leaf.words[column])
    part = frozenset(rng.sample(words, rng.randint(1, len(words) - 1)))
    return _words(leaf, column, part), _words(leaf, column, leaf.words[column] - part)


def _altered(rng: random.Random, leaf: Leaf) -> Leaf:
    column = rng.randrange(3)
    if rng.random() < 0.5:
        first, last = leaf.numbers[column]
        by = rng.randint(1, 100)
        wider = (max(0, first - by), min(int(MOST), last + by))
        narrower = (first, max(first, last - by))
        return _numbers(leaf, column, rng.choice((wider, narrower)))
    words = leaf.words[column]
    added = words | {rng.choice(WORDS)}
    taken = words - {min(words)} or words
    return _words(leaf, column, rng.choice((added, taken)))


def _some(rng: random.Random, conditions: int) -> Leaf:
    leaf = _ROOT
    for column in rng.sample(range(8), conditions):
        if column < 3:
            leaf = _words(leaf, column, frozenset(rng.sample(WORDS, rng.randint(1, 3))))
        elif column < 6:
            first, last = sorted(rng.sample(range(int(MOST) + 1), 2))
            leaf = _numbers(leaf, column - 3, (first, last))
        else:
            leaf = _truths(leaf, column - 6, {rng.random() < 0.5})
    return leaf


def _words(leaf: Leaf, column: int, words: frozenset[str]) -> Leaf:
    return Leaf(_with(leaf.words, column, words), leaf.numbers, leaf.truths)


def _numbers(leaf: Leaf, column: int, ends: tuple[int, int]) -> Leaf:
    return Leaf(leaf.words, _with(leaf.numbers, column, ends), leaf.truths)


def _truths(leaf: Leaf, column: int, truths: set[bool]) -> Leaf:
    return Leaf(leaf.words, leaf.numbers, _with(leaf.truths, column, frozenset(truths)))


_Item = TypeVar("_Item")


def _with(items: tuple[_Item, ...], column: int, item: _Item) -> tuple[_Item, ...]:
    return (*items[:column], item, *items[column + 1 :])


def _table(rng: random.Random, leaves: Sequence[Leaf]) -> Table:
    rows = []
    for number, leaf in enumerate(leaves):
        says = rng.choice(GRAVITY)
        rows.append(Row(f"rule {number}", _conditions(leaf), f"{says} {number % 3}", says, _HERE))
    return Table("made", tuple(rows), Row("otherwise", (), "not-known", "unknown", _HERE))


def _conditions(leaf: Leaf) -> tuple[Condition, ...]:
    found: list[Condition] = []
    for name, words in zip(SYMBOLS, leaf.words, strict=True):
        if len(words) < len(WORDS):
            found.append(SymbolIs(name, words))
    for name, (first, last) in zip(NUMBERS, leaf.numbers, strict=True):
        if (first, last) != (0, int(MOST)):
            found.append(NumberIn(name, _interval(first, last), f"{first} to {last}"))
    for name, truths in zip(TRUTHS, leaf.truths, strict=True):
        if len(truths) == 1:
            found.append(TruthIs(name, next(iter(truths))))
    return tuple(found)


def _interval(first: int, last: int) -> Interval:
    """Whole numbers from first to last; the next row begins where this one ends."""
    least = None if first == 0 else float(first)
    most = None if last == int(MOST) else float(last + 1)
    return Interval(least, most, most_included=False)
