"""HTTP sessions: one for each address, with what lets us in, and plain words for what fails."""

from __future__ import annotations

import math
import ssl
from collections.abc import Iterable
from contextlib import AbstractAsyncContextManager
from functools import lru_cache
from http import HTTPStatus
from typing import Final

import aiohttp
from aiohttp import ClientMiddlewareType, ClientResponse, ClientTimeout, DigestAuthMiddleware
from yarl import URL

from bridge.access.attempt import Attempt, BrokenError, Connector
from bridge.access.body import read_capped
from bridge.access.credentials import Credential, Credentials
from bridge.access.direct import Direct, Reply
from bridge.access.failure import AccessError, Failure, failure_of, first_line, not_http
from bridge.access.login import LogIn
from bridge.access.tls import context_of, digest_of_pin
from bridge.engine.site import Access

#: A board has few sockets and frees a closed one late, so that the one connection is worth keeping
#: from one poll to the next; a peer that thinks otherwise closes it first.
KEEP_S: Final = 75.0
#: Embedded servers have header limits of 512 bytes: nothing is sent that nobody needs. A body must
#: come as it is: unpacking would get round the caps.
_HEADERS: Final = {"Accept-Encoding": "identity"}
_LEFT_OUT: Final = ("Accept", "User-Agent")


class Session:
    """A kept-alive client for one address, which lets itself in. Redirects are not followed."""

    def __init__(
        self, access: Access, credentials: Credentials, *, tls: bool, connections: int = 1
    ) -> None:
        headers, self._middlewares = _let_in(access, credentials)
        connector = Connector(
            limit=connections, keepalive_timeout=KEEP_S, ssl=not tls or _trusted(access)
        )
        self._client = aiohttp.ClientSession(
            connector=connector,
            cookie_jar=aiohttp.DummyCookieJar(),
            headers=_HEADERS | headers,
            skip_auto_headers=_LEFT_OUT,
            auto_decompress=False,
            trust_env=False,
        )
        self._direct = (
            None if self._middlewares else Direct(self._client, connector, _HEADERS | headers)
        )

    def request(
        self,
        method: str,
        url: URL,
        *,
        body: bytes | None,
        headers: Iterable[tuple[str, str]],
        timeout_ms: int,
        attempt: Attempt,
    ) -> AbstractAsyncContextManager[ClientResponse]:
        """One request; ``attempt`` tells afterwards how far it came."""
        return self._client.request(
            method,
            url,
            data=body,
            headers=headers,
            allow_redirects=False,
            timeout=_timeout(timeout_ms),
            middlewares=(*self._middlewares, attempt),
        )

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
        """One request and its whole answer, where nothing but status and body is of interest."""
        if self._direct is not None:
            return await self._direct.exchange(
                method,
                url,
                body=body,
                headers=headers,
                timeout_ms=timeout_ms,
                attempt=attempt,
                most_bytes=most_bytes,
            )
        async with self.request(
            method, url, body=body, headers=headers, timeout_ms=timeout_ms, attempt=attempt
        ) as response:
            return Reply(response.status, await read_capped(response, most_bytes))

    async def close(self) -> None:
        """Close its connections."""
        await self._client.close()


@lru_cache(maxsize=64)
def _timeout(timeout_ms: int) -> ClientTimeout:
    # aiohttp rounds up what is above its threshold to whole seconds; the core counts in ms.
    return ClientTimeout(total=timeout_ms / 1000, ceil_threshold=math.inf)


def _trusted(access: Access) -> ssl.SSLContext | aiohttp.Fingerprint | bool:
    if access.pinned is not None:
        return aiohttp.Fingerprint(digest_of_pin(access.pinned))
    if access.ca_file is not None:
        return context_of(access.ca_file, None, None)
    return True


def _let_in(
    access: Access, credentials: Credentials
) -> tuple[dict[str, str], tuple[ClientMiddlewareType, ...]]:
    """The headers of every request, and what goes between the request and the wire."""
    if access.form == "none":
        return {}, ()
    credential = _known(access, credentials)
    match access.form:
        case "basic":
            return {"Authorization": credential.basic}, ()
        case "bearer":
            return {"Authorization": f"Bearer {credential.token}"}, ()
        case "header":
            return {access.header or "Authorization": credential.token}, ()
        case "digest":
            return {}, (DigestAuthMiddleware(credential.user, credential.password),)
        case "log-in":
            if access.login is None:
                raise AccessError("a log-in needs the request that gives its token")
            return {}, (LogIn(access.login, credential),)


def _known(access: Access, credentials: Credentials) -> Credential:
    if access.credential is None:
        raise AccessError(f"access by {access.form} needs the name of a credential")
    return credentials.look_up(access.credential)


def status_words(status: int) -> str:
    """``503 Service Unavailable``: the standard's phrase, not the peer's, which may be anything."""
    try:
        return f"{status} {HTTPStatus(status).phrase}"
    except ValueError:
        return str(status)


def failure_of_client(error: aiohttp.ClientError) -> Failure:
    """The sentence for what aiohttp raises."""
    match error:
        case BrokenError():
            return error.failure
        case aiohttp.InvalidURL():
            return Failure(f"'{error.url}' is no address of HTTP")
        case aiohttp.ClientConnectorCertificateError():
            cause = error.certificate_error
            return failure_of(cause) if isinstance(cause, OSError) else Failure(str(cause))
        case aiohttp.ClientConnectorError():
            return failure_of(error.os_error)
        case aiohttp.ServerFingerprintMismatch():
            return Failure(
                f"its certificate is not the pinned one: it shows SHA-256 {error.got.hex()}",
                "if it was renewed, pin the new one",
            )
        case aiohttp.ServerTimeoutError():
            return Failure("no answer in time")
        case aiohttp.ClientPayloadError():
            return Failure("the answer was cut short")
        case aiohttp.ClientOSError():
            return failure_of(error)
        case aiohttp.ClientResponseError():
            return not_http(error.message)
        case _:
            return Failure(first_line(str(error)) or type(error).__name__)
