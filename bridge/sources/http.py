"""Printers that are polled over HTTP: one request at a time each, when the core says so."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import aiohttp
from aiohttp import ClientResponse
from yarl import URL

from bridge.access.attempt import Attempt
from bridge.access.body import read_capped
from bridge.access.credentials import Credentials
from bridge.access.failure import AccessError
from bridge.access.http import Session, failure_of_client, status_words
from bridge.engine.actions import Note
from bridge.engine.events import HTTP_SOURCE, Event, Heard, PollFailed
from bridge.engine.site import Access, Endpoint
from bridge.facts.moment import Moment
from bridge.sources.retry_after import retry_after_ms

#: Longer answers are no printer's state, and a small board has not much memory.
MOST_BYTES: Final = 1024 * 1024
#: For what is posted so that a printer speaks, which has no time-out of its own.
POST_TIMEOUT_MS: Final = 5000

_OK: Final = 200
_NOT_MODIFIED: Final = 304


@dataclass(slots=True)
class _Polled:
    """What is kept of an endpoint from one poll to the next."""

    endpoint: Endpoint
    session: Session | None = None
    task: asyncio.Task[None] | None = None
    #: The conditions of the next request (RFC 9110 §13.1), from the last whole answer.
    conditions: tuple[tuple[str, str], ...] = ()


class HttpSource:
    """Polls endpoints and posts what makes printers speak.

    Each poll feeds exactly one ``Heard`` or ``PollFailed``, unless the source is closed first.
    """

    def __init__(
        self,
        endpoints: Mapping[str, Endpoint],
        feed: Callable[[Event, Moment], None],
        clock: Callable[[], Moment],
        credentials: Credentials,
        note: Callable[[Note], None],
    ) -> None:
        self._polled = {name: _Polled(endpoint) for name, endpoint in endpoints.items()}
        self._feed = feed
        self._clock = clock
        self._credentials = credentials
        self._note = note
        self._posting: dict[tuple[str, Access], Session] = {}
        self._posts: set[asyncio.Task[None]] = set()
        self._post_failures: dict[str, str] = {}

    async def run(self) -> None:
        """Serve until cancelled, then let go of everything."""
        try:
            await asyncio.get_running_loop().create_future()
        finally:
            await self.close()

    async def close(self) -> None:
        """End what is under way, unreported, and close the connections."""
        polls = [polled.task for polled in self._polled.values() if polled.task is not None]
        tasks = [*polls, *self._posts]
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        opened = [polled.session for polled in self._polled.values() if polled.session is not None]
        for session in [*opened, *self._posting.values()]:
            await session.close()
        self._posting.clear()
        for polled in self._polled.values():
            polled.session = None

    def poll(self, address: str) -> None:
        """Ask this endpoint now; while its last poll is under way that one answers for both."""
        polled = self._polled[address]
        if polled.task is None:
            polled.task = asyncio.create_task(self._poll(address, polled), name=f"poll {address}")

    def forget(self, address: str) -> None:
        """Ask for the whole answer next time, changed or not."""
        self._polled[address].conditions = ()

    def post(self, address: str, payload: bytes, access: Access) -> None:
        """Post this once; what comes back is not read, and what fails is noted."""
        task = asyncio.create_task(self._post(address, payload, access), name=f"post {address}")
        self._posts.add(task)
        task.add_done_callback(self._posts.discard)

    # Polling.

    async def _poll(self, address: str, polled: _Polled) -> None:
        try:
            event = await self._ask(address, polled)
        except AccessError as error:
            event = PollFailed(address, str(error))
        except aiohttp.ClientError as error:
            event = PollFailed(address, failure_of_client(error).why)
        except TimeoutError:
            event = PollFailed(address, f"no answer within {polled.endpoint.timeout_ms} ms")
        except ValueError as error:
            event = PollFailed(address, f"the request cannot be sent: {error}")
        finally:
            polled.task = None
        if isinstance(event, PollFailed):
            # The core may let go of what it knew: the next answer has to be a whole one.
            polled.conditions = ()
        self._feed(event, self._clock())

    async def _ask(self, address: str, polled: _Polled) -> Heard | PollFailed:
        endpoint = polled.endpoint
        url = URL(endpoint.url)
        if polled.session is None:
            polled.session = Session(endpoint.access, self._credentials, tls=url.scheme == "https")
        session = polled.session
        async with session.request(
            endpoint.method,
            url,
            body=endpoint.body,
            headers=(*endpoint.headers, *polled.conditions),
            timeout_ms=endpoint.timeout_ms,
            attempt=Attempt(),
        ) as response:
            return await self._heard(address, polled, response)

    async def _heard(
        self, address: str, polled: _Polled, response: ClientResponse
    ) -> Heard | PollFailed:
        if response.status == _NOT_MODIFIED and polled.conditions:
            return Heard(HTTP_SOURCE, address, None)
        if response.status != _OK:
            return self._not_usable(address, response)
        if packing := response.headers.get("Content-Encoding"):
            return PollFailed(address, f"answered packed as '{packing[:40]}', which was not asked")
        body = await read_capped(response, MOST_BYTES)
        if body is None:
            return PollFailed(address, f"answered with more than {MOST_BYTES} bytes")
        polled.conditions = _conditions(polled.endpoint.method, response)
        return Heard(HTTP_SOURCE, address, body)

    def _not_usable(self, address: str, response: ClientResponse) -> PollFailed:
        headers = response.headers
        why = f"answered {status_words(response.status)}"
        if (target := headers.get("Location")) is not None and 300 <= response.status < 400:
            why += f", which leads to {target[:200]!r}: not followed, name the address itself"
        wall_ms = self._clock().wall_ms
        wait_ms = retry_after_ms(headers.get("Retry-After"), headers.get("Date"), wall_ms)
        return PollFailed(address, why, wait_ms)

    # Posting.

    async def _post(self, address: str, payload: bytes, access: Access) -> None:
        try:
            why = await self._post_once(address, payload, access)
        except AccessError as error:
            why = str(error)
        except aiohttp.ClientError as error:
            why = failure_of_client(error).why
        except TimeoutError:
            why = f"no answer within {POST_TIMEOUT_MS} ms"
        except ValueError as error:
            why = f"the request cannot be sent: {error}"
        if why is None:
            self._post_failures.pop(address, None)
        elif self._post_failures.get(address) != why:
            self._post_failures[address] = why
            self._note(Note("warning", "asking failed", {"address": address, "why": why}))

    async def _post_once(self, address: str, payload: bytes, access: Access) -> str | None:
        url = URL(address)
        key = (str(url.origin()), access)
        session = self._posting.get(key)
        if session is None:
            session = Session(access, self._credentials, tls=url.scheme == "https")
            self._posting[key] = session
        async with session.request(
            "POST",
            url,
            body=payload,
            headers=(("Content-Type", _content_type(payload)),),
            timeout_ms=POST_TIMEOUT_MS,
            attempt=Attempt(),
        ) as response:
            await read_capped(response, MOST_BYTES)
            return None if response.ok else f"answered {status_words(response.status)}"


def _conditions(method: str, response: ClientResponse) -> tuple[tuple[str, str], ...]:
    """Which conditions the next request carries; RFC 9110 §13.1 has them for GET and HEAD only."""
    if method != "GET":
        return ()
    pairs = (("If-None-Match", "ETag"), ("If-Modified-Since", "Last-Modified"))
    known = response.headers
    return tuple((ours, known[theirs]) for ours, theirs in pairs if theirs in known)


def _content_type(payload: bytes) -> str:
    return "application/json" if payload[:1] in {b"{", b"["} else "text/plain; charset=utf-8"
