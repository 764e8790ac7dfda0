"""The bridge in a child, timed from the first message to the last.

``python -m tests.benchmarks.counting SITE PRELUDE MESSAGES``: the prelude is heard first, and does
not count.
"""

from __future__ import annotations

import asyncio
import os
import sys
import time
from pathlib import Path

from bridge.access.credentials import Credentials
from bridge.engine.actions import Note
from bridge.service.daemon import Daemon
from bridge.settings.load import digest_of, load_site


def said(note: Note) -> None:
    """Tell the parent when the broker is subscribed."""
    if note.event == "source is up":
        print("ready", flush=True)


async def count(site: Path, prelude: int, messages: int) -> None:
    """Run the site until so many messages were heard; prints the seconds they took."""
    loaded = load_site(site)
    credentials = Credentials(os.environ)
    daemon = Daemon(loaded, digest_of(loaded), note=said, credentials=credentials)
    stop = asyncio.Event()
    running = asyncio.create_task(daemon.run(stop))
    first = 0.0
    while True:
        heard = daemon.counts()["messages"] - prelude
        if heard > 0 and not first:
            first = time.perf_counter()
        if heard >= messages:
            break
        await asyncio.sleep(0.002)
    print(time.perf_counter() - first, flush=True)
    stop.set()
    await running


if __name__ == "__main__":
    asyncio.run(count(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])))
