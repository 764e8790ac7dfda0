"""Wishes that wait for the core's answer, by the token that goes with each."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from itertools import count

from bridge.engine.actions import Tell
from bridge.engine.events import Wished
from bridge.engine.wishes import Wish


class PendingWishes:
    """Hands wishes to the core and its answers to whoever wished."""

    def __init__(self, feed: Callable[[Wished], None]) -> None:
        self._feed = feed
        self._numbers = count(1)
        self._waiting: dict[str, asyncio.Future[Tell]] = {}

    async def wish(self, who: str, wish: Wish) -> Tell:
        """The answer; waits for as long as whoever asks does."""
        token = str(next(self._numbers))
        answer: asyncio.Future[Tell] = asyncio.get_running_loop().create_future()
        self._waiting[token] = answer
        try:
            self._feed(Wished(token, who, wish))
            return await answer
        finally:
            del self._waiting[token]

    def tell(self, tell: Tell) -> None:
        """An answer of the core. One that nobody waits for any more is dropped."""
        answer = self._waiting.get(tell.token)
        if answer is not None and not answer.done():
            answer.set_result(tell)

    def close(self) -> None:
        """Nothing more will be answered."""
        for token in list(self._waiting):
            self.tell(Tell(token, taken=False, kept=False, why="the daemon ended before it could"))
