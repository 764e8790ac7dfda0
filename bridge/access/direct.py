"""Requests that need nothing but a connection: the whole head made once, written with its body.

aiohttp connects, keeps, and parses. Between a request and the wire its client does what none of
these needs (redirects, cookies, proxies, a task that writes the body): more than half of the time
from a message to a light went there.
"""

from __future__ import annotations

import asyncio
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Final

import aiohttp
from aiohttp import ClientRequest, ClientTimeout, StreamReader
from aiohttp.client_proto import ResponseHandler
from aiohttp.client_reqrep import ConnectionKey
from aiohttp.connector import Connection
from aiohttp.http import HttpProcessingError, RawResponseMessage
from multidict import CIMultiDict
from yarl import URL

from bridge.access.attempt import Attempt, BrokenError, Connector
from bridge.access.body import stream_capped
from bridge.access.failure import not_http

#: RFC 9110 §5.5: a line break in a header would be another header of somebody else's making.
_FORBIDDEN: Final = re.compile(r"[\x00-\x08\x0a-\x1f\x7f]")
#: Methods whose requests say how long they are even where they are empty (RFC 9110 §8.6).
_WITH_BODY: Final = frozenset({"POST", "PUT", "PATCH", "DELETE"})
#: Looks repeat, and with them what is asked.
_HEADS_KEPT: Final = 256
_SWITCHING: Final = 101


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer; ``body`` is ``None`` where it is longer than was wanted."""

    status: int
    body: bytes | None


class _Address(ClientRequest):
    """What tells the connector where to connect to; nothing in it changes."""

    @cached_property
    def connection_key(self) -> ConnectionKey:
        """As ``aiohttp`` has it."""
        return super().connection_key


class Direct:
    """The requests of one session to its one address."""

    def __init__(
        self, client: aiohttp.ClientSession, connector: Connector, headers: Mapping[str, str]
    ) -> None:
        self._client, self._connector = client, connector
        self._own = headers
        self._loop = asyncio.get_running_loop()
        self._address: _Address | None = None
        self._head = lru_cache(_HEADS_KEPT)(self._made_head)

    async def exchange(  # noqa: PLR0913 (as a request has it, all named at the call)
        self,
        method: str,
        url: URL,
        *,
        body: bytes | None,
        headers: tuple[tuple[str, str], ...],
        timeout_ms: int,
        attempt: Attempt,
        most_bytes: int,
    ) -> Reply:
        """One request and its answer; raises as ``aiohttp`` does, and ``TimeoutError``."""
        sent = self._head(method, url, headers, None if body is None else len(body))
        if body:
            sent += body
        address = self._address or self._addressed(url)
        due = self._loop.time() + timeout_ms / 1000
        connection, message, payload = await attempt.run(
            method, lambda: self._send(address, sent, due, is_head=method == "HEAD")
        )
        try:
            async with asyncio.timeout_at(due):
                said = await stream_capped(payload, most_bytes)
        except BaseException:
            connection.close()
            raise
        if said is None:
            connection.close()
        else:
            connection.release()
        return Reply(message.code, said)

    async def _send(
        self, address: _Address, sent: bytes, due: float, *, is_head: bool
    ) -> tuple[Connection, RawResponseMessage, StreamReader]:
        left_ms = math.ceil((due - self._loop.time()) * 1000)
        connection = await self._connector.connect(address, [], _to_connect(left_ms))
        try:
            protocol = _written(connection, sent)
            # Nothing is read before this task waits: a parser and a timer must not hold up the
            # light.
            protocol.set_response_params(
                skip_payload=is_head, read_until_eof=True, auto_decompress=False
            )
            async with asyncio.timeout_at(due):
                message, payload = await protocol.read()
                while 100 <= message.code < 200 and message.code != _SWITCHING:
                    message, payload = await protocol.read()
        except HttpProcessingError as error:
            connection.close()
            raise BrokenError(not_http(error.message)) from error
        except BaseException:
            connection.close()
            raise
        return connection, message, payload

    def _addressed(self, url: URL) -> _Address:
        self._address = _Address("GET", url, loop=self._loop, session=self._client)
        return self._address

    def _made_head(
        self, method: str, url: URL, headers: Iterable[tuple[str, str]], length: int | None
    ) -> bytes:
        named: CIMultiDict[str] = CIMultiDict()
        named["Host"] = url.host_port_subcomponent or ""
        given = CIMultiDict(headers)
        named.update(self._own)
        for name in given:
            named.popall(name, None)
        named.extend(given)
        if length is not None:
            named["Content-Length"] = str(length)
            named.setdefault("Content-Type", "application/octet-stream")
        elif method in _WITH_BODY:
            named["Content-Length"] = "0"
        lines = [f"{method} {url.raw_path_qs} HTTP/1.1"]
        lines += [f"{name}: {value}" for name, value in named.items()]
        for line in lines:
            if _FORBIDDEN.search(line):
                raise ValueError(f"{line!r} has characters that a header cannot have")
        return "\r\n".join((*lines, "", "")).encode()


@lru_cache(maxsize=64)
def _to_connect(left_ms: int) -> ClientTimeout:
    """Applied by ``aiohttp`` only where there is no kept connection; it would round up seconds."""
    return ClientTimeout(total=None, connect=max(1, left_ms) / 1000, ceil_threshold=math.inf)


def _written(connection: Connection, sent: bytes) -> ResponseHandler:
    protocol, transport = connection.protocol, connection.transport
    if protocol is None or transport is None or transport.is_closing():
        raise aiohttp.ClientConnectionResetError("the connection is closing already")
    transport.write(sent)
    return protocol
