"""What a printer truly goes through, as data over time: no clock, no speech, no settings.

A life is a row of stretches, each with a length in ms. A question about any instant has one
answer, so that the same life can be lived on real sockets and in virtual time.
"""

from __future__ import annotations

import bisect
import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final


class Doing(Enum):
    """What a printer is at; the value is for people."""

    OFF = "switched off"
    RESTING = "at rest"
    WARMING = "warming up"
    WORKING = "at work"
    HELD = "held by a person"
    SNAGGED = "at a stand"


class Snag(Enum):
    """What keeps a printer from going on."""

    SPOOL = "its spool is bare"
    LID = "its lid is open"
    FEED = "its feed is jammed"


class Closed(Enum):
    """How the last piece ended, until somebody has seen to it."""

    SOUND = "finished"
    SPOILED = "spoiled"
    CALLED_OFF = "called off"


@dataclass(frozen=True, slots=True)
class Stretch:
    """One part of a life. ``reaches`` is the share of the piece done at the end of ``WORKING``."""

    doing: Doing
    lasts_ms: int
    reaches: float = 0.0
    snag: Snag | None = None
    closed: Closed | None = None


@dataclass(frozen=True, slots=True)
class Condition:
    """How a printer truly is at one instant. Temperatures in °C, ``done`` from 0 to 1."""

    doing: Doing
    since_ms: int
    done: float
    piece: str | None
    snag: Snag | None
    closed: Closed | None
    nose: float
    bed: float
    #: How long the piece still takes if nothing comes between; ``None`` where nobody can tell.
    left_ms: int | None

    @property
    def on(self) -> bool:
        """Whether it has power."""
        return self.doing is not Doing.OFF

    def __str__(self) -> str:
        words = [self.doing.value]
        if self.doing in _WITH_A_PIECE and self.piece:
            words.append(f"on the {self.piece}, {self.done:.0%}")
        if self.snag:
            words.append(f"because {self.snag.value}")
        if self.closed:
            words.append(f"with a {self.piece or 'piece'} {self.closed.value}")
        return " ".join(words)


#: What the club builds.
PIECES: Final = ("keel block", "bow plate", "deck frame", "rudder pair", "mast step", "hatch rim")

_WITH_A_PIECE: Final = frozenset({Doing.WARMING, Doing.WORKING, Doing.HELD, Doing.SNAGGED})
_ROOM_C: Final = 21.0
_HOT_NOSE_C: Final = 214.0
_HOT_BED_C: Final = 61.0
#: How fast the parts follow: the time after which two thirds of the way are gone.
_WARMTH_MS: Final = 9_000.0


@dataclass(frozen=True, slots=True)
class _Entry:
    stretch: Stretch
    start_ms: int
    done: float
    piece: str | None
    nose: float
    bed: float


class Life:
    """A row of stretches from 0 ms on; the last one never ends."""

    def __init__(self, stretches: Sequence[Stretch], pieces: Sequence[str] = PIECES) -> None:
        if not stretches:
            raise ValueError("a life needs at least one stretch")
        self._entries = _enter(stretches, pieces)
        self._starts = [entry.start_ms for entry in self._entries]

    @property
    def stretches(self) -> tuple[tuple[int, Stretch], ...]:
        """Every stretch with the ms at which it starts."""
        return tuple((entry.start_ms, entry.stretch) for entry in self._entries)

    def at(self, now_ms: int) -> Condition:
        """How things are at this instant."""
        entry = self._entries[max(0, bisect.bisect_right(self._starts, now_ms) - 1)]
        stretch, passed = entry.stretch, max(0, now_ms - entry.start_ms)
        nose, bed = _warmth(entry, passed)
        done = _done(entry, passed)
        return Condition(
            doing=stretch.doing,
            since_ms=entry.start_ms,
            done=done,
            piece=entry.piece,
            snag=stretch.snag,
            closed=stretch.closed,
            nose=nose,
            bed=bed,
            left_ms=_left(entry, done),
        )

    def change_after(self, now_ms: int) -> int | None:
        """The start of the next stretch, or ``None``."""
        index = bisect.bisect_right(self._starts, now_ms)
        return self._starts[index] if index < len(self._starts) else None


def _enter(stretches: Sequence[Stretch], pieces: Sequence[str]) -> list[_Entry]:
    entries: list[_Entry] = []
    start, done, nose, bed, begun = 0, 0.0, _ROOM_C, _ROOM_C, -1
    had_piece = False
    for stretch in stretches:
        has_piece = stretch.doing in _WITH_A_PIECE or stretch.closed is not None
        if stretch.doing is Doing.WARMING or (has_piece and not had_piece):
            begun += 1
            done = 0.0
        if not has_piece:
            done = 0.0
        piece = pieces[begun % len(pieces)] if has_piece else None
        entry = _Entry(stretch, start, done, piece, nose, bed)
        entries.append(entry)
        done = _done(entry, stretch.lasts_ms)
        nose, bed = _warmth(entry, stretch.lasts_ms)
        start += stretch.lasts_ms
        had_piece = has_piece
    return entries


def _done(entry: _Entry, passed_ms: int) -> float:
    stretch = entry.stretch
    if stretch.doing is not Doing.WORKING:
        return 1.0 if stretch.closed is Closed.SOUND else entry.done
    share = min(1.0, passed_ms / stretch.lasts_ms) if stretch.lasts_ms else 1.0
    return entry.done + (stretch.reaches - entry.done) * share


def _left(entry: _Entry, done: float) -> int | None:
    stretch = entry.stretch
    gain = stretch.reaches - entry.done
    if stretch.doing is not Doing.WORKING or gain <= 0:
        return None
    return round((1.0 - done) / gain * stretch.lasts_ms)


def _warmth(entry: _Entry, passed_ms: int) -> tuple[float, float]:
    hot = entry.stretch.doing in _WITH_A_PIECE
    keeps = math.exp(-passed_ms / _WARMTH_MS)
    nose, bed = (_HOT_NOSE_C, _HOT_BED_C) if hot else (_ROOM_C, _ROOM_C)
    return nose + (entry.nose - nose) * keeps, bed + (entry.bed - bed) * keeps


#: How long each doing lasts in a life by chance, in seconds from and to.
_LASTS_S: Final = {
    Doing.OFF: (30, 300),
    Doing.RESTING: (20, 240),
    Doing.WARMING: (20, 60),
    Doing.WORKING: (60, 900),
    Doing.HELD: (20, 180),
    Doing.SNAGGED: (20, 240),
}
_SNAGS: Final = (Snag.SPOOL, Snag.LID, Snag.FEED)
_SNAG_WEIGHTS: Final = (6, 2, 2)
#: What may follow what, with its weight; a finished piece is no matter of chance.
_FOLLOWS: Final[dict[Doing, tuple[tuple[int, Doing, Closed | None], ...]]] = {
    Doing.OFF: ((1, Doing.RESTING, None),),
    Doing.RESTING: ((8, Doing.WARMING, None), (1, Doing.RESTING, None), (1, Doing.OFF, None)),
    Doing.WARMING: (
        (18, Doing.WORKING, None),
        (1, Doing.RESTING, Closed.CALLED_OFF),
        (1, Doing.OFF, None),
    ),
    Doing.WORKING: (
        (8, Doing.SNAGGED, None),
        (4, Doing.HELD, None),
        (2, Doing.RESTING, Closed.SPOILED),
        (2, Doing.RESTING, Closed.CALLED_OFF),
        (2, Doing.OFF, None),
    ),
    Doing.HELD: ((6, Doing.WORKING, None), (2, Doing.RESTING, Closed.CALLED_OFF)),
    Doing.SNAGGED: (
        (7, Doing.WORKING, None),
        (2, Doing.RESTING, Closed.SPOILED),
        (1, Doing.OFF, None),
    ),
}
_FINISHES: Final = 0.4


def life_by_chance(chance: random.Random, until_ms: int, pace: float = 1.0) -> Life:
    """A plausible life of at least ``until_ms``; ``pace`` 10 lives ten times as fast."""
    stretches: list[Stretch] = []
    length, done = 0, 0.0
    doing, closed = Doing.RESTING, None
    while not stretches or length < until_ms:
        stretch = _stretch_by_chance(chance, doing, closed, done, pace)
        stretches.append(stretch)
        length += stretch.lasts_ms
        done = _carried(done, stretch)
        doing, closed = _next_by_chance(chance, stretch)
    return Life(stretches)


def _stretch_by_chance(
    chance: random.Random, doing: Doing, closed: Closed | None, done: float, pace: float
) -> Stretch:
    lasts_ms = max(1, round(chance.uniform(*_LASTS_S[doing]) * 1000 / pace))
    reaches, snag = 0.0, None
    if doing is Doing.WORKING:
        reaches = 1.0 if chance.random() < _FINISHES else chance.uniform(done, 1.0)
    if doing is Doing.SNAGGED:
        snag = chance.choices(_SNAGS, _SNAG_WEIGHTS)[0]
    return Stretch(doing, lasts_ms, reaches, snag, closed)


def _carried(done: float, stretch: Stretch) -> float:
    if stretch.doing is Doing.WORKING:
        return stretch.reaches
    return done if stretch.doing in {Doing.HELD, Doing.SNAGGED} else 0.0


def _next_by_chance(chance: random.Random, stretch: Stretch) -> tuple[Doing, Closed | None]:
    if stretch.doing is Doing.WORKING and stretch.reaches >= 1.0:
        return Doing.RESTING, Closed.SOUND
    follows = _FOLLOWS[stretch.doing]
    _, doing, closed = chance.choices(follows, [weight for weight, _, _ in follows])[0]
    return doing, closed
