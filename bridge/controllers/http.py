"""The client of the controllers: one kept connection each, one task a request, no queue."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Final

import aiohttp
from yarl import URL

from bridge.access.attempt import Attempt
from bridge.access.credentials import Credentials
from bridge.access.failure import AccessError
from bridge.access.http import Session, failure_of_client, status_words
from bridge.engine.actions import Note, Request
from bridge.engine.events import Answered, Event, Fate, Unanswered
from bridge.engine.site import Controller
from bridge.facts.moment import Moment

#: Controllers answer with their state, not with documents.
MOST_REPLY_BYTES: Final = 64 * 1024
#: RFC 9112 §3.2: a request target has no spaces and no control characters; a line break in one
#: would be a header of somebody else's making.
_ON_THE_WIRE: Final = re.compile(r"/[!-~]*")


class ControllerClient:
    """Sends requests and feeds exactly one ``Answered`` or ``Unanswered`` for each.

    ``connections`` says how many a controller may have; one where it does not name it. A redirect
    is not followed: its status is the answer.
    """

    def __init__(
        self,
        controllers: Mapping[str, Controller],
        feed: Callable[[Event, Moment], None],
        clock: Callable[[], Moment],
        credentials: Credentials,
        note: Callable[[Note], None],
        connections: Mapping[str, int] | None = None,
    ) -> None:
        self._controllers = controllers
        self._feed = feed
        self._clock = clock
        self._credentials = credentials
        self._note = note
        self._connections = connections or {}
        self._sessions: dict[str, Session] = {}
        self._tasks: set[asyncio.Task[None]] = set()

    def send(self, request: Request) -> None:
        """Send now, in a task of its own."""
        task = asyncio.create_task(
            self._report(request), name=f"request {request.number} to {request.controller}"
        )
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def close(self) -> None:
        """End what is under way, unreported, and close the connections."""
        tasks = list(self._tasks)
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        for session in self._sessions.values():
            await session.close()
        self._sessions.clear()

    async def _report(self, request: Request) -> None:
        attempt = Attempt()
        event: Event
        try:
            event = await self._answer(request, attempt)
        except AccessError as error:
            event = Unanswered(request.number, Fate.NEVER_LEFT, str(error))
        except aiohttp.ClientError as error:
            event = Unanswered(request.number, _fate(attempt), failure_of_client(error).why)
        except TimeoutError:
            why = f"no answer within {request.timeout_ms} ms"
            event = Unanswered(request.number, _fate(attempt), why)
        except ValueError as error:
            why = f"the request cannot be sent: {error}"
            event = Unanswered(request.number, _fate(attempt), why)
        self._feed(event, self._clock())

    async def _answer(self, request: Request, attempt: Attempt) -> Answered | Unanswered:
        controller = self._controllers[request.controller]
        session = self._sessions.get(request.controller) or self._open(controller)
        reply = await session.exchange(
            request.method,
            _url(controller.url, request.target),
            body=request.body,
            headers=request.headers,
            timeout_ms=request.timeout_ms,
            attempt=attempt,
            most_bytes=MOST_REPLY_BYTES,
        )
        if reply.body is None:
            why = f"answered {status_words(reply.status)} with more than {MOST_REPLY_BYTES} bytes"
            return Unanswered(request.number, Fate.MAYBE_APPLIED, why)
        return Answered(request.number, reply.status, reply.body)

    def _open(self, controller: Controller) -> Session:
        session = self._sessions[controller.name] = Session(
            controller.access,
            self._credentials,
            tls=controller.url.startswith("https:"),
            connections=self._connections.get(controller.name, 1),
        )
        return session


@lru_cache(maxsize=1024)
def _url(base: str, target: str) -> URL:
    """Ready to go on the wire as it stands: the dialect has quoted what needs it."""
    if not _ON_THE_WIRE.fullmatch(target):
        raise ValueError(f"{target!r} has characters that an address cannot have")
    return URL(base.rstrip("/") + target, encoded=True)


def _fate(attempt: Attempt) -> Fate:
    return Fate.MAYBE_APPLIED if attempt.left else Fate.NEVER_LEFT
