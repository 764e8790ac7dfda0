"""The daemon is found, asked and believed only so far."""

from __future__ import annotations

import os
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from bridge.cli import asking
from bridge.cli.asking import Daemon, NoDaemonError, NotReachedError, RefusedError
from bridge.engine.wishes import Acknowledge
from bridge.service import socket_path as places
from bridge.service.lock import site_lock
from bridge.service.socket_path import NotPrivateError, socket_path
from tests.cli.commands import CONFIG
from tests.cli.local_daemon import LocalDaemon


@contextmanager
def answering(path: Path, answer: bytes | None) -> Iterator[None]:
    """Somebody who answers one question with these bytes, or not at all."""
    served = socket.socket(socket.AF_UNIX)
    served.bind(str(path))
    served.listen()
    over = threading.Event()

    def serve() -> None:
        connection, _ = served.accept()
        with connection:
            connection.recv(1000)
            if answer is None:
                over.wait(10)
            else:
                connection.sendall(answer)

    serving = threading.Thread(target=serve)
    serving.start()
    try:
        yield
    finally:
        over.set()
        serving.join(10)
        served.close()


@pytest.fixture
def nowhere(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> dict[str, str]:
    """An environment in which no daemon is found by chance."""
    # By a short name: the path of a socket has 107 bytes at most.
    folder = tmp_path_factory.mktemp("n")
    monkeypatch.setattr(places, "OF_THE_UNIT", folder / "unit")
    monkeypatch.setattr(places, "SHARED", folder)
    (folder / "user").mkdir()
    return {"XDG_RUNTIME_DIR": str(folder / "user")}


def test_several_questions_on_one_connection(local_daemon: LocalDaemon, tmp_path: Path) -> None:
    """A wish may follow from what was seen."""
    with Daemon(CONFIG, {"RUNTIME_DIRECTORY": str(tmp_path)}) as daemon:
        assert daemon.ask({"ask": "view"})["now_ms"] == local_daemon.view.now_ms
        answer = daemon.ask({"wish": "acknowledge", "occurrence": "s-1", "who": "Ådä"})
    assert answer == {"taken": True, "kept": True, "why": "acknowledge: done"}
    assert local_daemon.wishes == [("Ådä", Acknowledge("s-1"))]


def test_a_question_that_is_refused_says_why(local_daemon: LocalDaemon, tmp_path: Path) -> None:
    """In the daemon's own words."""
    del local_daemon
    environment = {"RUNTIME_DIRECTORY": str(tmp_path)}
    with (
        Daemon(CONFIG, environment) as daemon,
        pytest.raises(RefusedError, match="occurrence is missing; expected"),
    ):
        daemon.ask({"wish": "acknowledge"})


def test_where_no_daemon_runs_it_says_how_to_start_one(
    nowhere: dict[str, str], tmp_path: Path
) -> None:
    """Nobody else's is asked."""
    with pytest.raises(NoDaemonError, match=r"no daemon runs this site.* lampwright run .*club"):
        Daemon(tmp_path / "club", nowhere)


def test_what_a_dead_daemon_left_is_nobody(nowhere: dict[str, str], tmp_path: Path) -> None:
    """Its file alone answers nothing."""
    with socket.socket(socket.AF_UNIX) as dead:
        dead.bind(str(socket_path(tmp_path, nowhere)))
    with pytest.raises(NoDaemonError):
        Daemon(tmp_path, nowhere)


def test_a_daemon_that_runs_elsewhere_is_no_absent_one(
    nowhere: dict[str, str], tmp_path: Path
) -> None:
    """It was started with another environment, or its socket could not be made."""
    lock = site_lock(tmp_path)
    lock.take()
    try:
        with pytest.raises(NotReachedError, match=r"its socket is not .*user/lampwright-.* nor "):
            Daemon(tmp_path, nowhere)
    finally:
        lock.release()


@pytest.mark.parametrize("place", [1, 2])
def test_it_is_found_in_each_place(place: int, nowhere: dict[str, str]) -> None:
    """The unit's is not in a person's environment."""
    path = places.socket_places(CONFIG, nowhere)[place]
    path.parent.mkdir(mode=0o700)
    with LocalDaemon().listening(path), Daemon(CONFIG, nowhere) as daemon:
        assert daemon.ask({"ask": "view"})


def test_in_a_shared_directory_nobody_can_pose_as_the_daemon(nowhere: dict[str, str]) -> None:
    """The private folder is looked at before anything is said."""
    path = places.socket_places(CONFIG, nowhere)[2]
    path.parent.mkdir()
    path.parent.chmod(0o777)
    with pytest.raises(NotPrivateError, match="is open to others"):
        Daemon(CONFIG, nowhere)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may open everything")
def test_a_socket_that_may_not_be_opened_is_said_so(
    nowhere: dict[str, str], tmp_path: Path
) -> None:
    """With who may."""
    path = socket_path(tmp_path, nowhere)
    with answering(path, b"{}\n"):
        path.chmod(0o000)
        with pytest.raises(NotReachedError, match="permission denied; ask as the user that runs"):
            Daemon(tmp_path, nowhere)


ODD: list[tuple[bytes | None, str]] = [
    (None, r"it does not answer within 0\.2 s; its log may say why"),
    (b"", "it closed the connection"),
    (b'{"half"', "it closed the connection"),
    (b"hello\n", "what answers is not this program"),
    (b"\xff\n", "what answers is not this program"),
]


@pytest.mark.parametrize(("answer", "why"), ODD)
def test_no_answer_is_told(
    answer: bytes | None,
    why: str,
    nowhere: dict[str, str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """And waited for no longer than a person would."""
    monkeypatch.setattr(asking, "PATIENCE_S", 0.2)
    with (
        answering(socket_path(tmp_path, nowhere), answer),
        Daemon(tmp_path, nowhere) as daemon,
        pytest.raises(NotReachedError, match=f"cannot be asked: {why}"),
    ):
        daemon.ask({"ask": "view"})
