"""A daemon's local socket that answers from a picture, for the commands that ask it."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from bridge.engine.actions import Tell
from bridge.engine.view import AlarmView, HoldView, PrinterView, PromptView, View
from bridge.engine.wishes import Wish
from bridge.service.local_socket import LocalSocket

NOW_MS = 100_000_000


def alarm(name: str, printer: str, shown: str, occurrence: str | None, **more: object) -> AlarmView:
    """An alarm that was raised ten minutes ago; ``more`` are its other fields."""
    usual: dict[str, object] = {
        "priority": "medium",
        "since_wall_ms": None,
        "since_ms": NOW_MS - 600_000,
        "unconfirmed": False,
        "escalated": False,
        "standing": False,
        "chattering": False,
        "shelved_until_wall_ms": None,
        "cause": "",
        "response": "",
    }
    fields = {**usual, **more, "state": shown, "shown": shown, "occurrence": occurrence}
    return AlarmView(name, printer, **fields)  # type: ignore[arg-type]


def prompt(name: str, printer: str, occurrence: str | None) -> PromptView:
    """A prompt that waits where it has an occurrence."""
    waiting = occurrence is not None
    since_ms = NOW_MS - 60_000 if waiting else None
    return PromptView(name, printer, waiting, occurrence, since_ms, "take it out")


def picture(
    alarms: tuple[AlarmView, ...] = (),
    prompts: tuple[PromptView, ...] = (),
    holds: tuple[HoldView, ...] = (),
) -> View:
    """Kestrel and plover, and what waits for somebody."""
    printers = {name: PrinterView(name, {}, (), ()) for name in ("kestrel", "plover")}
    return View(NOW_MS, {}, printers, {}, {}, {}, alarms, prompts, holds)


@dataclass
class LocalDaemon:
    """What it shows, what it grants, and what was wished of it."""

    view: View = field(default_factory=picture)
    #: Why a wish is refused, or nothing where it is granted.
    refuses: Callable[[Wish], str] = lambda _: ""
    kept: bool = True
    wishes: list[tuple[str, Wish]] = field(default_factory=list)

    async def grant(self, who: str, wish: Wish) -> Tell:
        """Grant or refuse."""
        self.wishes.append((who, wish))
        why = self.refuses(wish)
        name = type(wish).__name__.lower()
        return Tell("1", taken=not why, kept=self.kept and not why, why=why or f"{name}: done")

    async def _serve(self, path: Path, ready: threading.Event, stop: asyncio.Event) -> None:
        served = LocalSocket(path, self.grant, lambda: self.view)
        await served.start()
        ready.set()
        await stop.wait()
        await served.close()

    @contextmanager
    def listening(self, path: Path) -> Iterator[None]:
        """It serves in a thread of its own until the end of the block."""
        ready, stop, loop = threading.Event(), asyncio.Event(), asyncio.new_event_loop()
        serving = threading.Thread(
            target=loop.run_until_complete, args=(self._serve(path, ready, stop),)
        )
        serving.start()
        try:
            assert ready.wait(10)
            yield
        finally:
            loop.call_soon_threadsafe(stop.set)
            serving.join(10)
            loop.close()
