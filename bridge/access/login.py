"""A log-in that gives a token which expires."""

from __future__ import annotations

import asyncio
import json
from typing import Final

import aiohttp
from aiohttp import ClientHandlerType, ClientRequest, ClientResponse
from yarl import URL

from bridge.access.attempt import Attempt
from bridge.access.body import read_capped
from bridge.access.credentials import Credential
from bridge.access.failure import AccessError
from bridge.engine.site import Login
from bridge.facts.places import ABSENT, compile_place

_UNAUTHORIZED: Final = 401
_MOST_BYTES: Final = 64 * 1024
_MOST_BRACKETS: Final = 200


class LogIn:
    """Client middleware: the token is fetched once, and again when an answer says 401."""

    def __init__(self, login: Login, credential: Credential) -> None:
        self._login = login
        self._credential = credential
        self._place = compile_place(login.token_at)
        self._token: str | None = None
        self._fetching = asyncio.Lock()

    def __repr__(self) -> str:
        return f"<LogIn at {self._login.url}>"

    async def __call__(self, request: ClientRequest, handler: ClientHandlerType) -> ClientResponse:
        """Send with the token; once more with a new one where it is not taken."""
        known = self._token
        token = known or await self._fetch(None, request.session)
        response = await self._send(request, handler, token)
        # A token that is new and still not taken will not get better by another.
        if response.status != _UNAUTHORIZED or known is None:
            return response
        response.close()
        return await self._send(request, handler, await self._fetch(known, request.session))

    async def _send(
        self, request: ClientRequest, handler: ClientHandlerType, token: str
    ) -> ClientResponse:
        request.headers[self._login.header] = self._login.before + token
        return await handler(request)

    async def _fetch(self, stale: str | None, session: aiohttp.ClientSession) -> str:
        """A token other than ``stale``; requests that need one at the same time share it."""
        async with self._fetching:
            if self._token is None or self._token == stale:
                self._token = None
                self._token = await self._log_in(session)
            return self._token

    async def _log_in(self, session: aiohttp.ClientSession) -> str:
        login = self._login
        async with session.request(
            login.method,
            URL(login.url),
            data=self._credential.log_in,
            headers={"Content-Type": "application/json"},
            allow_redirects=False,
            middlewares=(Attempt(),),
        ) as response:
            body = await read_capped(response, _MOST_BYTES)
        if not 200 <= response.status < 300 or body is None:
            raise AccessError(
                f"the log-in at {login.url} answered {response.status}: "
                f"check the credential '{self._credential.name}'"
            )
        return self._token_in(body)

    def _token_in(self, body: bytes) -> str:
        login = self._login
        # No answer to a log-in is deep; one that is would exhaust the parser's stack.
        deep = body.count(b"[") + body.count(b"{") > _MOST_BRACKETS
        try:
            token = ABSENT if deep else self._place.find(json.loads(body))
        except ValueError:
            raise AccessError(f"the log-in at {login.url} did not answer in JSON") from None
        if token is ABSENT or not isinstance(token, str) or not token.isprintable():
            raise AccessError(f"the log-in at {login.url} gave no token at {login.token_at}")
        return token
