"""A simulated controller of light strips, apart from any socket: requests in, pixels out.

Each kind is a state machine in a module of its own (``bars``, ``shelves``, ``beads``, ``sails``,
``lamps``); here is what they share: the board, the faults, and a pure ``handle``.
"""

from __future__ import annotations

import json
from abc import ABC, abstractmethod
from collections.abc import Mapping

from bridge.simulator.faults import Faults
from bridge.simulator.pixels import Board, Glow, rounded

#: Status and JSON body; no body at all where it is ``None``.
Reply = tuple[int, object]


class RefusedError(Exception):
    """A request that the controller cannot do; becomes its answer."""

    def __init__(self, status: int, why: str) -> None:
        super().__init__(why)
        self.status = status
        self.why = why


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
        #: The instant of the request under way.
        self._now_ms = now_ms

    def handle(
        self,
        method: str,
        path: str,
        query: Mapping[str, str],
        headers: Mapping[str, str],
        body: bytes,
        now_ms: int,
    ) -> tuple[int, bytes]:
        """Do one request: its status and its body. Faults of the connection are the caller's."""
        self.asked_ms.append(now_ms)
        self._now_ms = now_ms
        if self.faults.refuses:
            self.faults.refuses -= 1
            return 500, b"out of sorts"
        if self.faults.status is not None:
            return self.faults.status, b"out of sorts"
        try:
            self._admit(headers)
            status, answer = self._answer(method, path, query, body, now_ms)
        except RefusedError as refusal:
            status, answer = refusal.status, self._refusal(refusal.why)
        return status, b"" if answer is None else json.dumps(answer).encode()

    def reboot(self, now_ms: int) -> None:
        """Power off and on: everything is forgotten."""
        self.board.boot(now_ms)
        self._forget()

    def darken(self, now_ms: int) -> None:
        """Somebody switches it off with its own button, and it says so when it is asked."""
        self._now_ms = now_ms
        self._darken()

    @property
    def tag(self) -> str:
        """Who it says it is."""
        return self.name if self.faults.identity is None else self.faults.identity

    def pixels(self, now_ms: int) -> bytes:
        """What the strip gives off at this instant, 3 bytes a pixel; dark without power."""
        return bytes(self.board.pixels * 3) if self.faults.off else self.board.frame(now_ms)

    def _keeps(self) -> bool:
        """Whether a write that was understood is also done."""
        self.writes += 1
        if self.faults.says_no:
            self.faults.says_no -= 1
            raise RefusedError(200, "not now")
        if not self.faults.loses:
            return True
        self.faults.loses -= 1
        self.lost += 1
        return False

    def _lay(self, first: int, cells: bytes, beat_ms: int = 0, ease_ms: int = 0) -> None:
        """Show this from a pixel on, beating by the clock that began with its power."""
        glow = Glow(cells, beat_ms, self.board.booted_ms)
        self.board.put(first, glow, self._now_ms, max(ease_ms, self.faults.fades_ms))

    def _kept(self, cells: bytes) -> bytes:
        """Colours as it can keep them."""
        return bytes(rounded(self._coarse(cell, 255)) for cell in cells)

    def _coarse(self, value: float, most: float) -> float:
        """A number as it can keep it, of ``most``: exact, or in as coarse steps as its faults."""
        step = self.faults.coarse * most / 255
        return value if self.faults.coarse == 1 else min(most, round(value / step) * step)

    def _admit(self, headers: Mapping[str, str]) -> None:
        """Whether whoever asks may; most ask everybody in."""
        del headers

    @abstractmethod
    def _answer(
        self, method: str, path: str, query: Mapping[str, str], body: bytes, now_ms: int
    ) -> Reply: ...

    @abstractmethod
    def _forget(self) -> None: ...

    @abstractmethod
    def _darken(self) -> None: ...

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
