"""A thread for what waits for a disk."""

from __future__ import annotations

import asyncio
import subprocess
import sys
import threading

import pytest

from bridge.service.journal_thread import DiskThread

#: The disk hangs for good; the process must end all the same.
_HANGS = """
import asyncio, threading
from bridge.service.journal_thread import DiskThread
async def main():
    DiskThread("journal").do(threading.Event().wait)
    await asyncio.sleep(0)
asyncio.run(main())
"""


@pytest.mark.asyncio
async def test_work_is_done_in_order_away_from_the_loop() -> None:
    """One after the other, on one thread that is not the loop's."""
    thread = DiskThread("journal")
    seen: list[int] = []

    def work(number: int) -> str:
        seen.append(number)
        return threading.current_thread().name

    names = await asyncio.gather(*(thread.do(lambda n=n: work(n)) for n in range(20)))  # type: ignore[misc]
    assert seen == list(range(20))
    assert set(names) == {"journal"}
    thread.end()


@pytest.mark.asyncio
async def test_an_error_reaches_who_waits_and_the_thread_goes_on() -> None:
    """As if it had been called."""
    thread = DiskThread("journal")
    with pytest.raises(ZeroDivisionError):
        await thread.do(lambda: 1 / 0)
    assert await thread.do(lambda: 7) == 7
    thread.end()


@pytest.mark.asyncio
async def test_who_no_longer_waits_is_left_alone() -> None:
    """Its result comes to nobody, without a word."""
    thread, gate = DiskThread("journal"), threading.Event()
    future = thread.do(gate.wait)
    future.cancel()
    gate.set()
    assert await thread.do(lambda: 7) == 7
    thread.end()


def test_a_disk_that_hangs_does_not_keep_the_process() -> None:
    """The standard library's executors would be waited for at the end."""
    done = subprocess.run([sys.executable, "-c", _HANGS], timeout=20, check=False)
    assert done.returncode == 0
