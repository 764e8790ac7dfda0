"""The daemon's local socket: one line of JSON in, one line of JSON out, as often as wanted.

``{"wish": …}`` with ``who`` if somebody else than the user at the other end wishes it gives
``{"taken": …, "kept": …, "why": …}``; ``{"ask": "view"}`` gives the picture. What cannot be
understood gives ``{"error": …}``. Whoever may open the socket may wish: its mode says who.
"""

from __future__ import annotations

import asyncio
import contextlib
import errno
import json
import os
import pwd
import socket
import stat
import struct
from collections.abc import Awaitable, Callable, Mapping
from pathlib import Path
from typing import Final, TypeAlias

from bridge.engine.actions import Tell
from bridge.engine.view import View
from bridge.engine.wishes import Wish
from bridge.errors import LampwrightError
from bridge.facts.decoding import Refusal, read_json
from bridge.service.socket_path import make_private, private_folder
from bridge.service.view_plain import view_plain
from bridge.service.wish_lines import MOST_CHARACTERS, NoWishError, wish_of

#: A wish with its names and its reason; no line is longer.
MOST_BYTES: Final = 64 * 1024
#: At once; a person has one or two commands, a page one.
MOST_CONNECTIONS: Final = 16
#: A connection on which nothing is asked for so long is closed.
IDLE_S: Final = 60.0
#: The daemon answers within this, or says that it cannot.
ANSWER_WITHIN_S: Final = 5.0
#: From the loop's accepting a connection to its being handed out, with room to spare.
_TURNS: Final = 5
MODE: Final = 0o660
#: struct ucred of unix(7): process, user, group.
_CREDENTIALS: Final = struct.Struct("iII")

#: Grants a wish: who, and what.
Wisher: TypeAlias = Callable[[str, Wish], Awaitable[Tell]]
#: What is answered to one word of ``ask``, as JSON has it.
Answering: TypeAlias = Callable[[], object]


class CannotListenError(LampwrightError):
    """The socket cannot be made, so no command will reach this daemon."""

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(f"{path}: commands cannot reach this daemon: {why}")


class LocalSocket:
    """Serves wishes and questions until it is closed. ``askings`` are further words of ``ask``."""

    def __init__(
        self,
        path: Path,
        wish: Wisher,
        view: Callable[[], View],
        askings: Mapping[str, Answering] | None = None,
    ) -> None:
        self._path, self._wish = path, wish
        self._askings: dict[str, Answering] = {
            "view": lambda: view_plain(view()),
            **(askings or {}),
        }
        self._server: asyncio.Server | None = None
        self._connections: set[asyncio.Task[None]] = set()
        self._file: tuple[int, int] | None = None

    async def start(self) -> None:
        """Listen; raises ``CannotListenError`` or ``NotPrivateError``."""
        try:
            listening = _bound(self._path)
            self._file = _identity(self._path)
        except OSError as error:
            why = (error.strerror or str(error)).lower()
            raise CannotListenError(self._path, why) from None
        self._server = await asyncio.start_unix_server(
            self._connected, sock=listening, limit=MOST_BYTES
        )

    async def close(self) -> None:
        """Listen no more and let go of everybody."""
        if self._server is None:
            return
        # Accept nothing more, and let what was accepted just before be handed out within the next
        # turns of the loop: a server that is closed meanwhile would drop it with its socket open.
        loop = asyncio.get_running_loop()
        for listening in self._server.sockets:
            loop.remove_reader(listening.fileno())
        await _some_turns()
        self._server.close()
        for task in self._connections:
            task.cancel()
        await asyncio.gather(*self._connections, return_exceptions=True)
        # And what is closed lets go of its socket within the next: the loop may end after this.
        await _some_turns()
        await self._server.wait_closed()
        self._server = None
        with contextlib.suppress(OSError):
            # Not that of a daemon which came after this one.
            if _identity(self._path) == self._file:
                self._path.unlink()

    def _connected(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        """Known from its first instant, so that whoever closes ends it too."""
        if len(self._connections) >= MOST_CONNECTIONS:
            writer.close()
            return
        task = asyncio.get_running_loop().create_task(self._serve(reader, writer))
        self._connections.add(task)
        # Even where it is ended before it begins.
        task.add_done_callback(lambda _: writer.close())
        task.add_done_callback(self._connections.discard)

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        # Gone, silent for too long, or the daemon ends: there is nobody to tell.
        with contextlib.suppress(OSError, TimeoutError, asyncio.CancelledError):
            await self._converse(reader, writer)

    async def _converse(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        user = _user_of(writer.get_extra_info("socket"))
        while True:
            try:
                line = await asyncio.wait_for(reader.readline(), IDLE_S)
            except ValueError:
                await _answer(writer, {"error": f"a line has at most {MOST_BYTES} bytes"})
                return
            if not line:
                return
            await _answer(writer, await self._answer_to(line, user))

    async def _answer_to(self, line: bytes, user: str) -> object:
        said = read_json(line)
        if isinstance(said, Refusal):
            return {"error": f"{said.why.value}: {said.detail}; {_expected(self._askings)}"}
        if isinstance(said, dict) and "wish" in said:
            return await self._wished(said, user)
        word = said.get("ask") if isinstance(said, dict) and len(said) == 1 else None
        if not isinstance(word, str) or word not in self._askings:
            return {"error": _expected(self._askings)}
        return self._askings[word]()

    async def _wished(self, said: dict[str, object], user: str) -> object:
        who = said.pop("who", user)
        if not isinstance(who, str) or not 1 <= len(who) <= MOST_CHARACTERS:
            return {"error": f"who: expected a name of 1 to {MOST_CHARACTERS} characters"}
        try:
            wish = wish_of(said)
        except NoWishError as error:
            return {"error": str(error)}
        try:
            tell = await asyncio.wait_for(self._wish(who, wish), ANSWER_WITHIN_S)
        except TimeoutError:
            return {"error": f"not answered within {ANSWER_WITHIN_S:g} s: it may yet be taken"}
        return {"taken": tell.taken, "kept": tell.kept, "why": tell.why}


async def _some_turns() -> None:
    for _ in range(_TURNS):
        await asyncio.sleep(0)


async def _answer(writer: asyncio.StreamWriter, said: object) -> None:
    writer.write(json.dumps(said, ensure_ascii=False, separators=(",", ":")).encode() + b"\n")
    await asyncio.wait_for(writer.drain(), ANSWER_WITHIN_S)


def _expected(askings: Mapping[str, Answering]) -> str:
    words = " or ".join(f'{{"ask": "{word}"}}' for word in askings)
    return f'expected one line of JSON: {{"wish": …}} or {words}'


def _bound(path: Path) -> socket.socket:
    """A socket at ``path`` that does not listen yet, so that its mode holds from the first."""
    if path.parent == private_folder():
        make_private(path.parent)
    _clear(path)
    made = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        made.bind(os.fspath(path))
        path.chmod(MODE)
    except OSError:
        made.close()
        raise
    return made


def _clear(path: Path) -> None:
    """Take away what a dead daemon left; raises ``CannotListenError`` where one is alive."""
    try:
        mode = path.lstat().st_mode
    except FileNotFoundError:
        return
    if not stat.S_ISSOCK(mode):
        raise CannotListenError(path, "something else than a socket lies there, remove it")
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as probe:
        probe.settimeout(0)
        refused = probe.connect_ex(os.fspath(path))
    if refused not in {errno.ECONNREFUSED, errno.ENOENT}:
        raise CannotListenError(path, "another process listens there")
    path.unlink(missing_ok=True)


def _identity(path: Path) -> tuple[int, int]:
    found = path.lstat()
    return found.st_dev, found.st_ino


def _user_of(peer: socket.socket) -> str:
    """The user at the other end, by name where it has one."""
    raw = peer.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, _CREDENTIALS.size)
    user: int = _CREDENTIALS.unpack(raw)[1]
    try:
        return pwd.getpwuid(user).pw_name
    except KeyError:
        return f"user {user}"
