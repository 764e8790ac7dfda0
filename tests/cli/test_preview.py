"""``lampwright preview``: scenes in the terminal."""

from __future__ import annotations

import re

import pytest

from bridge.cli.main import main
from tests.cli.commands import CONFIG, Terminal, lampwright


def test_one_frame_of_every_scene(capsys: pytest.CaptureFixture[str]) -> None:
    """With what it says, and a gauge's look without a known value beside it."""
    code, said, _ = lampwright(capsys, "preview", CONFIG, "--still", "--pixels", "10")
    lines = said.splitlines()
    assert code == 0
    assert [line.split()[0] for line in lines if not line.startswith(" ")][:3] == [
        "dark",
        "warm",
        "ready",
    ]
    assert sum("progress not known" in line for line in lines) == 1
    assert any(line.startswith("trouble") and "says trouble" in line for line in lines)


def test_named_scenes_only(capsys: pytest.CaptureFixture[str]) -> None:
    """In the order of their naming."""
    _, said, _ = lampwright(capsys, "preview", CONFIG, "ready", "dark", "--still")
    assert [line.split()[0] for line in said.splitlines()] == ["ready", "dark"]


def test_a_scene_that_is_not_there_is_met_with_the_nearest(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """One line."""
    code, _, complaint = lampwright(capsys, "preview", CONFIG, "feedme")
    assert code == 2
    assert complaint == "no scene 'feedme' in legend.yaml, did you mean 'feed-me'\n"


@pytest.mark.parametrize(
    "words",
    [["--pixels", "0"], ["--pixels", "many"], ["--seconds", "-1"], ["--seconds", "nan"]],
)
def test_numbers_that_cannot_be_drawn_are_refused(words: list[str]) -> None:
    """Before anything is drawn."""
    with pytest.raises(SystemExit) as ended:
        main(["preview", str(CONFIG), *words])
    assert ended.value.code == 2


def test_on_a_terminal_it_moves_where_it_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each frame is drawn over the one before, and the time is kept."""
    screen, clock = Terminal(), iter([0.0, 0.4, 0.9])
    monkeypatch.setattr("sys.stdout", screen)
    monkeypatch.setattr("time.monotonic", lambda: next(clock))
    monkeypatch.setattr("time.sleep", lambda _seconds: None)
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert main(["preview", str(CONFIG), "trouble", "--seconds", "0.5"]) == 0
    assert screen.getvalue().count("\x1b[1A") == 2
    assert "\x1b[38;2;" in screen.getvalue()


@pytest.mark.parametrize(
    ("words", "variable"), [(["--still"], ("TERM", "xterm")), ([], ("NO_COLOR", "1"))]
)
def test_on_a_terminal_it_stands_where_that_is_asked(
    words: list[str], variable: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One frame, and nothing is drawn over; without colours nothing could be seen moving."""
    screen = Terminal()
    monkeypatch.setattr("sys.stdout", screen)
    monkeypatch.setattr("time.sleep", lambda _seconds: pytest.fail("it waits for a next frame"))
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv(*variable)
    assert main(["preview", str(CONFIG), "trouble", *words]) == 0
    assert len(screen.getvalue().splitlines()) == 1
    assert "\x1b[1A" not in screen.getvalue()


def test_a_small_screen_is_not_overrun(monkeypatch: pytest.MonkeyPatch) -> None:
    """What would not fit could not be drawn over: lines are cut, and so is their number."""
    screen = Terminal()
    monkeypatch.setattr("sys.stdout", screen)
    monkeypatch.setenv("COLUMNS", "36")
    monkeypatch.setenv("LINES", "5")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert main(["preview", str(CONFIG), "--pixels", "10", "--seconds", "0"]) == 0
    lines = re.sub(r"\x1b\[[0-9;]*[A-Za-z]", "", screen.getvalue()).splitlines()
    assert len(lines) == 4
    assert max(map(len, lines)) <= 36
