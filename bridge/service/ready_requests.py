"""The ready requests on disk, for the stop step: what leaves the lights off watch.

Both files lie where the daemon's socket does, in memory that ends with the board's power: when that
goes, so does the stop step. Credentials stand in them by name only.
"""

from __future__ import annotations

import json
import mmap
import os
import struct
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Final

from bridge.engine.leaving import Ready, ReadyRequest
from bridge.lights.dialect.grammar import ReplyCheck

READY_SUFFIX: Final = ".ready"
SENT_SUFFIX: Final = ".sent"
_INSTANT: Final = struct.Struct("<q")


def ready_path(socket: Path) -> Path:
    """Where the ready requests of the site with this socket lie."""
    return socket.with_suffix(READY_SUFFIX)


def sent_path(socket: Path) -> Path:
    """Where the instants of what was sent lie."""
    return socket.with_suffix(SENT_SUFFIX)


def write_ready(path: Path, ready: Iterable[Ready]) -> None:
    """Write them, whole or not at all; raises ``OSError``."""
    first, controllers = 0, []
    for each in ready:
        controllers.append({**_plain(each), "sent": first})
        first += each.dialect.limits.requests or 0
    text = json.dumps({"controllers": controllers}, ensure_ascii=False)
    fresh = path.with_suffix(f"{READY_SUFFIX}.new")
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_NOFOLLOW, 0o600)
    with os.fdopen(descriptor, "w", encoding="utf-8") as file:
        file.write(text)
    fresh.replace(path)


def _plain(ready: Ready) -> dict[str, object]:
    controller, access, bears = ready.controller, ready.controller.access, ready.dialect.limits
    return {
        "name": controller.name,
        "url": controller.url.rstrip("/"),
        "access": access.form,
        "credential": access.credential,
        "header": access.header,
        "login": None if access.login is None else asdict(access.login),
        "ca_file": access.ca_file,
        "pinned": access.pinned,
        "limit": bears.requests,
        "window_ms": bears.window_ms,
        "timeout_ms": bears.timeout_ms,
        "requests": [_plain_request(each) for each in ready.requests],
    }


def _plain_request(ready: ReadyRequest) -> dict[str, object]:
    prepared, template = ready.prepared, ready.template
    return {
        "method": prepared.method,
        "target": prepared.path,
        "headers": [list(header) for header in prepared.headers],
        "body": None if prepared.body is None else prepared.body.decode("utf-8"),
        "accepts": list(template.accepts),
        "reply": None if template.reply is None else _plain_reply(template.reply),
    }


def _plain_reply(reply: ReplyCheck) -> dict[str, object] | None:
    """Where a good answer says so; a JSONPath is more than the stop step can follow."""
    text = reply.at.text
    return None if text.startswith("$") else {"at": text, "wanted": reply.wanted}


class SentInstants:
    """When each controller was last asked, as often as its limit counts; CLOCK_BOOTTIME in ms.

    Written at each request into memory that outlives the process, a few bytes and no system call.
    """

    def __init__(self, path: Path, ready: Iterable[Ready], now_ms: int) -> None:
        self._places: dict[str, tuple[int, int]] = {}
        self._next: dict[str, int] = {}
        length = 0
        for each in ready:
            name, count = each.controller.name, each.dialect.limits.requests or 0
            self._places[name], self._next[name] = (length, count), 0
            length += count
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_NOFOLLOW, 0o600)
        try:
            # What an earlier run sent in its last moments is not known: as if it were just now.
            os.write(descriptor, _INSTANT.pack(now_ms) * max(1, length))
            self._map = mmap.mmap(descriptor, 0)
        finally:
            os.close(descriptor)

    def sent(self, controller: str, now_ms: int) -> None:
        """It is asked now."""
        first, count = self._places.get(controller, (0, 0))
        if count:
            number = self._next[controller]
            _INSTANT.pack_into(self._map, (first + number) * _INSTANT.size, now_ms)
            self._next[controller] = (number + 1) % count

    def close(self) -> None:
        """Let go of the memory; the file stays."""
        self._map.close()
