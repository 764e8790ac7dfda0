"""When a segment can be judged, and judging it: the truth of the printers against raw pixels.

Right after something happened a light may still be on its way, so each span of one scene is judged
once the light had time to settle, and again just before it ends.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bridge.simulator.controllers import SimulatedController
from bridge.simulator.evening import Mishap
from bridge.simulator.life import Life
from bridge.simulator.reference import (
    SEGMENTS,
    Press,
    Segment,
    differs,
    glance_over,
    recognised,
    scenes_over,
)

#: How long before the end of a span it is judged for the last time.
_MARGIN_MS: Final = 200
#: Two looks at one span are at least this far apart.
_APART_MS: Final = 1_000


@dataclass(frozen=True, slots=True)
class Settling:
    """How long a light may take, in ms.

    ``heard`` from what happened to the light; ``silent`` from a printer that is gone without a
    word to the light that admits it; ``mended`` from a controller's mishap to all being well again.
    """

    heard_ms: int
    silent_ms: int
    mended_ms: int


@dataclass(frozen=True, slots=True)
class Judging:
    """A segment to be judged at an instant, and how far back what it tells may date from."""

    at_ms: int
    segment: Segment
    scene: str
    since_ms: int


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was wanted, what was seen, and what is wrong with it (``None``: nothing)."""

    at_ms: int
    segment: str
    wanted: str
    shows: str
    wrong: str | None


def judgings(
    lives: Mapping[str, Life],
    until_ms: int,
    settling: Settling,
    mishaps: Iterable[Mishap],
    presses: Sequence[Press] = (),
) -> list[Judging]:
    """Everything to be judged up to ``until_ms``, in order of time."""
    blind = [(one.controller, one.at_ms, one.at_ms + settling.mended_ms) for one in mishaps]
    found = [
        one
        for segment in SEGMENTS
        for one in _of_segment(segment, _spans(segment, lives, until_ms, presses), settling)
        if not any(
            segment.controller == controller and begin <= one.at_ms < end
            for controller, begin, end in blind
        )
    ]
    return sorted(found, key=lambda one: (one.at_ms, one.segment.name))


def _of_segment(
    segment: Segment, spans: Iterable[tuple[int, int, str]], settling: Settling
) -> Iterator[Judging]:
    for begin_ms, end_ms, scene in spans:
        lost = scene == "not-known"
        settled_ms = begin_ms + (settling.silent_ms if lost else settling.heard_ms)
        last_ms = end_ms - _MARGIN_MS
        for at_ms in (settled_ms, last_ms):
            if at_ms == settled_ms and last_ms - settled_ms < _APART_MS:
                continue
            if at_ms >= settled_ms:
                since_ms = max(begin_ms, at_ms - settling.heard_ms)
                yield Judging(at_ms, segment, scene, since_ms)


def _spans(
    segment: Segment, lives: Mapping[str, Life], until_ms: int, presses: Sequence[Press]
) -> Iterator[tuple[int, int, str]]:
    """From, to and scene; neighbours of one scene are one span."""
    several = [
        scenes_over(name, lives[name], presses, until_ms)
        for name in ([segment.printer] if segment.printer else segment.glances)
    ]
    spans = (
        glance_over(several) if segment.glances else next(iter(several), [(0, segment.rests_in)])
    )
    ends = [*(start_ms for start_ms, _ in spans[1:]), until_ms]
    for (start_ms, scene), end_ms in zip(spans, ends, strict=True):
        yield start_ms, end_ms, scene


def judge(
    judging: Judging,
    lives: Mapping[str, Life],
    controller: SimulatedController,
    now_ms: int,
    board_ms: int,
) -> Verdict:
    """Look at the pixels; ``now_ms`` is the printers' clock and ``board_ms`` the controller's."""
    segment = judging.segment
    start, end = segment.first * 3, (segment.first + segment.length) * 3

    def shows(at_ms: int) -> bytes:
        return controller.pixels(at_ms)[start:end]

    done = (0.0, 0.0)
    if segment.printer is not None:
        life = lives[segment.printer]
        done = (life.at(judging.since_ms).done, life.at(max(judging.at_ms, now_ms)).done)
    wrong = differs(judging.scene, shows, board_ms, done)
    seen = judging.scene if wrong is None else recognised(shows, board_ms)
    return Verdict(judging.at_ms, segment.name, judging.scene, seen, wrong)


def summed_up(verdicts: Sequence[Verdict]) -> dict[str, tuple[Verdict, ...]]:
    """The verdicts of every segment, a segment that was never judged included."""
    return {
        segment.name: tuple(one for one in verdicts if one.segment == segment.name)
        for segment in SEGMENTS
    }
