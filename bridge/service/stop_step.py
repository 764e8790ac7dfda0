"""The unit's stop step: leaves the lights off watch after a daemon that could not do it itself.

``python -m bridge.service.stop_step SITE``, for ``ExecStopPost=``. It uses the standard library
only, so that it starts at once, decides nothing, and ends within ten seconds whatever happens.
"""

from __future__ import annotations

import http.client
import json
import os
import ssl
import struct
import sys
import threading
import time
from collections import deque
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, TextIO
from urllib.parse import urlsplit

from bridge.access.credentials import Credentials
from bridge.access.failure import failure_of
from bridge.access.tls import check_pin, context_of
from bridge.errors import LampwrightError
from bridge.service.lock import site_lock
from bridge.service.socket_path import socket_places

#: After that it ends, whatever was not sent.
MOST_S: Final = 10.0
_INSTANT: Final = struct.Struct("<q")


class NotSentError(LampwrightError):
    """A controller could not be left off watch."""


def main(arguments: list[str], environment: Mapping[str, str]) -> int:
    """Send what is ready; 0 where all of it was taken, 1 where something was not, 2 for misuse."""
    if len(arguments) != 1:
        _say(sys.stderr, "usage: python -m bridge.service.stop_step SITE")
        return 2
    directory = Path(arguments[0])
    if site_lock(directory).held_elsewhere():
        _say(sys.stdout, f"{directory}: its daemon runs, nothing to do")
        return 0
    ready = _found(directory, environment)
    if ready is None:
        _say(
            sys.stdout,
            f"{directory}: nothing is ready, its daemon left the lights off watch itself",
        )
        return 0
    path, controllers = ready
    instants = _instants(path.with_suffix(".sent"))
    until_s = time.monotonic() + MOST_S
    failures: dict[str, str] = {}
    threads = [
        threading.Thread(
            target=_leave, args=(each, instants, until_s, environment, failures), daemon=True
        )
        for each in controllers
    ]
    for thread in threads:
        thread.start()
    for each, thread in zip(controllers, threads, strict=True):
        thread.join(max(0.0, until_s - time.monotonic()))
        if thread.is_alive():
            failures.setdefault(each["name"], f"was not done within {MOST_S:g} s")
    for name, why in failures.items():
        _say(sys.stderr, f"controller {name} is not off watch: {why}")
    if not failures:
        path.unlink(missing_ok=True)
    return 1 if failures else 0


def _say(stream: TextIO, line: str) -> None:
    stream.write(f"{line}\n")


def _found(
    directory: Path, environment: Mapping[str, str]
) -> tuple[Path, list[dict[str, Any]]] | None:
    for socket in socket_places(directory, environment):
        path = socket.with_suffix(".ready")
        try:
            return path, json.loads(path.read_text("utf-8"))["controllers"]
        except FileNotFoundError:
            continue
        except (OSError, ValueError, KeyError, TypeError) as error:
            _say(sys.stderr, f"{path}: cannot be read: {error}")
    return None


def _instants(path: Path) -> list[int]:
    """When each slot was last used, in ms of CLOCK_BOOTTIME; empty where nobody knows."""
    try:
        kept = path.read_bytes()
    except OSError:
        return []
    return [instant for (instant,) in _INSTANT.iter_unpack(kept[: len(kept) // 8 * 8])]


def _leave(
    controller: dict[str, Any],
    instants: list[int],
    until_s: float,
    environment: Mapping[str, str],
    failures: dict[str, str],
) -> None:
    """One controller: its requests one after the other, never more often than it bears."""
    try:
        slots = _Slots(controller, instants)
        headers = _let_in(controller, environment)
        for request in controller["requests"]:
            slots.wait(until_s)
            _send(controller, request, headers, until_s)
    except OSError as error:
        failures[controller["name"]] = failure_of(error).why
    except (LampwrightError, ValueError, http.client.HTTPException) as error:
        failures[controller["name"]] = str(error) or type(error).__name__


class _Slots:
    """The limit of one address, counted on from what the daemon sent."""

    def __init__(self, controller: dict[str, Any], instants: list[int]) -> None:
        self._window_ms = controller["window_ms"]
        count = controller["limit"] or 0
        first = controller["sent"]
        used = sorted(instants[first : first + count])
        if len(used) < count:
            used = [_now_ms()] * count
        self._used = deque(used, maxlen=count)

    def wait(self, until_s: float) -> None:
        """Wait for the next slot and take it."""
        if not self._used.maxlen:
            return
        wait_ms = self._used[0] + self._window_ms + 1 - _now_ms()
        if wait_ms > 0:
            if time.monotonic() + wait_ms / 1000 > until_s:
                raise NotSentError("its limits leave no time for it")
            time.sleep(wait_ms / 1000)
        self._used.append(_now_ms())


def _now_ms() -> int:
    return time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1_000_000


def _send(
    controller: dict[str, Any], request: dict[str, Any], access: dict[str, str], until_s: float
) -> None:
    timeout = min(controller["timeout_ms"] / 1000, until_s - time.monotonic())
    if timeout <= 0:
        raise NotSentError(f"was not done within {MOST_S:g} s")
    url = urlsplit(controller["url"])
    connection = _connection(controller, timeout)
    try:
        body = None if request["body"] is None else request["body"].encode()
        headers = {**dict(map(tuple, request["headers"])), **access, "Connection": "close"}
        connection.request(request["method"], url.path + request["target"], body, headers)
        status = connection.getresponse().status
    finally:
        connection.close()
    if not 200 <= status < 300:
        raise NotSentError(f"it answers {request['method']} {request['target']} with {status}")


def _connection(controller: dict[str, Any], timeout: float) -> http.client.HTTPConnection:
    url, pinned = urlsplit(controller["url"]), controller["pinned"]
    host = url.hostname or ""
    if url.scheme != "https":
        return http.client.HTTPConnection(host, url.port, timeout=timeout)
    context = context_of(controller["ca_file"], None, pinned)
    connection = http.client.HTTPSConnection(host, url.port, timeout=timeout, context=context)
    connection.connect()
    if pinned is not None and isinstance(connection.sock, ssl.SSLSocket):
        # Nothing may be told to whoever has another certificate.
        check_pin(pinned, connection.sock.getpeercert(binary_form=True))
    return connection


def _let_in(controller: dict[str, Any], environment: Mapping[str, str]) -> dict[str, str]:
    form = controller["access"]
    if form == "none":
        return {}
    if form in {"digest", "log-in"}:
        raise NotSentError(f"access by {form} is more than the stop step can do")
    credential = Credentials(environment).look_up(controller["credential"] or "")
    if form == "basic":
        return {"Authorization": credential.basic}
    if form == "bearer":
        return {"Authorization": f"Bearer {credential.token}"}
    return {controller["header"] or "Authorization": credential.token}


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:], os.environ))
