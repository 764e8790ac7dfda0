"""A simulated controller of light strips, apart from any socket: requests in, pixels out.

The three dialects are state machines in ``bars``, ``shelves`` and ``beads``; here is what they
share: the board, the faults, and a pure ``handle``.
"""

from __future__ import annotations

import json
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass

from bridge.simulator.pixels import Board

#: Status and JSON body; no body at all where it is ``None``.
Reply = tuple[int, object]


class RefusedError(Exception):
    """A request that the controller cannot do; becomes its answer."""

    def __init__(self, status: int, why: str) -> None:
        super().__init__(why)
        self.status = status
        self.why = why


@dataclass(slots=True)
class Faults:
    """What can be wrong with a controller, each switched by hand.

    ``delay_ms`` before each answer; ``status`` instead of doing anything; ``refuses`` that many
    requests with 500; ``loses`` that many writes while saying all is well; ``hangs``: does what it
    is told and never answers; ``drops``: hangs up without doing anything; ``off``: nobody is there.
    """

    delay_ms: int = 0
    status: int | None = None
    refuses: int = 0
    loses: int = 0
    hangs: bool = False
    drops: bool = False
    off: bool = False

    def clear(self) -> None:
        """All is well again."""
        self.delay_ms, self.status, self.refuses, self.loses = 0, None, 0, 0
        self.hangs = self.drops = self.off = False


class SimulatedController(ABC):
    """Answers requests, keeps pixels, counts what it is asked."""

    def __init__(self, name: str, pixels: int, *, now_ms: int = 0) -> None:
        self.name = name
        self.board = Board(pixels, booted_ms=now_ms)
        self.faults = Faults()
        #: When each request came, for whoever holds a limit to it.
        self.asked_ms: list[int] = []
        self.writes = 0
        self.lost = 0

    def handle(
        self,
        method: str,
        path: str,
        query: Mapping[str, str],
        headers: Mapping[str, str],
        body: bytes,
        now_ms: int,
    ) -> tuple[int, bytes]:
        """Do one request: its status and its body. Delay, hanging and dropping are the caller's."""
        del headers  # none of the three looks at any
        self.asked_ms.append(now_ms)
        if self.faults.refuses:
            self.faults.refuses -= 1
            return 500, b"out of sorts"
        if self.faults.status is not None:
            return self.faults.status, b"out of sorts"
        try:
            status, answer = self._answer(method, path, query, body, now_ms)
        except RefusedError as refusal:
            status, answer = refusal.status, self._refusal(refusal.why)
        return status, b"" if answer is None else json.dumps(answer).encode()

    def reboot(self, now_ms: int) -> None:
        """Power off and on: everything is forgotten."""
        self.board.boot(now_ms)
        self._forget()

    def pixels(self, now_ms: int) -> bytes:
        """What the strip gives off at this instant, 3 bytes a pixel; dark without power."""
        return bytes(self.board.pixels * 3) if self.faults.off else self.board.frame(now_ms)

    def _keeps(self) -> bool:
        """Whether a write that was understood is also done."""
        self.writes += 1
        if not self.faults.loses:
            return True
        self.faults.loses -= 1
        self.lost += 1
        return False

    @abstractmethod
    def _answer(
        self, method: str, path: str, query: Mapping[str, str], body: bytes, now_ms: int
    ) -> Reply: ...

    @abstractmethod
    def _forget(self) -> None: ...

    @abstractmethod
    def _refusal(self, why: str) -> object: ...


def json_of(body: bytes) -> object:
    """The body as JSON, or a refusal."""
    try:
        parsed: object = json.loads(body)
    except ValueError as error:
        raise RefusedError(400, "that is no JSON") from error
    return parsed


def member(mapping: object, key: str) -> object:
    """A member of a JSON object, or a refusal."""
    if not isinstance(mapping, dict) or key not in mapping:
        raise RefusedError(400, f"{key} is missing")
    return mapping[key]


def whole(value: object, least: int, most: int, what: str) -> int:
    """A whole number in its range, or a refusal."""
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise RefusedError(422, f"{what} wants a whole number from {least} to {most}")
    return value


def whole_text(text: str | None, least: int, most: int, what: str) -> int:
    """The same, written as text."""
    if text is None or not text.isascii() or not text.isdigit():
        raise RefusedError(422, f"{what} wants a whole number from {least} to {most}")
    return whole(int(text), least, most, what)
