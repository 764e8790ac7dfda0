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
)
from bridge.engine.site import Site
from bridge.facts.moment import Moment
from bridge.recording.canonical import event_text
from bridge.recording.lines import MARK_EVERY, ActionsDigest, Head, line_of
from bridge.service.recording_file import Happened
from bridge.settings.load import digest_of, load_site
from bridge.simulator.evening import controllers, evening
from bridge.simulator.printers import LogBook, Pieces

CONFIG: Final = Path(__file__).parents[2] / "config"
#: 20:00 on 27 November 2026 in Dublin, which is on UTC then.
WALL_MS: Final = 1_795_809_600_000
_REPLY_MS: Final = 20


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
                self._later(Recorded(number), 3)
            case _:
                pass


@cache
def an_evening(seconds: float = 300.0) -> list[Happened]:
    """The evening of the example site; the same list each time."""
    return Evening(load_site(CONFIG), seconds).hold()


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
