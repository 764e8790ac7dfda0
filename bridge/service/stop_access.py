"""How the stop step is let in: as the daemon is, with the standard library only."""

from __future__ import annotations

import http.client
from collections.abc import Callable, Mapping
from typing import Any, Final, TypeAlias

from bridge.access.credentials import Credential, Credentials
from bridge.access.digest import Digest
from bridge.access.failure import AccessError

#: Sends one request to a URL and gives back status and body.
Ask: TypeAlias = Callable[[str, str, bytes], tuple[int, bytes]]
#: What finds a JSON Pointer in a document: raises ``ValueError``, ``LookupError``, ``TypeError``.
Find: TypeAlias = Callable[[bytes, str], Any]


class Entry:
    """Gives each request the headers that it needs. Mutable: it learns from what it is answered."""

    def __init__(
        self, controller: Mapping[str, Any], environment: Mapping[str, str], ask: Ask, find: Find
    ) -> None:
        self._form: Final = controller["access"]
        self._header: Final = controller["header"] or "Authorization"
        self._login: Final = controller["login"]
        self._ask, self._find = ask, find
        self._digest: Digest | None = None
        self._token: str | None = None
        self._credential: Final = (
            None
            if self._form == "none"
            else Credentials(environment).look_up(controller["credential"] or "")
        )

    def headers(self, method: str, target: str) -> dict[str, str | bytes]:
        """For a request; a log-in that is needed first is made."""
        credential = self._credential
        if credential is None:
            return {}
        if self._form == "basic":
            return {"Authorization": credential.basic}
        if self._form == "bearer":
            return {"Authorization": f"Bearer {credential.token}"}
        if self._form == "digest":
            # Names need not be Latin (RFC 7616 §4).
            header = None if self._digest is None else self._digest.header(method, target).encode()
            return {} if header is None else {"Authorization": header}
        if self._form == "log-in":
            self._token = self._token or self._logged_in(credential)
            return {self._login["header"]: self._login["before"] + self._token}
        return {self._header: credential.token}

    def challenged(self, response: http.client.HTTPResponse) -> bool:
        """Whether an answer that refuses lets us answer back: the first challenge of a digest."""
        if (
            response.status != http.client.UNAUTHORIZED
            or self._form != "digest"
            or self._credential is None
            or self._digest is not None
        ):
            return False
        self._digest = Digest(response.headers.get_all("WWW-Authenticate", []), self._credential)
        return True

    def _logged_in(self, credential: Credential) -> str:
        url, place = self._login["url"], self._login["token_at"]
        if place.startswith("$"):
            raise AccessError(f"a token at {place} is more than the stop step can find")
        status, body = self._ask(self._login["method"], url, credential.log_in)
        if not 200 <= status < 300:
            raise AccessError(
                f"the log-in at {url} answered {status}: check the credential '{credential.name}'"
            )
        try:
            token = self._find(body, place)
        except (ValueError, LookupError, TypeError, RecursionError):
            token = None
        if not isinstance(token, str) or not token.isprintable():
            raise AccessError(f"the log-in at {url} gave no token at {place}")
        return token
