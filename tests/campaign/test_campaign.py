"""The campaign itself: sound, repeatable, and told so that a person can follow it."""

from __future__ import annotations

import pytest

from tests.campaign.__main__ import main
from tests.campaign.planted import PLANTED
from tests.campaign.run import run_seed

#: The rooms have tests of their own; to trace every line of thousands of events takes minutes.
pytestmark = pytest.mark.no_cover


def test_a_seed_decides_everything() -> None:
    """The same events, actions and faults twice; other ones with another seed."""
    first, second, other = (run_seed(seed, minutes=5) for seed in (3, 3, 4))
    assert (first.digest, first.faults) == (second.digest, second.faults)
    assert first.digest != other.digest


def test_every_fault_is_met() -> None:
    """None of the world's faults is a dead letter."""
    known = {
        "addresses swapped",
        "bridge restarted",
        "broker half open",
        "broker lost",
        "clock stepped",
        "controller restarts",
        "controller rude",
        "controller silent",
        "controller slow",
        "controller touched",
        "controller unreachable",
        "garbled",
        "journal fails",
        "journal late",
        "message duplicated",
        "message late",
        "message lost",
        "no reply",
        "page garbled",
        "poll failed",
        "polls fail for a while",
        "printer mute",
        "printer without power",
        "refused",
        "reply garbled",
        "request never left",
        "retry-after",
        "somebody sets what is theirs",
        "strange word",
        "write lost",
    }
    met = set[str]()
    for seed in range(1, 30):
        met |= run_seed(seed, minutes=10, again=False).faults.keys()
        if met >= known:
            break
    assert met == known


def test_a_seed_on_the_command_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One seed, its digest, and a closing line."""
    monkeypatch.setattr("sys.argv", ["campaign", "--seed", "2"])
    assert main() == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == f"digest {run_seed(2).digest}"
    assert lines[-1] == "1 passed, 0 failed"


def test_a_broken_promise_is_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Which promise, the last events, and how to run it again."""
    PLANTED["two_in_flight"].plant(monkeypatch)
    monkeypatch.setattr("sys.argv", ["campaign", "--seeds", "1-4"])
    assert main() == 1
    told = capsys.readouterr().out
    assert "broke I5: " in told
    assert "again: python -m tests.campaign --seed " in told
    assert told.splitlines()[-1].endswith(" failed")
