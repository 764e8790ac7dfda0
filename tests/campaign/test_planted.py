"""The campaign finds bugs: each planted one is caught in time, by a promise that it breaks."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from tests.campaign.planted import PLANTED
from tests.campaign.run import run_seed
from tests.campaign.sites import written
from tests.structure.trees import ROOT

#: The rooms have tests of their own; to trace every line of thousands of events takes minutes.
pytestmark = pytest.mark.no_cover

SOUND = "from tests.campaign.run import run_seed"
#: The order of a set differs between runs of Python, never within one.
UNSORTED = (
    f"{SOUND}; import pytest; from tests.campaign.planted import order_of_a_set;"
    "order_of_a_set(pytest.MonkeyPatch())"
)


@pytest.mark.parametrize("name", PLANTED)
def test_a_planted_bug_is_caught(
    name: str, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> None:
    """Within so many seeds, and by a promise that it breaks."""
    planted = PLANTED[name]
    planted.plant(monkeypatch)
    # Tables are compiled where a site is loaded: this one with the bug, the next one without.
    written.cache_clear()
    request.addfinalizer(written.cache_clear)
    again = "I10" in planted.promises
    seeds = range(planted.first, planted.first + planted.seeds)
    outcomes = (run_seed(seed, again=again).broken for seed in seeds)
    broken = next((broken for broken in outcomes if broken is not None), None)
    assert broken is not None
    assert broken.promise in planted.promises, str(broken)


def digest(program: str, hash_seed: int) -> str:
    """A seed's digest in a Python of its own."""
    command = [sys.executable, "-c", f"{program}; print(run_seed(3, minutes=5).digest)"]
    environment = {**os.environ, "PYTHONHASHSEED": str(hash_seed)}
    return subprocess.run(
        command, cwd=ROOT, env=environment, check=True, capture_output=True, text=True
    ).stdout


def test_the_same_whatever_the_order_of_sets() -> None:
    """I10 across processes: one digest under three hash seeds."""
    assert len({digest(SOUND, hash_seed) for hash_seed in (0, 1, 2)}) == 1


def test_an_order_of_a_set_is_caught() -> None:
    """The same look at a core that forgot to sort sees more than one digest."""
    assert len({digest(UNSORTED, hash_seed) for hash_seed in range(4)}) > 1
