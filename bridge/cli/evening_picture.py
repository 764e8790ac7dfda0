"""The evening as it is seen: drawn in place on a terminal, else one line for each thing."""

from __future__ import annotations

import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol, TextIO

from bridge.scenes.terminal import Colours, draw
from bridge.simulator.controllers import SimulatedController
from bridge.simulator.evening import Printers
from bridge.simulator.inspection import Verdict
from bridge.simulator.life import Condition
from bridge.simulator.reference import SEGMENTS

#: The hours that the evening stands for: from half past seven on, three hours.
_BEGINS_MIN = 19 * 60 + 30
_LASTS_MIN = 180
_ROW_WIDTH = 60
_NAME_WIDTH = 12
_EVENTS = 4
_PENDING, _GOOD, _BAD = " ", "✓", "✗"


@dataclass(frozen=True, slots=True)
class Instant:
    """One moment of the evening; ``now_ms`` by the curtain, ``board_ms`` by the controllers."""

    now_ms: int
    board_ms: int
    until_ms: int
    printers: Printers
    controllers: Mapping[str, SimulatedController]
    latest: Mapping[str, Verdict]

    @property
    def clock(self) -> str:
        """What the club's clock says."""
        minutes = _BEGINS_MIN + _LASTS_MIN * min(self.now_ms, self.until_ms) // self.until_ms
        return f"{minutes // 60}:{minutes % 60:02}"

    def conditions(self) -> dict[str, Condition]:
        """How each printer is."""
        three = (self.printers.kestrel, self.printers.plover, self.printers.heron)
        return {printer.name: printer.life.at(self.now_ms) for printer in three}

    def frame(self, segment: str) -> bytes:
        """What a segment gives off."""
        one = next(one for one in SEGMENTS if one.name == segment)
        run = self.controllers[one.controller].pixels(self.board_ms)
        return run[one.first * 3 : (one.first + one.length) * 3]


class Picture(Protocol):
    """Where the evening is shown."""

    def say(self, clock: str, words: str) -> None:
        """Something happened."""

    def draw(self, instant: Instant) -> None:
        """How everything is."""

    def close(self) -> None:
        """The evening is over."""


class Silence:
    """Shows nothing: for output that a program reads."""

    def say(self, clock: str, words: str) -> None:
        """Nothing."""

    def draw(self, instant: Instant) -> None:
        """Nothing."""

    def close(self) -> None:
        """Nothing."""


class Lines:
    """One line for each thing, for a pipe or a plain terminal."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._told: dict[str, tuple[object, ...]] = {}

    def say(self, clock: str, words: str) -> None:
        """A line."""
        print(f"{clock}  {words}", file=self._stream, flush=True)

    def draw(self, instant: Instant) -> None:
        """A line for each printer that is at something else now."""
        for name, now in instant.conditions().items():
            told = (now.doing, now.snag, now.closed, now.since_ms)
            if self._told.get(name) != told:
                self._told[name] = told
                self.say(instant.clock, f"{name} is {now}")

    def close(self) -> None:
        """Nothing to put back."""


class InPlace:
    """All of it, redrawn where it stands."""

    def __init__(self, stream: TextIO, colours: Colours) -> None:
        self._stream = stream
        self._colours = colours
        self._events: list[str] = []
        self._height = 0

    def say(self, clock: str, words: str) -> None:
        """The last few stand below the picture."""
        self._events = [*self._events[1 - _EVENTS :], f"{clock}  {words}"]

    def draw(self, instant: Instant) -> None:
        """Over the picture before."""
        columns = shutil.get_terminal_size().columns
        lines = self._lines(instant, max(40, columns))
        up = f"\x1b[{self._height}A" if self._height else ""
        self._stream.write(up + "".join(f"\x1b[2K{line}\n" for line in lines) + "\x1b[J")
        self._stream.flush()
        self._height = len(lines)

    def close(self) -> None:
        """The last picture stays; whatever comes after stands below it."""
        self._stream.write("\x1b[0m\n")
        self._stream.flush()

    def _lines(self, instant: Instant, columns: int) -> list[str]:
        width = min(_ROW_WIDTH, columns - _NAME_WIDTH - 4)
        done = min(width, width * instant.now_ms // instant.until_ms)
        title = f"An evening at the club on Alder Lane, {instant.clock}"
        conditions = instant.conditions()
        return [
            title[: columns - 1],
            f"{'':<{_NAME_WIDTH}}  {'━' * done}{'─' * (width - done)}",
            "",
            *(f"{name:<{_NAME_WIDTH}}  {now}"[: columns - 1] for name, now in conditions.items()),
            "",
            *(self._row(instant, segment.name, width) for segment in SEGMENTS),
            "",
            *(event[: columns - 1] for event in self._events),
        ]

    def _row(self, instant: Instant, segment: str, width: int) -> str:
        row = draw(instant.frame(segment), colours=self._colours, width=width)
        return f"{segment:<{_NAME_WIDTH}}  {row} {mark(instant.latest.get(segment))}"


def mark(verdict: Verdict | None) -> str:
    """Right, wrong, or not looked at yet."""
    if verdict is None:
        return _PENDING
    return _GOOD if verdict.wrong is None else _BAD


def summary_lines(
    rows: Sequence[Mapping[str, object]], verdicts: Mapping[str, Sequence[Verdict]]
) -> list[str]:
    """The end of the evening: per segment what was decided, what is shown, what was wrong when."""
    lines = [f"{'segment':<{_NAME_WIDTH}}  {'decided':<10}  {'its pixels show':<16}  looks"]
    for row in rows:
        seen = verdicts[str(row["segment"])]
        good = sum(one.wrong is None for one in seen)
        sign = _GOOD if row["match"] else _BAD
        lines.append(
            f"{row['segment']!s:<{_NAME_WIDTH}}  {row['decided']!s:<10}  {row['shows']!s:<16}  "
            f"{good} of {len(seen)} right {sign}"
        )
        lines += [
            f"  after {one.at_ms / 1000:.1f} s it showed {one.shows}, not {one.wanted}: {one.wrong}"
            for one in seen
            if one.wrong is not None
        ]
    return lines
