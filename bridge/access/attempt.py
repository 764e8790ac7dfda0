"""How far one HTTP request came, and the one repetition that a kept connection may need."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Final

import aiohttp
from aiohttp import ClientHandlerType, ClientRequest, ClientResponse

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


class Attempt:
    """One request's way to the wire: the client's innermost middleware.

    ``left`` is false as long as certainly no byte of the request has gone out.
    """

    __slots__ = ("_connected", "_reused", "left")

    def __init__(self) -> None:
        self._connected = False
        self._reused = False
        self.left = False

    async def __call__(self, request: ClientRequest, handler: ClientHandlerType) -> ClientResponse:
        """Send; once more where a kept connection was dead (RFC 9112 §9.3.1), and never else.

        aiohttp would repeat on a fresh connection too: a peer that falls over at each request
        would get two where the limiter let one go.
        """
        try:
            return await self._send(request, handler)
        except aiohttp.ClientConnectorError:
            raise
        except _BREAKS as error:
            repeatable = request.method in _IDEMPOTENT or not self.left
            if not (self._reused and repeatable):
                raise _broken(error) from error
        try:
            return await self._send(request, handler)
        except aiohttp.ClientConnectorError:
            raise
        except _BREAKS as error:
            raise _broken(error) from error

    async def _send(self, request: ClientRequest, handler: ClientHandlerType) -> ClientResponse:
        self._connected = self._reused = False
        try:
            response = await handler(request)
        except aiohttp.ClientConnectionResetError:
            # Raised in place of a write, where the transport is closing already.
            raise
        except UnicodeError as error:
            raise BrokenError(NO_SUCH_NAME) from error
        except BaseException:
            self.left = self.left or self._connected
            raise
        self.left = True
        return response

    def _made(self) -> None:
        self._connected = True

    def _found(self) -> None:
        self._connected = self._reused = True


def traces() -> aiohttp.TraceConfig:
    """What a session needs to tell each request's ``Attempt`` about its connection."""
    config = aiohttp.TraceConfig()
    config.on_connection_create_end.append(_on_made)
    config.on_connection_reuseconn.append(_on_found)
    return config


async def _on_made(_session: object, context: SimpleNamespace, _params: object) -> None:
    attempt: Attempt = context.trace_request_ctx
    attempt._made()  # noqa: SLF001 (the two halves of one thing)


async def _on_found(_session: object, context: SimpleNamespace, _params: object) -> None:
    attempt: Attempt = context.trace_request_ctx
    attempt._found()  # noqa: SLF001 (as above)


def _broken(error: aiohttp.ClientError) -> BrokenError:
    if isinstance(error, aiohttp.ServerDisconnectedError):
        return BrokenError(Failure("the connection was closed before an answer"))
    if isinstance(error, OSError) and error.errno is not None:
        return BrokenError(failure_of(error))
    return BrokenError(Failure("the connection broke before an answer"))
