"""Asking the daemon of a site over its local socket: how it is found, and what it answers."""

from __future__ import annotations

import json
import os
import socket
from collections.abc import Iterable, Mapping
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

from bridge.errors import LampwrightError
from bridge.service.socket_path import check_private, private_folder, socket_places

#: The daemon has as long for its own answer.
PATIENCE_S: Final = 5.0
#: More than the picture of any site.
MOST_BYTES: Final = 16 * 1024 * 1024
#: As sent to the daemon.
Said = Mapping[str, object]


class NoDaemonError(LampwrightError):
    """Nobody runs the site."""

    def __init__(self, directory: Path) -> None:
        super().__init__(
            f"{directory}: no daemon runs this site, so there is nobody to ask; start it with: "
            f"lampwright run {directory}"
        )


class NotReachedError(LampwrightError):
    """A daemon runs the site, and cannot be asked."""

    def __init__(self, directory: Path, why: str) -> None:
        super().__init__(f"{directory}: the daemon of this site cannot be asked: {why}")


class RefusedError(LampwrightError):
    """The daemon did not understand, or could not answer."""


class Daemon:
    """A connection to the daemon of a site: a line out, a line back."""

    def __init__(self, directory: Path, environment: Mapping[str, str]) -> None:
        self._directory = directory
        self._socket = _connected(directory, environment)
        self._answers = self._socket.makefile("rb")

    def __enter__(self) -> Self:
        """It is connected already."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Let go."""
        self._answers.close()
        self._socket.close()

    def ask(self, said: Said) -> Any:  # noqa: ANN401 - what JSON holds
        """Its answer; raises ``NotReachedError`` where there is none, ``RefusedError`` for no."""
        try:
            self._socket.sendall(json.dumps(said).encode() + b"\n")
            line = self._answers.readline(MOST_BYTES)
        except TimeoutError:
            why = f"it does not answer within {PATIENCE_S:g} s; its log may say why"
            raise NotReachedError(self._directory, why) from None
        except OSError as error:
            raise NotReachedError(self._directory, _why(error)) from None
        if not line.endswith(b"\n"):
            raise NotReachedError(self._directory, "it closed the connection")
        try:
            answer = json.loads(line)
        except ValueError:
            raise NotReachedError(self._directory, "what answers is not this program") from None
        if isinstance(answer, dict) and set(answer) == {"error"}:
            raise RefusedError(str(answer["error"]))
        return answer


def _connected(directory: Path, environment: Mapping[str, str]) -> socket.socket:
    places = socket_places(directory, environment)
    for path in places:
        try:
            return _connect(path)
        except (FileNotFoundError, NotADirectoryError, ConnectionRefusedError):
            continue
        except OSError as error:
            raise NotReachedError(directory, f"{path}: {_why(error)}") from None
    raise _absent(directory, places)


def _connect(path: Path) -> socket.socket:
    if path.parent == private_folder():
        check_private(path.parent)
    connection = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        connection.settimeout(PATIENCE_S)
        connection.connect(os.fspath(path))
    except OSError:
        connection.close()
        raise
    return connection


def _absent(directory: Path, places: Iterable[Path]) -> LampwrightError:
    """Why nobody is there."""
    from bridge.service.lock import site_lock

    if not site_lock(directory).held_elsewhere():
        return NoDaemonError(directory)
    return NotReachedError(
        directory,
        f"its socket is not {' nor '.join(map(str, places))}; ask as the user that runs it",
    )


def _why(error: OSError) -> str:
    why = (error.strerror or str(error)).lower()
    if isinstance(error, PermissionError):
        return f"{why}; ask as the user that runs it, or as a member of that user's group"
    return why
