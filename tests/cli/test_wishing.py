"""What every wish has in common: who, what came of it, and how the command ends."""

from __future__ import annotations

import getpass
import json

import pytest

from bridge.cli.wishing import Answered, tell
from tests.cli.commands import CONFIG, hold_to_shape, lampwright
from tests.cli.local_daemon import LocalDaemon

GRANTED = Answered({"wish": "release"}, taken=True, kept=True, why="shelf: released")
REFUSED = Answered({"wish": "release"}, taken=False, kept=False, why="there is no\nsegment")


@pytest.mark.parametrize(
    ("answers", "code", "said"),
    [
        ([GRANTED], 0, "shelf: released\n"),
        ([REFUSED], 1, "refused: there is no\\nsegment\n"),
        ([GRANTED, REFUSED], 1, "shelf: released\nrefused: there is no\\nsegment\n"),
        ([], 1, ""),
    ],
)
def test_the_end_says_whether_all_was_taken(
    answers: list[Answered], code: int, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line each, whatever was answered."""
    assert tell(answers, as_json=False) == code
    assert capsys.readouterr().out == said


@pytest.mark.parametrize("answers", [[GRANTED], [GRANTED, REFUSED], []])
def test_programs_get_the_wish_with_its_answer(
    answers: list[Answered], capsys: pytest.CaptureFixture[str]
) -> None:
    """All of them in one object."""
    tell(answers, as_json=True)
    told = hold_to_shape(capsys.readouterr().out, "wish")
    assert isinstance(told, dict)
    assert [each["taken"] for each in told["answers"]] == [each.taken for each in answers]


@pytest.mark.parametrize(("words", "who"), [((), getpass.getuser()), (("--who", "Ada"), "Ada")])
def test_it_is_wished_in_somebodys_name(
    words: tuple[str, ...],
    who: str,
    local_daemon: LocalDaemon,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The user's where nobody is named."""
    assert lampwright(capsys, "release", "all", "--site", CONFIG, *words)[0] == 0
    assert [name for name, _ in local_daemon.wishes] == [who]


def test_a_refusal_is_told_and_ends_with_1(
    local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]
) -> None:
    """With its reason, for people and programs."""
    local_daemon.refuses = lambda _: "nothing is held"
    words = ("release", "all", "--site", CONFIG)
    assert lampwright(capsys, *words) == (1, "refused: nothing is held\n", "")
    code, said, _ = lampwright(capsys, *words, "--json")
    (answer,) = json.loads(said)["answers"]
    assert code == 1
    assert (answer["taken"], answer["why"]) == (False, "nothing is held")


def test_a_name_that_is_none_is_the_daemons_to_refuse(
    local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]
) -> None:
    """Unusable input, not a refusal."""
    del local_daemon
    code, said, complaint = lampwright(capsys, "release", "all", "--site", CONFIG, "--who", "")
    assert (code, said) == (2, "")
    assert complaint.startswith("who: expected a name of 1 to 500 characters")
