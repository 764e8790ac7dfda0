"""The local socket, by real connections: what is asked, who asks, and what is no question."""

from __future__ import annotations

import asyncio
import getpass
import json
import os
import socket
import stat
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from bridge.engine.actions import Tell
from bridge.engine.view import View
from bridge.engine.wishes import Acknowledge, Hold, Wish
from bridge.service import local_socket as subject
from bridge.service.local_socket import MOST_BYTES, MOST_CONNECTIONS, CannotListenError, LocalSocket
from bridge.service.socket_path import NotPrivateError

VIEW = View(7, {"shed": ""}, {}, {}, {}, {"messages": 3})
SEEN = {"wish": "acknowledge", "occurrence": "s-1"}


@dataclass
class Wisher:
    """Grants everything, and remembers what and who."""

    wishes: list[tuple[str, Wish]] = field(default_factory=list)
    #: What each waits for before it is granted.
    wait: Callable[[], Awaitable[object]] | None = None

    async def grant(self, who: str, wish: Wish) -> Tell:
        """It is granted, and not kept."""
        self.wishes.append((who, wish))
        if self.wait is not None:
            await self.wait()
        return Tell("1", taken=True, kept=False, why="as you like")


@asynccontextmanager
async def listening(path: Path, wisher: Wisher | None = None) -> AsyncIterator[LocalSocket]:
    """The socket, until the end of the block."""
    askings = {"words": lambda: ["what"]}
    served = LocalSocket(path, (wisher or Wisher()).grant, lambda: VIEW, askings)
    await served.start()
    try:
        yield served
    finally:
        await asyncio.wait_for(served.close(), 5)


async def lines(path: Path, *said: bytes) -> list[object]:
    """What is answered to each line on one connection; ``None`` where it was closed instead."""
    reader, writer = await asyncio.open_unix_connection(path, limit=1 << 20)
    answers: list[object] = []
    for line in said:
        try:
            writer.write(line)
            answer = await asyncio.wait_for(reader.readline(), 5)
        except OSError:
            answer = b""
        answers.append(json.loads(answer) if answer else None)
    writer.close()
    return answers


def mode_of(path: Path) -> str:
    """As ls shows it, or nothing where there is no such file."""
    return stat.filemode(path.lstat().st_mode) if path.exists() else ""


def line(said: object) -> bytes:
    """As it is sent."""
    return json.dumps(said).encode() + b"\n"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where it listens."""
    return tmp_path / "here.sock"


@pytest.mark.asyncio
async def test_wishes_and_questions_on_one_connection(path: Path) -> None:
    """One line each, as often as wanted."""
    wisher = Wisher()
    granted = {"taken": True, "kept": False, "why": "as you like"}
    hold = {"wish": "hold", "segments": ["all"], "scene": "dark", "for_ms": 1000, "who": "Åda"}
    async with listening(path, wisher):
        asked = (SEEN, {"ask": "words"}, hold, {"ask": "view"})
        first, words, second, view = await lines(path, *map(line, asked))
    assert (first, second, words) == (granted, granted, ["what"])
    assert isinstance(view, dict)
    assert (view["now_ms"], view["counts"]) == (7, {"messages": 3})
    assert wisher.wishes == [
        (getpass.getuser(), Acknowledge("s-1")),
        ("Åda", Hold(("all",), "dark", 1000)),
    ]


@pytest.mark.asyncio
async def test_who_is_at_the_other_end_is_the_systems_word(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By name, or by number where the user has none any more."""
    wisher = Wisher()

    def nobody(_user: int) -> None:
        raise KeyError

    monkeypatch.setattr("pwd.getpwuid", nobody)
    async with listening(path, wisher):
        await lines(path, line(SEEN))
    assert wisher.wishes[0][0] == f"user {os.getuid()}"


NONSENSE = [
    (b"\n", "not JSON: expecting value at character 2; expected one line of JSON:"),
    (b"silence\n", "not JSON"),
    (b"\xff\n", "not UTF-8"),
    (b"[" * 70 + b"\n", "nested deeper"),
    (b"[]\n", 'expected one line of JSON: {"wish": …} or {"ask": "view"} or {"ask": "words"}'),
    (b"null\n", "expected one line of JSON"),
    (b"{}\n", "expected one line of JSON"),
    (b'{"ask":"everything"}\n', "expected one line of JSON"),
    (b'{"ask":["view"]}\n', "expected one line of JSON"),
    (b'{"ask":"view","more":1}\n', "expected one line of JSON"),
    (b'{"wish":"silence"}\n', "wish: 'silence' is none, expected one of acknowledge"),
    (b'{"wish":"acknowledge"}\n', 'occurrence is missing; expected {"wish": "acknowledge"'),
    (b'{"wish":"acknowledge","occurrence":"1","who":""}\n', "who: expected a name of 1 to 500"),
    (b'{"wish":"acknowledge","occurrence":"1","who":7}\n', "who: expected a name"),
    (b'{"wish":"acknowledge","occurrence":"\\ud800","b":1}\n', "'b' is not known"),
]


@pytest.mark.parametrize(("said", "start"), NONSENSE)
@pytest.mark.asyncio
async def test_nonsense_is_answered_with_what_was_expected(
    path: Path, said: bytes, start: str
) -> None:
    """And the connection goes on."""
    wisher = Wisher()
    async with listening(path, wisher):
        error, words = await lines(path, said, line({"ask": "words"}))
    assert isinstance(error, dict)
    assert list(error) == ["error"]
    assert error["error"].startswith(start)
    assert (words, wisher.wishes) == (["what"], [])


@pytest.mark.asyncio
async def test_half_a_surrogate_pair_goes_no_further(path: Path) -> None:
    """It could not be written to any journal."""
    wisher = Wisher()
    async with listening(path, wisher):
        await lines(path, b'{"wish":"acknowledge","occurrence":"\\ud800","who":"\\udfff"}\n')
    assert wisher.wishes == [("\ufffd", Acknowledge("\ufffd"))]


@pytest.mark.asyncio
async def test_a_line_that_is_too_long_is_the_last(path: Path) -> None:
    """One that just is not is taken."""
    fits = line({"wish": "release", "segments": ["x"] * 900})
    fits = fits[:-1] + b" " * (MOST_BYTES - len(fits)) + b"\n"
    async with listening(path):
        (taken,) = await lines(path, fits)
        error, closed = await lines(path, b" " * 2 * MOST_BYTES + b"\n", line({"ask": "words"}))
        (words,) = await lines(path, line({"ask": "words"}))
    assert isinstance(taken, dict)
    assert taken["taken"] is True
    assert error == {"error": f"a line has at most {MOST_BYTES} bytes"}
    assert (closed, words) == (None, ["what"])


@pytest.mark.asyncio
async def test_a_wish_that_is_not_answered_in_time_is_said_so(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And who else asks does not wait for it."""
    monkeypatch.setattr(subject, "ANSWER_WITHIN_S", 0.2)
    never = asyncio.Event()
    async with listening(path, Wisher(wait=never.wait)):
        waiting = asyncio.create_task(lines(path, line(SEEN)))
        (words,) = await lines(path, line({"ask": "words"}))
        assert words == ["what"]
        assert await waiting == [{"error": "not answered within 0.2 s: it may yet be taken"}]


@pytest.mark.asyncio
async def test_silence_and_crowds_are_bounded(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who says nothing is let go, and who comes too many is not let in."""
    monkeypatch.setattr(subject, "IDLE_S", 0.5)
    async with listening(path):
        open_ones = [await asyncio.open_unix_connection(path) for _ in range(MOST_CONNECTIONS)]
        reader, writer = await asyncio.open_unix_connection(path)
        assert await asyncio.wait_for(reader.read(), 0.4) == b""
        writer.close()
        for one, other in open_ones:
            assert await asyncio.wait_for(one.read(), 5) == b""
            other.close()
        assert await lines(path, line({"ask": "words"})) == [["what"]]


@pytest.mark.asyncio
async def test_closing_lets_go_of_everybody_and_of_the_file(path: Path) -> None:
    """Whatever they wait for."""
    never = asyncio.Event()
    async with listening(path, Wisher(wait=never.wait)):
        idle, idle_writer = await asyncio.open_unix_connection(path)
        waiting = asyncio.create_task(lines(path, line(SEEN)))
        await asyncio.sleep(0.05)
    assert await idle.read() == b""
    assert await waiting == [None]
    assert mode_of(path) == ""
    idle_writer.close()


@pytest.mark.asyncio
async def test_only_owner_and_group_may_wish(path: Path) -> None:
    """Whatever the umask is."""
    before = os.umask(0)
    try:
        async with listening(path):
            assert mode_of(path) == "srw-rw----"
    finally:
        os.umask(before)


@pytest.mark.asyncio
async def test_what_a_dead_daemon_left_is_replaced(path: Path) -> None:
    """It was killed and could not take its file away."""
    with socket.socket(socket.AF_UNIX) as dead:
        dead.bind(str(path))
    async with listening(path):
        assert await lines(path, line({"ask": "words"})) == [["what"]]


@pytest.mark.asyncio
async def test_a_living_one_is_left_alone(path: Path) -> None:
    """And goes on serving."""
    async with listening(path):
        with pytest.raises(CannotListenError, match="another process listens there"):
            async with listening(path):
                pass
        assert await lines(path, line({"ask": "words"})) == [["what"]]


@pytest.mark.asyncio
async def test_a_later_daemons_file_is_not_taken_away(path: Path) -> None:
    """Where this one's was removed by hand."""
    async with listening(path):
        await asyncio.to_thread(path.unlink)
        later = LocalSocket(path, Wisher().grant, lambda: VIEW)
        await later.start()
    assert mode_of(path).startswith("s")
    await later.close()


@pytest.mark.asyncio
async def test_where_it_cannot_listen_it_says_why(tmp_path: Path) -> None:
    """In one line."""
    (tmp_path / "file").touch()
    cases = {
        tmp_path / "nowhere" / "here.sock": "no such file or directory",
        tmp_path / "file" / "here.sock": "not a directory",
        tmp_path / "file": "something else than a socket lies there, remove it",
        tmp_path / ("x" * 120): "AF_UNIX path too long".lower(),
    }
    for path, why in cases.items():
        with pytest.raises(CannotListenError, match=f"commands cannot reach this daemon: {why}"):
            await LocalSocket(path, Wisher().grant, lambda: VIEW).start()
    assert (tmp_path / "file").is_file()


@pytest.mark.asyncio
async def test_the_private_folder_is_made_and_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody else may have prepared it."""
    folder = tmp_path / "own"
    monkeypatch.setattr(subject, "private_folder", lambda: folder)
    async with listening(folder / "here.sock"):
        assert mode_of(folder) == "drwx------"
    folder.chmod(0o777)
    with pytest.raises(NotPrivateError, match="is open to others"):
        await LocalSocket(folder / "here.sock", Wisher().grant, lambda: VIEW).start()


@pytest.mark.asyncio
async def test_one_that_was_never_started_can_be_closed(path: Path) -> None:
    """As at the end of a daemon whose socket could not be made."""
    await LocalSocket(path, Wisher().grant, lambda: VIEW).close()
