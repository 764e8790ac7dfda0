"""A thread of its own for work that waits for a disk."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from queue import SimpleQueue
from typing import TypeAlias, TypeVar

T = TypeVar("T")
_Job: TypeAlias = Callable[[], None]


class DiskThread:
    """Does one piece of work after the other, away from the loop.

    Not an executor of the standard library: it would be waited for when the process ends, and a
    disk that hangs would keep it from ending.
    """

    def __init__(self, name: str) -> None:
        self._jobs: SimpleQueue[_Job | None] = SimpleQueue()
        self._thread = threading.Thread(target=self._work, name=name, daemon=True)
        self._thread.start()

    def do(self, work: Callable[[], T]) -> asyncio.Future[T]:
        """The work's result, or its error, on the running loop."""
        loop = asyncio.get_running_loop()
        future: asyncio.Future[T] = loop.create_future()

        def tell(how: Callable[[], None]) -> None:
            # A closed loop: nobody waits any more.
            with suppress(RuntimeError):
                loop.call_soon_threadsafe(lambda: None if future.done() else how())

        def job() -> None:
            try:
                result = work()
            except Exception as error:  # noqa: BLE001 - whatever it is, it belongs to who waits
                tell(partial(future.set_exception, error))
            else:
                tell(partial(future.set_result, result))

        self._jobs.put(job)
        return future

    def end(self) -> None:
        """No more work; what is being done is not waited for."""
        self._jobs.put(None)

    def _work(self) -> None:
        while (job := self._jobs.get()) is not None:
            job()
