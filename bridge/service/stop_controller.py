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
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any, Final, TypeAlias
from urllib.parse import urlsplit

from bridge.access.failure import failure_of
from bridge.access.tls import check_pin, context_of
from bridge.errors import LampwrightError
from bridge.service.stop_access import Entry

#: The instants of all slots, as the daemon keeps them; ``None`` where nobody knows.
Memory: TypeAlias = mmap.mmap | None

INSTANT: Final = struct.Struct("<q")
#: Between two tries of a request. A restart of the daemon waits for the step, and does it better.
PAUSES_S: Final = (0.3, 1.0)
#: No request is repeated later than so long before the step has to end.
LAST_TRY_S: Final = 7.0
MOST_REPLY_BYTES: Final = 64 * 1024
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
        slots = Slots(controller, memory)
        way = _Way(controller, slots, until_s)
        entry = Entry(controller, environment, way.ask, found_at)
        for request in controller["requests"]:
            try:
                _insist(way, request, entry)
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


class _Way:
    """To one controller: a connection for each request, each in its slot, none too late."""

    def __init__(self, controller: Mapping[str, Any], slots: Slots, until_s: float) -> None:
        self._controller, self._slots, self.until_s = controller, slots, until_s

    def ask(self, method: str, url: str, body: bytes) -> tuple[int, bytes]:
        """Send JSON anywhere, for a log-in; status and body."""
        with self._asked(method, url, body, {"Content-Type": "application/json"}) as response:
            return response.status, response.read(MOST_REPLY_BYTES)

    def tell(self, request: Mapping[str, Any], entry: Entry) -> None:
        """Send what is ready, and see what becomes of it."""
        url = self._controller["url"] + request["target"]
        body = None if request["body"] is None else request["body"].encode()
        for _ in range(2):
            access = entry.headers(request["method"], _target(url))
            headers = {**dict(map(tuple, request["headers"])), **access}
            with self._asked(request["method"], url, body, headers) as response:
                if not entry.challenged(response):
                    return _judge(request, response)
        raise NotTakenError(f"it answers {request['method']} {request['target']} with a challenge")

    @contextmanager
    def _asked(
        self, method: str, url: str, body: bytes | None, headers: Mapping[str, str | bytes]
    ) -> Iterator[http.client.HTTPResponse]:
        self._slots.take(self.until_s)
        timeout_s = min(self._controller["timeout_ms"] / 1000, self.until_s - time.monotonic())
        if timeout_s <= 0:
            raise OutOfTimeError("there was no time left for it")
        connection = _connection(self._controller, url, timeout_s)
        try:
            connection.connect()
            _vouch(connection, self._controller["pinned"])
            connection.request(method, _target(url), body, {**headers, "Connection": "close"})
            yield connection.getresponse()
        finally:
            connection.close()


def _target(url: str) -> str:
    """What stands in the first line of the request."""
    parts = urlsplit(url)
    return (parts.path or "/") + (f"?{parts.query}" if parts.query else "")


def _insist(way: _Way, request: Mapping[str, Any], entry: Entry) -> None:
    for pause_s in (*PAUSES_S, None):
        try:
            way.tell(request, entry)
        except ssl.SSLCertVerificationError:
            raise
        except (OSError, http.client.HTTPException, LaterError) as error:
            wait_s = max(pause_s or 0.0, getattr(error, "wait_s", 0.0))
            if pause_s is None or time.monotonic() + wait_s > way.until_s - LAST_TRY_S:
                raise
            time.sleep(wait_s)
        else:
            return


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
    if reply is not None and not _says(response.read(MOST_REPLY_BYTES), reply):
        raise LaterError(f"it answers {what} with {status}, but does not say that it took it")


def _seconds(text: str) -> float:
    return float(text) if text.isascii() and text.isdecimal() else 0.0


def found_at(body: bytes, pointer: str) -> Any:  # noqa: ANN401 - any JSON
    """What stands at a JSON Pointer (RFC 6901) of an answer.

    Raises ``ValueError``, ``LookupError``, ``TypeError`` or ``RecursionError`` where nothing does.
    """
    found = json.loads(body)
    for token in pointer.split("/")[1:]:
        name = token.replace("~1", "/").replace("~0", "~")
        found = found[int(name)] if isinstance(found, list) else found[name]
    return found


def _says(body: bytes, reply: Mapping[str, Any]) -> bool:
    """Whether what is wanted stands where a good answer has it."""
    try:
        found = found_at(body, reply["at"])
    except (ValueError, LookupError, TypeError, RecursionError):
        return False
    wanted = reply["wanted"]
    # In Python True is 1; in JSON it is not.
    return isinstance(found, bool) == isinstance(wanted, bool) and bool(found == wanted)


def _connection(
    controller: Mapping[str, Any], url: str, timeout_s: float
) -> http.client.HTTPConnection:
    parts = urlsplit(url)
    host = parts.hostname or ""
    if parts.scheme != "https":
        return http.client.HTTPConnection(host, parts.port, timeout=timeout_s)
    context = context_of(controller["ca_file"], None, controller["pinned"])
    return http.client.HTTPSConnection(host, parts.port, timeout=timeout_s, context=context)


def _vouch(connection: http.client.HTTPConnection, pinned: str | None) -> None:
    """Nothing may be told to whoever has another certificate than the pinned one."""
    if pinned is not None and isinstance(connection.sock, ssl.SSLSocket):
        check_pin(pinned, connection.sock.getpeercert(binary_form=True))


def _now_ms() -> int:
    return time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1_000_000
