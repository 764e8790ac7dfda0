"""Holding the evening: the stage, the real bridge in a process of its own, and the judging."""

from __future__ import annotations

import asyncio
import json
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from bridge.cli.evening_picture import Instant, Picture
from bridge.cli.hurried import (
    FRESH_FOR_S,
    POLLED_EVERY_S,
    READ_BACK_EVERY_S,
    SAYS_EVERY_S,
    Addresses,
    hurry,
)
from bridge.errors import LampwrightError
from bridge.simulator.brokers import Broker
from bridge.simulator.controllers import SimulatedController
from bridge.simulator.evening import (
    Mishap,
    Printers,
    controllers,
    evening,
    mishaps,
    presses,
)
from bridge.simulator.inspection import (
    Judging,
    Settling,
    Verdict,
    judge,
    judgings,
    summed_up,
)
from bridge.simulator.life import Life
from bridge.simulator.stage import Stage, StageClock, running_ms

_BRIDGE_UP_WITHIN_S: Final = 15.0
_BRIDGE_ENDS_WITHIN_S: Final = 10.0
_PAUSE_S: Final = 0.1
_LOG_LINES: Final = 12
#: From a decision to the pixels: a second, the requests of a few segments, and a busy machine.
_LIT_WITHIN_MS: Final = 1_500
#: Three failures in a row: pauses of at most 0.5, 1 and 2 s between the tries.
_TRIED_AGAIN_WITHIN_MS: Final = 3_500
SETTLING: Final = Settling(
    heard_ms=POLLED_EVERY_S * 1000 + _LIT_WITHIN_MS,
    silent_ms=FRESH_FOR_S * 1000 + _LIT_WITHIN_MS,
    mended_ms=max(READ_BACK_EVERY_S * 1000, _TRIED_AGAIN_WITHIN_MS) + _LIT_WITHIN_MS,
)


class DemoError(LampwrightError):
    """The evening could not be held; the last of the bridge's log stands below the reason."""

    def __init__(self, problem: str, log: str = "") -> None:
        super().__init__(f"{problem}\n{log}".rstrip())

    def lines(self) -> tuple[str, ...]:
        """The reason, then the log."""
        return tuple(str(self).splitlines())


def start_bridge(site: Path, summary: Path, log: Path) -> subprocess.Popen[bytes]:
    """The real bridge in a process of its own; ``summary`` is written when it ends.

    Its journal lies beside that: an evening that was played is nobody's memory.
    """
    command = [sys.executable, "-m", "bridge", "run", str(site), "--summary", str(summary)]
    command += ["--journal", str(summary.with_name("journal.db"))]
    with log.open("wb") as stream:
        return subprocess.Popen(  # noqa: S603 - the words are ours
            command, stdin=subprocess.DEVNULL, stdout=stream, stderr=stream
        )


def _end(bridge: subprocess.Popen[bytes]) -> None:
    bridge.terminate()
    try:
        bridge.wait(_BRIDGE_ENDS_WITHIN_S)
    except subprocess.TimeoutExpired:
        bridge.kill()
        bridge.wait()


@contextmanager
def _cancelled_by_signals() -> Iterator[None]:
    """So that whoever ends the demo ends all that it started."""
    loop, task = asyncio.get_running_loop(), asyncio.current_task()
    numbers = (signal.SIGTERM, signal.SIGHUP)
    for number in numbers:
        loop.add_signal_handler(number, task.cancel if task else loop.stop)
    try:
        yield
    finally:
        for number in numbers:
            loop.remove_signal_handler(number)


@dataclass(frozen=True, slots=True)
class Scenery:
    """The world that the bridge looks at."""

    printers: Printers
    boards: Mapping[str, SimulatedController]
    clock: StageClock

    @property
    def lives(self) -> dict[str, Life]:
        """What each printer truly goes through."""
        three = (self.printers.kestrel, self.printers.plover, self.printers.heron)
        return {one.name: one.life for one in three}

    def judge(self, judging: Judging) -> Verdict:
        """Look at a segment now."""
        board = self.boards[judging.segment.controller]
        return judge(judging, self.lives, board, self.clock(), running_ms())


@dataclass
class Evening:
    """One evening from curtain to curtain; afterwards ``result`` tells how it went."""

    seconds: float
    picture: Picture
    broker: Broker
    site: Path
    directory: Path
    verdicts: list[Verdict] = field(default_factory=list)
    counted: dict[str, Any] = field(default_factory=dict)

    async def hold(self) -> None:
        """All of it; raises ``DemoError`` where the bridge does not run."""
        clock = StageClock()
        boards = controllers(now_ms=running_ms())
        printers = evening(self.seconds, says_every_ms=SAYS_EVERY_S * 1000)
        stage = Stage(printers, boards, self.broker.port, clock)
        with _cancelled_by_signals():
            async with stage:
                place = self.directory / "site"
                hurry(self.site, place, Addresses(self.broker.port, stage.urls))
                bridge = start_bridge(place, self._summary, self._log)
                try:
                    await self._until_up(bridge, boards)
                    await self._play(bridge, stage, Scenery(printers, boards, clock))
                finally:
                    self.picture.close()
                    await asyncio.to_thread(_end, bridge)
        self.counted = self._read_summary(bridge.returncode)

    def result(self) -> dict[str, Any]:
        """What ``--json`` prints."""
        rows = [
            self._row(name, list(verdicts)) for name, verdicts in summed_up(self.verdicts).items()
        ]
        counts = {name: self.counted[name] for name in ("messages", "decisions", "requests")}
        ok = all(row["match"] for row in rows)
        return {"ok": ok, "broker": self.broker.name, **counts, "segments": rows}

    def _row(self, segment: str, verdicts: list[Verdict]) -> dict[str, Any]:
        decided = self.counted["segments"].get(segment, {}).get("scene")
        right = bool(verdicts) and all(one.wrong is None for one in verdicts)
        return {
            "segment": segment,
            "decided": decided,
            "shows": verdicts[-1].shows if verdicts else None,
            # How a scene answers its alarm is no scene of its own.
            "match": right and decided == verdicts[-1].wanted.partition(",")[0],
        }

    @property
    def _summary(self) -> Path:
        return self.directory / "summary.json"

    @property
    def _log(self) -> Path:
        return self.directory / "bridge.log"

    async def _until_up(
        self, bridge: subprocess.Popen[bytes], boards: Mapping[str, SimulatedController]
    ) -> None:
        """Until it spoke to every controller."""
        with suppress(TimeoutError):
            async with asyncio.timeout(_BRIDGE_UP_WITHIN_S):
                while not all(board.writes for board in boards.values()):
                    self._check(bridge)
                    await asyncio.sleep(_PAUSE_S)
                return
        quiet = ", ".join(name for name, board in boards.items() if not board.writes)
        problem = f"the bridge showed nothing on {quiet} within {_BRIDGE_UP_WITHIN_S:g} s"
        raise DemoError(problem, self._last_of_log())

    async def _play(self, bridge: subprocess.Popen[bytes], stage: Stage, scenery: Scenery) -> None:
        scenery.clock.rise()
        wrong = mishaps(self.seconds)
        befalling = asyncio.create_task(stage.befall(wrong))
        pressing = asyncio.create_task(stage.press(presses(self.seconds)))
        try:
            await self._watch(bridge, scenery, wrong)
        finally:
            befalling.cancel()
            pressing.cancel()

    async def _watch(
        self, bridge: subprocess.Popen[bytes], scenery: Scenery, wrong: list[Mishap]
    ) -> None:
        until_ms = round(self.seconds * 1000)
        waiting = judgings(scenery.lives, until_ms, SETTLING, wrong, presses(self.seconds))
        to_come = list(wrong)
        latest: dict[str, Verdict] = {}
        while (now_ms := scenery.clock()) < until_ms:
            self._check(bridge)
            boards = scenery.boards
            instant = Instant(now_ms, running_ms(), until_ms, scenery.printers, boards, latest)
            while to_come and to_come[0].at_ms <= now_ms:
                self.picture.say(instant.clock, str(to_come.pop(0)))
            while waiting and waiting[0].at_ms <= now_ms:
                verdict = scenery.judge(waiting.pop(0))
                latest[verdict.segment] = verdict
                self.verdicts.append(verdict)
                if verdict.wrong is not None:
                    words = f"{verdict.segment} shows {verdict.shows}, not {verdict.wanted}"
                    self.picture.say(instant.clock, words)
            self.picture.draw(instant)
            await asyncio.sleep(_PAUSE_S)

    def _check(self, bridge: subprocess.Popen[bytes]) -> None:
        if bridge.poll() is not None:
            problem = f"the bridge ended by itself with code {bridge.returncode}"
            raise DemoError(problem, self._last_of_log())

    def _last_of_log(self) -> str:
        lines = self._log.read_text(encoding="utf-8", errors="replace").splitlines()
        return "\n".join(lines[-_LOG_LINES:])

    def _read_summary(self, code: int | None) -> dict[str, Any]:
        try:
            counted: dict[str, Any] = json.loads(self._summary.read_bytes())
        except (OSError, ValueError) as error:
            problem = f"the bridge ended with code {code} and left no summary"
            raise DemoError(problem, self._last_of_log()) from error
        return counted
