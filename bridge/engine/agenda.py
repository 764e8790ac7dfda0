"""What is due when: a heap of deadlines in which an entry may be superseded."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from heapq import heappop, heappush
from typing import Literal, TypeAlias, get_args

#: What a deadline is about. At the same instant they are settled in this order.
Matter: TypeAlias = Literal[
    "facts", "memory", "mind", "hold", "turn", "day", "keeping", "poll", "ask", "lights"
]
_ORDER: dict[Matter, int] = {matter: n for n, matter in enumerate(get_args(Matter))}


class Agenda:
    """Deadlines by matter and name, at most one each, in milliseconds."""

    def __init__(self) -> None:
        self._due: dict[tuple[Matter, str], int] = {}
        self._heap: list[tuple[int, int, str, Matter]] = []

    def set(self, matter: Matter, name: str, due_ms: int | None) -> None:
        """The deadline is now this one, or none."""
        key = (matter, name)
        if due_ms is None:
            self._due.pop(key, None)
        elif self._due.get(key) != due_ms:
            self._due[key] = due_ms
            heappush(self._heap, (due_ms, _ORDER[matter], name, matter))

    def not_after(self, matter: Matter, name: str, due_ms: int | None) -> None:
        """The deadline may come no later than this; an earlier one stays.

        For deadlines that are renewed with every message: waking once too often is cheaper than
        an entry in the heap for each message.
        """
        if due_ms is not None:
            known = self._due.get((matter, name))
            if known is None or known > due_ms:
                self.set(matter, name, due_ms)

    def keep_only(self, matters: Collection[Matter]) -> None:
        """Every other deadline is void."""
        self._due = {key: due for key, due in self._due.items() if key[0] in matters}

    def next_ms(self) -> int | None:
        """The earliest deadline."""
        heap = self._heap
        while heap:
            due_ms, _, name, matter = heap[0]
            if self._due.get((matter, name)) == due_ms:
                return due_ms
            heappop(heap)
        return None

    def pop_due(self, now_ms: int) -> Iterator[tuple[int, Matter, str]]:
        """Take the deadlines that are due, in due order; new ones that are due are taken too."""
        while (due_ms := self.next_ms()) is not None and due_ms <= now_ms:
            _, _, name, matter = heappop(self._heap)
            del self._due[matter, name]
            yield due_ms, matter, name
