"""Simulated printers: jobs that go well or not, snags, silence, power cuts. Bytes come out."""

from __future__ import annotations

import json
from collections.abc import Callable
from random import Random
from typing import Any, Final, Protocol

After = Callable[[int, Callable[[], None]], None]
Happens = Callable[[str, float], bool]


class Publish(Protocol):
    """Hand a message to the broker."""

    def __call__(self, topic: str, body: bytes, *, stored: bool) -> None:
        """``stored``: the broker keeps it for whoever comes later."""


class Printer:
    """What all of them do."""

    name = ""
    every_ms = 8000

    def __init__(self, after: After, chance: Random, happens: Happens, publish: Publish) -> None:
        self._after, self._chance, self._happens, self._publish = after, chance, happens, publish
        self.state, self.job, self.done = "idle", "", 0
        self.snags: dict[str, bool] = {}
        self._mute = False
        #: Which time it is switched on, 0 while it has no power.
        self._session = self._sessions = 0
        self._switch_on()
        self._live()

    @property
    def speaks(self) -> bool:
        """Whether anything comes out of it."""
        return self._session > 0 and not self._mute

    def _switch_on(self) -> None:
        """Begin anew: what was under way is forgotten."""
        self._sessions += 1
        self._session, self.state, self.done = self._sessions, "idle", 0
        self._repeat(self._session)

    def _repeat(self, session: int) -> None:
        if self._session == session:
            self._after(self.every_ms, lambda: self._repeat(session))
            self.speak(whole=True)

    def _live(self) -> None:
        """Change now and then."""
        chance = self._chance
        self._after(chance.choice((4000, 30_000, 90_000, 200_000)), self._live)
        match self.state:
            case "idle":
                self.state, self.job, self.done = "processing", "", 0
            case "processing" if self.done < 100 and chance.random() < 0.6:
                self.done = min(100, self.done + chance.choice((10, 25, 50)))
            case "processing" if chance.random() < 0.4:
                self.state = "stopped"
            case _:
                self.state = chance.choice(("idle", "idle", "processing"))
                self.job = chance.choice(("completed", "aborted"))
        if chance.random() < 0.3:
            part = chance.choice(("spool", "lid"))
            self.snags[part] = not self.snags.get(part, False)
        self.speak(whole=False)

    def fail(self, seconds: int) -> str:
        """Fall silent with the link up, or lose power; a will comes at once or by keep-alive."""
        if self._chance.random() < 0.5 or not self._session:
            self._mute = True
            self._after(seconds * 1000, self._unmute)
            return "printer mute"
        self._session, session = 0, self._sessions
        will_ms = self._chance.choice((50, 9000))
        self._after(will_ms, lambda: self.will() if self._sessions == session else None)
        self._after(seconds * 1000, self._switch_on)
        return "printer without power"

    def _unmute(self) -> None:
        self._mute = False

    def say(self, matter: str, text: str, *, stored: bool = False) -> None:
        """Publish one message."""
        if self.speaks:
            body = b"\xff\xfe{" if self._happens("garbled", 0.003) else text.encode()
            self._publish(f"alder/{self.name}/{matter}", body, stored=stored)

    def word(self, words: dict[str, str]) -> str:
        """Its word for its state; rarely one that nobody ever heard."""
        return "adrift" if self._happens("strange word", 0.01) else words[self.state]

    def speak(self, *, whole: bool) -> None:
        """Say everything, or what may have changed."""

    def will(self) -> None:
        """What the broker says when it is gone."""


class Kestrel(Printer):
    """Short texts, a topic a matter; it stores more than it should."""

    name = "kestrel"
    _words: Final = {"idle": "ashore", "processing": "laying", "stopped": "aground"}

    def speak(self, *, whole: bool) -> None:
        """Each matter on its own topic."""
        if whole:
            self.say("aboard", "aye", stored=True)
        self.say("doing", self.word(self._words), stored=self._chance.random() < 0.3)
        self.say("laid", str(self.done), stored=self._chance.random() < 0.3)
        for part, there in self.snags.items():
            self.say(f"snag/{part}", "amiss" if there else "clear")

    def will(self) -> None:
        """Its link is down."""
        self._publish("alder/kestrel/aboard", b"gone", stored=True)


class Plover(Printer):
    """Polled: codes on a page."""

    name = "plover"
    _garbled = 0

    def page(self) -> bytes:
        """All of it; sometimes, and then for a while, what nobody can read."""
        if self._happens("page garbled", 0.01):
            self._garbled = self._chance.randint(1, 12)
        if self._garbled:
            self._garbled -= 1
            return b"<busy>"
        strange = self._happens("strange word", 0.01)
        page: dict[str, Any] = {
            "halted": self.state == "stopped",
            "duty": 99 if strange else 7 if self.state == "idle" else 21,
            "closed": {"completed": "F", "aborted": "B"}.get(self.job),
            "share": self.done if self.state != "idle" else -1,
            "trips": sum(
                {"lid": 1, "spool": 8}[part] for part, there in self.snags.items() if there
            ),
        }
        return json.dumps(page).encode()


class Heron(Printer):
    """Patches on change, the whole when switched on or asked."""

    name = "heron"
    every_ms = 3_600_000
    _words: Final = {"idle": "aside", "processing": "at it", "stopped": "stuck"}

    def speak(self, *, whole: bool) -> None:
        """One object, all of it or a part."""
        closed = {"completed": "whole", "aborted": "broken"}.get(self.job)
        log: dict[str, Any] = {"hand": self.word(self._words), "piece": {"closed": closed}}
        if whole:
            self.say("tether", "fast", stored=True)
            log["entry"] = 1
        if whole or self._chance.random() < 0.8:
            log["piece"] |= {"done": self.done, "all": 100}
        self.say("log", json.dumps(log))

    def will(self) -> None:
        """Its link is down."""
        self._publish("alder/heron/tether", b"slipped", stored=True)


class Printers:
    """The three of them."""

    def __init__(self, after: After, chance: Random, happens: Happens, publish: Publish) -> None:
        self.kestrel = Kestrel(after, chance, happens, publish)
        self.plover = Plover(after, chance, happens, publish)
        self.heron = Heron(after, chance, happens, publish)
        self.all: tuple[Printer, ...] = (self.kestrel, self.plover, self.heron)
