"""An evening of the example site's printers before a real core, in virtual time, as recorded."""

from __future__ import annotations

import heapq
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Final
from urllib.parse import parse_qsl, urlsplit

from bridge.engine.actions import Action, Ask, Poll, Record, Request
from bridge.engine.core import Core
from bridge.engine.events import (
    HTTP_SOURCE,
    Answered,
    Due,
    Event,
    Heard,
    PollFailed,
    Recorded,
    Restored,
    Settings,
    SourceUp,
    Started,
    Stopping,
    Wished,
)
from bridge.engine.site import Site
from bridge.engine.view import View
from bridge.engine.wishes import Acknowledge, Collected, Hold, Reset, Wish
from bridge.facts.moment import Moment
from bridge.recording.canonical import event_text
from bridge.recording.lines import MARK_EVERY, ActionsDigest, Head, line_of
from bridge.service.recording_file import Happened
from bridge.settings.load import digest_of, load_texts
from bridge.simulator.evening import controllers, evening
from bridge.simulator.printers import LogBook, Pieces

#: What the evening is held at; readers, dialects and legend are those of the example site.
_OWN: Final = Path(__file__).with_name("site")
_EXAMPLE: Final = Path(__file__).parents[2] / "config"
#: 20:00 on 27 November 2026 in Dublin, which is on UTC then.
WALL_MS: Final = 1_795_809_600_000
_REPLY_MS: Final = 20
#: How long a record takes to be kept.
DISK_MS: Final = 3
#: A person, who sees the empty spool, and has the alarm reset once it is loaded and closed.
_ACKNOWLEDGED_MS, _RESET_MS, _HELD_MS, _COLLECTED_MS = 85_000, 130_000, 140_000, 200_000


def texts() -> dict[str, str]:
    """The files of the evening's site."""
    found = {
        str(path.relative_to(_EXAMPLE)): path.read_text("utf-8")
        for path in _EXAMPLE.rglob("*.yaml")
        if path.name not in {"site.yaml", "rules.yaml"}
    }
    return found | {path.name: path.read_text("utf-8") for path in _OWN.glob("*.yaml")}


class Evening:
    """Printers, controllers and a disk before one core; ``happened`` is everything it was fed."""

    def __init__(self, site: Site, seconds: float) -> None:
        self.happened: list[Happened] = []
        self._site = site
        self._core = Core()
        self._now = self._count = 0
        self._coming: list[tuple[int, int, Callable[[], None]]] = []
        self._printers = evening(seconds)
        self._controllers = controllers()
        self._talkers: tuple[Pieces | LogBook, ...] = (self._printers.kestrel, self._printers.heron)
        self._end_ms = round(seconds * 1000)

    def hold(self) -> list[Happened]:
        """All of it."""
        self._feed(Started("seed"))
        self._feed(Restored(()))
        self._feed(Settings(self._site, digest_of(self._site)))
        self._feed(SourceUp("shed"))
        for talker in self._talkers:
            self._talk(talker)
        self._wishes()
        while True:
            due, coming = self._core.deadline(), self._coming[0][0]
            self._now = max(self._now, coming if due is None else min(due, coming))
            if self._now >= self._end_ms:
                break
            if due is not None and due < coming:
                self._feed(Due())
            else:
                heapq.heappop(self._coming)[2]()
        self._feed(Stopping())
        return self.happened

    def _feed(self, event: Event) -> None:
        moment = Moment(self._now, WALL_MS + self._now)
        actions = self._core.handle(event, moment)
        self.happened.append(Happened(event, moment, tuple(actions)))
        for action in actions:
            self._perform(action)

    def _later(self, event: Event, ms: int = _REPLY_MS) -> None:
        self._after(ms, lambda: self._feed(event))

    def _after(self, ms: int, what: Callable[[], None]) -> None:
        self._count += 1
        heapq.heappush(self._coming, (self._now + ms, self._count, what))

    def _talk(self, talker: Pieces | LogBook) -> None:
        for message in talker.messages_at(self._now):
            self._feed(Heard("shed", message.topic, message.payload))
        self._after(talker.next_at(self._now) - self._now, lambda: self._talk(talker))

    def _wishes(self) -> None:
        """Ada's, by name of the occurrence that stands then."""

        def wish(ms: int, what: Callable[[View], Wish]) -> None:
            token = f"at {ms}"
            self._after(ms, lambda: self._feed(Wished(token, "Ada", what(self._core.view()))))

        def alarm(view: View) -> str:
            return next((each.occurrence for each in view.alarms if each.occurrence), "none")

        def prompt(view: View) -> str:
            return next((each.occurrence for each in view.prompts if each.occurrence), "none")

        wish(_ACKNOWLEDGED_MS, lambda view: Acknowledge(alarm(view)))
        wish(_RESET_MS, lambda view: Reset(alarm(view)))
        wish(_HELD_MS, lambda _view: Hold(("door-sill",), "dark", 20_000))
        wish(_COLLECTED_MS, lambda view: Collected(prompt(view)))

    def _perform(self, action: Action) -> None:
        match action:
            case Request():
                url = urlsplit(action.target)
                query = dict(parse_qsl(url.query))
                board = self._controllers[action.controller]
                body = action.body or b""
                reply = board.handle(action.method, url.path, query, {}, body, self._now)
                self._later(Answered(action.number, *reply))
            case Poll(address):
                reply_of = self._printers.plover.answer
                page = reply_of("POST", "/ledger", b'{"turn":"last"}', self._now)
                failed = PollFailed(address, "no answer within 5 s")
                self._later(failed if page is None else Heard(HTTP_SOURCE, address, page[1]))
            case Ask(payload=payload):
                for message in self._printers.heron.asked(payload, self._now):
                    self._later(Heard("shed", message.topic, message.payload))
            case Record(number):
                self._later(Recorded(number), DISK_MS)
            case _:
                pass


@cache
def an_evening(seconds: float = 300.0) -> list[Happened]:
    """The evening at the site of ``texts``; the same list each time."""
    return Evening(load_texts(texts()), seconds).hold()


def lines_of(happened: list[Happened]) -> list[str]:
    """What a recording of it holds, each line with its end."""
    digest = ActionsDigest()
    lines = [line_of(Head.of("seed", 1, 0, "0"))]
    for each in happened:
        lines.append(event_text(each.event, each.moment))
        digest.take(each.actions)
        if isinstance(each.event, Settings) or digest.events % MARK_EVERY == 0:
            lines.append(line_of(digest.mark()))
    return [f"{line}\n" for line in (*lines, line_of(digest.mark()))]
