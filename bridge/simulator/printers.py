"""Simulated printers: lives told in three wholly unlike ways, apart from any socket.

``Pieces`` tells each matter on a topic of its own, ``LogBook`` one document of which it publishes
what changed, ``Ledger`` nothing until it is asked over HTTP. What is said at an instant depends on
the life and on what was said before; times are ms of whatever clock the caller has.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Final, NamedTuple, Protocol

from bridge.simulator.life import Closed, Condition, Doing, Life, Snag


class Message(NamedTuple):
    """Something to publish."""

    topic: str
    payload: bytes
    retained: bool = False


class Talker(Protocol):
    """A printer on a broker: publishes by itself, and perhaps when it is asked."""

    name: str
    life: Life

    @property
    def will(self) -> Message:
        """What the broker is to say when the printer drops off."""

    @property
    def listens_to(self) -> str | None:
        """The topic on which it can be asked."""

    def messages_at(self, now_ms: int) -> list[Message]:
        """What it has to say now; nothing twice, nothing while it has no power."""

    def next_at(self, now_ms: int) -> int:
        """The next instant at which it may have something to say."""

    def asked(self, payload: bytes, now_ms: int) -> list[Message]:
        """What it says to somebody who asks."""


#: How often work that moves is looked at; a printer's own loop, not a promise.
LOOKS_EVERY_MS: Final = 500

_DUTIES: Final = {
    Doing.RESTING: "ashore",
    Doing.WARMING: "warming",
    Doing.WORKING: "laying",
    Doing.HELD: "waiting",
    Doing.SNAGGED: "aground",
}
_OUTCOMES: Final = {
    Closed.SOUND: "sound",
    Closed.SPOILED: "spoiled",
    Closed.CALLED_OFF: "called off",
}
_SNAG_TOPICS: Final = {
    Snag.SPOOL: ("spool", "bare"),
    Snag.LID: ("lid", "lifted"),
    Snag.FEED: ("feed", "jammed"),
}


class Pieces:
    """Short texts on many topics below ``base``: all of them every so often, else what changed."""

    listens_to: str | None = None

    def __init__(
        self, name: str, life: Life, base: str, *, every_ms: int = 10_000, courses: int = 120
    ) -> None:
        self.name = name
        self.life = life
        self._base = base
        self._every_ms = every_ms
        self._courses = courses
        self._said: dict[str, str] = {}
        self._said_all_ms: int | None = None

    @property
    def will(self) -> Message:
        """Stored, so that whoever comes later learns it too."""
        return Message(f"{self._base}/aboard", b"gone", retained=True)

    def messages_at(self, now_ms: int) -> list[Message]:
        """Everything at power-up and every so often, between that what changed."""
        now = self.life.at(now_ms)
        if not now.on:
            self._said_all_ms = None
            self._said = {}
            return []
        texts = self._texts(now)
        messages: list[Message] = []
        if self._said_all_ms is None:
            messages.append(Message(f"{self._base}/aboard", b"aye", retained=True))
        if self._said_all_ms is None or now_ms >= self._said_all_ms + self._every_ms:
            self._said_all_ms = now_ms
            wanted = texts
        else:
            # The warmth never stands still, so it waits for the next round.
            wanted = {
                topic: text
                for topic, text in texts.items()
                if topic != "warmth" and self._said.get(topic) != text
            }
        self._said = texts
        messages += [Message(f"{self._base}/{t}", text.encode()) for t, text in wanted.items()]
        return messages

    def next_at(self, now_ms: int) -> int:
        """The next round, the next change, or the next look at the work."""
        return _soonest(self.life, now_ms, self._said_all_ms, self._every_ms)

    def asked(self, payload: bytes, now_ms: int) -> list[Message]:
        """It cannot be asked."""
        del payload, now_ms
        return []

    def _texts(self, now: Condition) -> dict[str, str]:
        under_way = now.doing is not Doing.RESTING
        outcome = "under way" if under_way else "nothing"
        snags = {
            f"snag/{topic}": word if now.snag is snag else "clear"
            for snag, (topic, word) in _SNAG_TOPICS.items()
        }
        return {
            # Why comes before what, so that nobody sees it aground without a reason.
            **snags,
            "laid": f"{int(now.done * self._courses)} of {self._courses} courses",
            "outcome": _OUTCOMES[now.closed] if now.closed else outcome,
            "doing": _DUTIES[now.doing],
            "warmth": f"{now.nose:.1f} °C over {now.bed:.1f} °C",
        }


_HANDS: Final = {
    Doing.RESTING: "aside",
    Doing.WARMING: "at it",
    Doing.WORKING: "at it",
    Doing.HELD: "stuck",
    Doing.SNAGGED: "stuck",
}
_CLOSINGS: Final = {
    Closed.SOUND: "whole",
    Closed.SPOILED: "broken",
    Closed.CALLED_OFF: "dropped",
}


class LogBook:
    """One JSON document: a whole page at power-up and when asked, else a patch of what changed.

    Patches are RFC 7396 merge patches; only a whole page has ``entry``. It never says why it is
    stuck.
    """

    def __init__(self, name: str, life: Life, base: str, *, all_parts: int = 250) -> None:
        self.name = name
        self.life = life
        self._base = base
        self._all = all_parts
        self._page: dict[str, object] | None = None
        self._entry = 0

    @property
    def will(self) -> Message:
        """Stored, so that whoever comes later learns it too."""
        return Message(f"{self._base}/tether", b"slipped", retained=True)

    @property
    def listens_to(self) -> str | None:
        """Where it can be asked for the whole page."""
        return f"{self._base}/tell"

    def messages_at(self, now_ms: int) -> list[Message]:
        """A whole page at power-up, then what changed."""
        now = self.life.at(now_ms)
        if not now.on:
            self._page = None
            return []
        page = self._page_of(now)
        if self._page is None:
            self._page = page
            return [Message(f"{self._base}/tether", b"fast", retained=True), self._whole(page)]
        patch = patch_between(self._page, page)
        self._page = page
        return [Message(f"{self._base}/log", _text(patch))] if patch else []

    def next_at(self, now_ms: int) -> int:
        """The next change, or the next look at the work."""
        return _soonest(self.life, now_ms, None, 0)

    def asked(self, payload: bytes, now_ms: int) -> list[Message]:
        """The whole page, to whoever asks for all pages once it has introduced itself."""
        now = self.life.at(now_ms)
        if not now.on or self._page is None or _parsed(payload) != {"pages": "all"}:
            return []
        self._page = self._page_of(now)
        return [self._whole(self._page)]

    def _whole(self, page: Mapping[str, object]) -> Message:
        self._entry += 1
        return Message(f"{self._base}/log", _text({"entry": self._entry, **page}))

    def _page_of(self, now: Condition) -> dict[str, object]:
        page: dict[str, object] = {"hand": _HANDS[now.doing]}
        if now.piece is not None:
            piece: dict[str, object] = {
                "called": now.piece,
                "done": int(now.done * self._all),
                "all": self._all,
            }
            if now.closed is not None:
                piece["closed"] = _CLOSINGS[now.closed]
            page["piece"] = piece
        return page


_CODES: Final = {Doing.RESTING: 7, Doing.WARMING: 12, Doing.WORKING: 21}
_TRIPS: Final = {Snag.LID: 0, Snag.SPOOL: 3, Snag.FEED: 5}
_CLOSED_LETTERS: Final = {Closed.SOUND: "F", Closed.SPOILED: "B", Closed.CALLED_OFF: "X"}


class Ledger:
    """Answers ``POST /ledger`` with one page of codes, bits and tenths; says nothing by itself."""

    def __init__(self, name: str, life: Life) -> None:
        self.name = name
        self.life = life

    def answer(self, method: str, path: str, body: bytes, now_ms: int) -> tuple[int, bytes] | None:
        """Status and body, or ``None`` while it has no power and cannot answer at all."""
        now = self.life.at(now_ms)
        if not now.on:
            return None
        if path != "/ledger":
            return 404, _text({"nothing": path})
        if method != "POST":
            return 405, _text({"only": "POST"})
        if _parsed(body) != {"turn": "last"}:
            return 400, _text({"turn": "last"})
        return 200, _text(self._page(now))

    def _page(self, now: Condition) -> dict[str, object]:
        left = None if now.left_ms is None else _clock_text(now.left_ms // 1000)
        halted = now.doing in {Doing.HELD, Doing.SNAGGED}
        under_way = now.doing is not Doing.RESTING or now.closed is Closed.SOUND
        return {
            "duty": {
                "code": _CODES.get(now.doing, _CODES[Doing.WORKING]),
                "halted": halted,
                "closed": _CLOSED_LETTERS[now.closed] if now.closed else None,
            },
            "work": {
                "name": now.piece,
                "share": int(now.done * 10_000) if under_way else -1,
                "left": left,
            },
            "heat": [round(now.nose * 10), round(now.bed * 10)],
            "trips": 1 << _TRIPS[now.snag] if now.snag else 0,
        }


def patch_between(old: Mapping[str, object], new: Mapping[str, object]) -> dict[str, object]:
    """The RFC 7396 merge patch that turns ``old`` into ``new``; empty where they are equal."""
    patch: dict[str, object] = {key: None for key in old if key not in new}
    for key, value in new.items():
        before = old.get(key)
        if isinstance(value, dict) and isinstance(before, dict):
            if inner := patch_between(before, value):
                patch[key] = inner
        elif value != before:
            patch[key] = value
    return patch


def _soonest(life: Life, now_ms: int, said_all_ms: int | None, every_ms: int) -> int:
    now = life.at(now_ms)
    times = [now_ms + 60_000]
    if (change := life.change_after(now_ms)) is not None:
        times.append(change)
    if now.on and said_all_ms is not None:
        times.append(said_all_ms + every_ms)
    if now.doing is Doing.WORKING:
        times.append(now_ms + LOOKS_EVERY_MS)
    return max(now_ms + 1, min(times))


def _clock_text(seconds: int) -> str:
    return f"{seconds // 3600}:{seconds // 60 % 60:02}:{seconds % 60:02}"


def _text(value: object) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()


def _parsed(body: bytes) -> object:
    try:
        return json.loads(body)
    except ValueError:
        return None
