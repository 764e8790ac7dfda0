"""How far one HTTP request came, and the one repetition that a kept connection may need."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from contextvars import ContextVar
from typing import Final, TypeVar

import aiohttp
from aiohttp import ClientHandlerType, ClientRequest, ClientResponse, ClientTimeout
from aiohttp.client_proto import ResponseHandler
from aiohttp.connector import Connection
from aiohttp.tracing import Trace

from bridge.access.failure import NO_SUCH_NAME, Failure, failure_of

#: RFC 9110 §9.2.2.
_IDEMPOTENT: Final = frozenset({"GET", "HEAD", "PUT", "DELETE", "OPTIONS", "TRACE"})

#: How a connection that had been made shows that it broke.
_BREAKS: Final = (
    aiohttp.ServerDisconnectedError,
    aiohttp.ClientConnectionResetError,
    aiohttp.ClientOSError,
)


class BrokenError(aiohttp.ClientError):
    """A connection broke. aiohttp tries again by itself after its own errors, not after this."""

    def __init__(self, failure: Failure) -> None:
        super().__init__(failure.why)
        self.failure: Final = failure


T = TypeVar("T")


class Attempt:
    """One request's way to the wire; as a middleware, the client's innermost.

    ``left`` is false as long as certainly no byte of the request has gone out. The connector sets
    ``connected`` and ``reused``.
    """

    __slots__ = ("connected", "left", "reused")

    def __init__(self) -> None:
        self.connected = False
        self.reused = False
        self.left = False

    async def __call__(self, request: ClientRequest, handler: ClientHandlerType) -> ClientResponse:
        """As ``aiohttp`` has it."""
        return await self.run(request.method, lambda: handler(request))

    async def run(self, method: str, send: Callable[[], Awaitable[T]]) -> T:
        """Send; once more where a kept connection was dead (RFC 9112 §9.3.1), and never else.

        aiohttp would repeat on a fresh connection too: a peer that falls over at each request
        would get two where the limiter let one go.
        """
        try:
            return await self._once(send)
        except aiohttp.ClientConnectorError:
            raise
        except _BREAKS as error:
            repeatable = method in _IDEMPOTENT or not self.left
            if not (self.reused and repeatable):
                raise _broken(error) from error
        try:
            return await self._once(send)
        except aiohttp.ClientConnectorError:
            raise
        except _BREAKS as error:
            raise _broken(error) from error

    async def _once(self, send: Callable[[], Awaitable[T]]) -> T:
        self.connected = False
        self.reused = True
        _CURRENT.set(self)
        try:
            response = await send()
        except aiohttp.ClientConnectionResetError:
            # Raised in place of a write, where the transport is closing already.
            raise
        except UnicodeError as error:
            raise BrokenError(NO_SUCH_NAME) from error
        except BaseException:
            self.left = self.left or self.connected
            raise
        self.left = True
        return response


#: Whose connection is being looked for in this task. The client's own traces would say it too, at
#: a tenth of the whole cost of a request.
_CURRENT: Final[ContextVar[Attempt]] = ContextVar("attempt")


class Connector(aiohttp.TCPConnector):
    """Tells each ``Attempt`` whether it got a connection, and whether that was a kept one."""

    async def connect(
        self,
        request: ClientRequest,
        traces: list[Trace],
        timeout: ClientTimeout,  # noqa: ASYNC109 (as aiohttp has it)
    ) -> Connection:
        """As ``aiohttp`` has it."""
        connection = await super().connect(request, traces, timeout)
        _CURRENT.get().connected = True
        return connection

    async def _create_connection(
        self,
        request: ClientRequest,
        traces: list[Trace],
        timeout: ClientTimeout,  # noqa: ASYNC109 (as aiohttp has it)
    ) -> ResponseHandler:
        _CURRENT.get().reused = False
        return await super()._create_connection(request, traces, timeout)


def _broken(error: aiohttp.ClientError) -> BrokenError:
    if isinstance(error, aiohttp.ServerDisconnectedError):
        return BrokenError(Failure("the connection was closed before an answer"))
    if isinstance(error, OSError) and error.errno is not None:
        return BrokenError(failure_of(error))
    return BrokenError(Failure("the connection broke before an answer"))
