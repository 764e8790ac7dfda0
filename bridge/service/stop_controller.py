"""One controller that the stop step leaves off watch: the standard library only, no decision.

A controller that is busy, or lost a request, is asked again while there is time; each request, also
one that is repeated, takes its slot of the limit, counted on from what the daemon sent.
"""

from __future__ import annotations

import heapq
import http.client
import json
import mmap
import ssl
import struct
import time
from collections.abc import Mapping
from typing import Any, Final, TypeAlias
from urllib.parse import urlsplit

from bridge.access.credentials import Credentials
from bridge.access.failure import AccessError, failure_of
from bridge.access.tls import check_pin, context_of
from bridge.errors import LampwrightError

#: The instants of all slots, as the daemon keeps them; ``None`` where nobody knows.
Memory: TypeAlias = mmap.mmap | None

INSTANT: Final = struct.Struct("<q")
#: Between two tries of a request. A restart of the daemon waits for the step, and does it better.
PAUSES_S: Final = (0.3, 1.0)
#: No request is repeated later than so long before the step has to end.
LAST_TRY_S: Final = 7.0
_MOST_REPLY_BYTES: Final = 64 * 1024
#: RFC 6585 §4, RFC 9110 §15.6.4: come back later.
_BUSY: Final = (429, 503)


class NotTakenError(LampwrightError):
    """A request was answered, and not taken."""


class LaterError(LampwrightError):
    """As ``NotTakenError``, but the same may be taken later; ``wait_s`` is what was asked for."""

    def __init__(self, why: str, wait_s: float = 0.0) -> None:
        super().__init__(why)
        self.wait_s = wait_s


class OutOfTimeError(LampwrightError):
    """The step has to end."""


class Slots:
    """The limit of one address: its last instants, in memory shared with what the daemon wrote.

    ``memory`` holds 8 bytes for each; what it does not hold counts as used just now, as does an
    instant of the future, which is of another start of the board.
    """

    def __init__(self, controller: Mapping[str, Any], memory: Memory) -> None:
        self._window_ms = controller["window_ms"]
        self._memory = memory
        first, count = controller["sent"], controller["limit"] or 0
        now_ms = _now_ms()
        self._used = [(self._instant(at, now_ms), at) for at in range(first, first + count)]
        heapq.heapify(self._used)

    def _instant(self, number: int, now_ms: int) -> int:
        at = number * INSTANT.size
        if self._memory is None or at + INSTANT.size > len(self._memory):
            return now_ms
        (instant,) = INSTANT.unpack_from(self._memory, at)
        return min(int(instant), now_ms)

    def take(self, until_s: float) -> None:
        """Wait for the next slot and use it; raises ``OutOfTimeError``."""
        if not self._used:
            return
        oldest_ms, number = self._used[0]
        wait_s = (oldest_ms + self._window_ms + 1 - _now_ms()) / 1000
        if wait_s > 0:
            if time.monotonic() + wait_s > until_s:
                raise OutOfTimeError("its limits leave no time for it")
            time.sleep(wait_s)
        now_ms = _now_ms()
        heapq.heapreplace(self._used, (now_ms, number))
        at = number * INSTANT.size
        if self._memory is not None and at + INSTANT.size <= len(self._memory):
            # For a second stop step.
            INSTANT.pack_into(self._memory, at, now_ms)


def leave(
    controller: Mapping[str, Any],
    memory: Memory,
    environment: Mapping[str, str],
    until_s: float,
) -> str:
    """Send what is ready; returns in words why not all of it was taken, or nothing.

    ``until_s``: when it has to end, by the monotonic clock.
    """
    refused: list[str] = []
    try:
        slots, access = Slots(controller, memory), _let_in(controller, environment)
        for request in controller["requests"]:
            try:
                _insist(controller, request, access, slots, until_s)
            except (NotTakenError, LaterError) as error:
                refused.append(str(error))
    except OSError as error:
        return failure_of(error).why
    except http.client.HTTPException as error:
        return f"what it answered is not HTTP ({type(error).__name__})"
    except LampwrightError as error:
        return str(error)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        return f"what is ready for it cannot be used: {type(error).__name__} {error}"
    more = f" (and {len(refused) - 1} more)" if len(refused) > 1 else ""
    return refused[0] + more if refused else ""


def _insist(
    controller: Mapping[str, Any],
    request: Mapping[str, Any],
    access: Mapping[str, str],
    slots: Slots,
    until_s: float,
) -> None:
    for pause_s in (*PAUSES_S, None):
        slots.take(until_s)
        try:
            _send(controller, request, access, until_s)
        except ssl.SSLCertVerificationError:
            raise
        except (OSError, http.client.HTTPException, LaterError) as error:
            wait_s = max(pause_s or 0.0, getattr(error, "wait_s", 0.0))
            if pause_s is None or time.monotonic() + wait_s > until_s - LAST_TRY_S:
                raise
            time.sleep(wait_s)
        else:
            return


def _send(
    controller: Mapping[str, Any],
    request: Mapping[str, Any],
    access: Mapping[str, str],
    until_s: float,
) -> None:
    timeout_s = min(controller["timeout_ms"] / 1000, until_s - time.monotonic())
    if timeout_s <= 0:
        raise OutOfTimeError("there was no time left for it")
    connection = _connection(controller, timeout_s)
    try:
        connection.connect()
        _vouch(connection, controller["pinned"])
        body = None if request["body"] is None else request["body"].encode()
        headers = {**dict(map(tuple, request["headers"])), **access, "Connection": "close"}
        target = urlsplit(controller["url"]).path + request["target"]
        connection.request(request["method"], target, body, headers)
        _judge(request, connection.getresponse())
    finally:
        connection.close()


def _judge(request: Mapping[str, Any], response: http.client.HTTPResponse) -> None:
    """As the bridge does: by the status, and by what a good answer says."""
    status, what = response.status, f"{request['method']} {request['target']}"
    accepts = request["accepts"]
    if not (status in accepts if accepts else 200 <= status < 300):
        why = f"it answers {what} with {status}"
        if status in _BUSY or status >= http.client.INTERNAL_SERVER_ERROR:
            raise LaterError(why, _seconds(response.getheader("Retry-After", "")))
        raise NotTakenError(why)
    reply = request["reply"]
    if reply is not None and not _says(response.read(_MOST_REPLY_BYTES), reply):
        raise LaterError(f"it answers {what} with {status}, but does not say that it took it")


def _seconds(text: str) -> float:
    return float(text) if text.isascii() and text.isdecimal() else 0.0


def _says(body: bytes, reply: Mapping[str, Any]) -> bool:
    """Whether what is wanted stands at a JSON Pointer (RFC 6901) of the answer."""
    try:
        found = json.loads(body)
        for token in reply["at"].split("/")[1:]:
            name = token.replace("~1", "/").replace("~0", "~")
            found = found[int(name)] if isinstance(found, list) else found[name]
    except (ValueError, LookupError, TypeError, RecursionError):
        return False
    wanted = reply["wanted"]
    # In Python True is 1; in JSON it is not.
    return isinstance(found, bool) == isinstance(wanted, bool) and bool(found == wanted)


def _connection(controller: Mapping[str, Any], timeout_s: float) -> http.client.HTTPConnection:
    url = urlsplit(controller["url"])
    host = url.hostname or ""
    if url.scheme != "https":
        return http.client.HTTPConnection(host, url.port, timeout=timeout_s)
    context = context_of(controller["ca_file"], None, controller["pinned"])
    return http.client.HTTPSConnection(host, url.port, timeout=timeout_s, context=context)


def _vouch(connection: http.client.HTTPConnection, pinned: str | None) -> None:
    """Nothing may be told to whoever has another certificate than the pinned one."""
    if pinned is not None and isinstance(connection.sock, ssl.SSLSocket):
        check_pin(pinned, connection.sock.getpeercert(binary_form=True))


def _let_in(controller: Mapping[str, Any], environment: Mapping[str, str]) -> dict[str, str]:
    form = controller["access"]
    if form == "none":
        return {}
    if form in {"digest", "log-in"}:
        raise AccessError(f"access by {form} is more than the stop step can do")
    credential = Credentials(environment).look_up(controller["credential"] or "")
    if form == "basic":
        return {"Authorization": credential.basic}
    if form == "bearer":
        return {"Authorization": f"Bearer {credential.token}"}
    return {controller["header"] or "Authorization": credential.token}


def _now_ms() -> int:
    return time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1_000_000
