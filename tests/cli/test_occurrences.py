"""Exactly what was seen is wished, and nothing is guessed."""

from __future__ import annotations

import pytest

from bridge.engine.wishes import Acknowledge, Collected, Reset, Wish
from tests.cli.commands import CONFIG, lampwright
from tests.cli.local_daemon import LocalDaemon, alarm, picture, prompt

ALARMS = (
    alarm("material-out", "kestrel", "unacknowledged", "k-1"),
    alarm("jam", "kestrel", "returned", "k-2"),
    alarm("material-out", "plover", "unacknowledged", "p-1"),
    alarm("jam", "plover", "normal", None),
    alarm("lid", "kestrel", "acknowledged", "k-3"),
    alarm("lid", "plover", "latched", "p-2"),
    alarm("cold", "plover", "latched", "p-3"),
    alarm("cold", "kestrel", "shelved", "k-4"),
    alarm("far", "kestrel", "unknown", None),
)
PROMPTS = (
    prompt("collect", "kestrel", "k-5"),
    prompt("collect", "plover", "p-5"),
    prompt("look", "plover", None),
)
MEANT: list[tuple[tuple[str, ...], list[Wish]]] = [
    (("acknowledge", "--all"), [Acknowledge("k-1"), Acknowledge("k-2"), Acknowledge("p-1")]),
    (("acknowledge", "--printer", "plover"), [Acknowledge("p-1")]),
    (("acknowledge", "--printer", "kestrel"), [Acknowledge("k-1"), Acknowledge("k-2")]),
    (("acknowledge", "--alarm", "material-out"), [Acknowledge("k-1"), Acknowledge("p-1")]),
    (("acknowledge", "--alarm", "jam", "--printer", "kestrel"), [Acknowledge("k-2")]),
    (("acknowledge", "--alarm", "jam", "--all"), [Acknowledge("k-2")]),
    (("acknowledge", "--occurrence", "of another day"), [Acknowledge("of another day")]),
    (("reset", "--all"), [Reset("p-2"), Reset("p-3")]),
    (("reset", "--alarm", "cold"), [Reset("p-3")]),
    (("collected", "--printer", "plover"), [Collected("p-5")]),
    (("collected", "--prompt", "collect"), [Collected("k-5"), Collected("p-5")]),
]


@pytest.mark.parametrize(("words", "wishes"), MEANT)
def test_the_occurrences_that_were_seen_are_named(
    words: tuple[str, ...],
    wishes: list[Wish],
    local_daemon: LocalDaemon,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """One wish each; what does not wait for it is left alone."""
    local_daemon.view = picture(ALARMS, PROMPTS)
    code, said, _ = lampwright(capsys, words[0], CONFIG, *words[1:])
    assert [wish for _, wish in local_daemon.wishes] == wishes
    assert (code, len(said.splitlines())) == (0, len(wishes))


@pytest.mark.parametrize(
    ("command", "lines"),
    [
        (
            "acknowledge",
            [
                "3 alarms wait to be acknowledged; say which, or --all:",
                "  --printer kestrel --alarm material-out",
                "  --printer kestrel --alarm jam",
                "  --printer plover --alarm material-out",
            ],
        ),
        (
            "reset",
            [
                "2 alarms wait to be reset; say which, or --all:",
                "  --printer plover --alarm lid",
                "  --printer plover --alarm cold",
            ],
        ),
        (
            "collected",
            [
                "2 prompts wait to be collected; say which, or --all:",
                "  --printer kestrel --prompt collect",
                "  --printer plover --prompt collect",
            ],
        ),
    ],
)
def test_of_several_it_asks_which(
    command: str,
    lines: list[str],
    local_daemon: LocalDaemon,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """In words that can be added to the command."""
    local_daemon.view = picture(ALARMS, PROMPTS)
    code, said, complaint = lampwright(capsys, command, CONFIG)
    assert (code, said, complaint.splitlines()) == (2, "", lines)
    assert local_daemon.wishes == []


def test_the_only_one_needs_no_name(
    local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]
) -> None:
    """There is nothing to mistake it for."""
    local_daemon.view = picture(ALARMS[2:4])
    assert lampwright(capsys, "acknowledge", CONFIG)[0] == 0
    assert [wish for _, wish in local_daemon.wishes] == [Acknowledge("p-1")]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "no alarm waits to be acknowledged\n"),
        (("--all",), "no alarm waits to be acknowledged\n"),
        (("--printer", "kestrel"), "no alarm waits to be acknowledged of kestrel\n"),
        (
            ("--printer", "plover", "--alarm", "jam"),
            "no alarm waits to be acknowledged of plover with the name jam\n",
        ),
        (("--json",), '{"answers": []}\n'),
    ],
)
def test_where_nothing_waits_it_says_so(
    words: tuple[str, ...],
    said: str,
    local_daemon: LocalDaemon,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Nothing was taken: 1."""
    local_daemon.view = picture((ALARMS[3], ALARMS[4]))
    assert lampwright(capsys, "acknowledge", CONFIG, *words) == (1, said, "")


def test_some_may_be_refused(local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]) -> None:
    """It ended meanwhile; the others are taken."""
    local_daemon.view = picture(ALARMS)
    local_daemon.refuses = lambda wish: "it is over" if wish == Acknowledge("k-1") else ""
    code, said, _ = lampwright(capsys, "acknowledge", CONFIG, "--printer", "kestrel")
    assert (code, said) == (1, "refused: it is over\nacknowledge: done\n")


UNUSABLE = [
    (("--printer", "kestral"), "no printer 'kestral' in this site; did you mean 'kestrel'?"),
    (("--printer", "x"), "no printer 'x' in this site; known are kestrel, plover"),
    (("--alarm", "jamm"), "no alarm 'jamm' in this site; did you mean 'jam'?"),
    (
        ("--occurrence", "k-1", "--all"),
        "--occurrence names just one: leave --printer, --alarm and --all out",
    ),
    (("--occurrence", "k-1", "--printer", "kestrel"), "--occurrence names just one"),
]


@pytest.mark.parametrize(("words", "start"), UNUSABLE)
def test_a_name_that_is_none_is_told(
    words: tuple[str, ...],
    start: str,
    local_daemon: LocalDaemon,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """With the nearest that is."""
    local_daemon.view = picture(ALARMS)
    code, said, complaint = lampwright(capsys, "acknowledge", CONFIG, *words)
    assert (code, said) == (2, "")
    assert complaint.startswith(start)
    assert local_daemon.wishes == []


def test_a_site_without_any_says_that_there_is_none(
    local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]
) -> None:
    """Rather than an empty list."""
    local_daemon.view = picture()
    _, _, complaint = lampwright(capsys, "collected", CONFIG, "--prompt", "collect")
    assert complaint == "no prompt 'collect' in this site; there is none\n"
