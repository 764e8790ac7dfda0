"""The locks under deploy/: what a board gets, and that they answer to pyproject.toml.

`sh deploy/lock.sh` writes them anew.
"""

from __future__ import annotations

import re
import tomllib

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.structure.trees import ROOT

BOARD = "requirements.lock"
LOCKS = [BOARD, "requirements-demo.lock", "requirements-test.lock", "requirements-build.lock"]

#: Too heavy for a board, or slowing its start, or meant for the demo alone.
NOT_ON_A_BOARD = {"rich", "numpy", "scipy", "coloraide", "iotcore", "pytest", "mypy"}


def pins(text: str) -> dict[str, str]:
    """The version of each package that a lock names."""
    found = re.findall(r"^([a-z0-9.-]+)==([^\s;\\]+)", text, re.MULTILINE)
    return {canonicalize_name(name): version for name, version in found}


def bare(text: str) -> list[str]:
    """The packages of a lock that no hash holds."""
    entries = re.split(r"^(?=[a-z0-9])", text, flags=re.MULTILINE)
    return [entry.split()[0] for entry in entries if "==" in entry and "--hash=" not in entry]


def unmet(requirements: list[str], locked: dict[str, str]) -> list[str]:
    """The requirements that a lock does not hold, or holds at another version."""
    found = []
    for requirement in map(Requirement, requirements):
        version = locked.get(canonicalize_name(requirement.name))
        if version is None or not requirement.specifier.contains(version, prereleases=True):
            found.append(f"{requirement}: locked at {version}")
    return found


def lock(name: str) -> str:
    """The text of a lock."""
    return (ROOT / "deploy" / name).read_text("utf-8")


def wanted(name: str) -> list[str]:
    """What pyproject.toml asks of a lock."""
    document = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    project = document["project"]
    extras = project["optional-dependencies"]
    asked: dict[str, list[str]] = {
        BOARD: project["dependencies"],
        "requirements-demo.lock": project["dependencies"] + extras["demo"],
        "requirements-test.lock": project["dependencies"] + extras["demo"] + extras["test"],
        "requirements-build.lock": document["dependency-groups"]["build"],
    }
    return asked[name]


@pytest.mark.parametrize("name", LOCKS)
def test_a_lock_holds_what_the_project_asks_for(name: str) -> None:
    """A dependency that was added or raised without `sh deploy/lock.sh` is noticed here."""
    assert unmet(wanted(name), pins(lock(name))) == []


@pytest.mark.parametrize("name", LOCKS)
def test_every_package_of_a_lock_is_held_by_its_hash(name: str) -> None:
    """Nothing is installed that was not looked at when the lock was written."""
    assert bare(lock(name)) == []


def test_a_board_gets_nothing_that_only_the_demo_or_the_tests_need() -> None:
    """The board's start and memory are paid for by every package it has."""
    assert set(pins(lock(BOARD))) & NOT_ON_A_BOARD == set()


@pytest.mark.parametrize("name", LOCKS[1:])
def test_the_demo_and_the_tests_run_what_the_board_runs(name: str) -> None:
    """Where two locks name one package, they name one version of it."""
    board = pins(lock(BOARD))
    shared = {package: at for package, at in pins(lock(name)).items() if package in board}
    assert shared == {package: board[package] for package in shared}


MADE_UP = (
    "alder==1.2 \\\n    --hash=sha256:00\n    # via lampwright\nlane==3 ; python_version < '4'\n"
)


def test_a_made_up_lock_is_read_for_what_it_says() -> None:
    """The looks above can fail: a package without hash, one too old and one missing are seen."""
    assert pins(MADE_UP) == {"alder": "1.2", "lane": "3"}
    assert bare(MADE_UP) == ["lane==3"]
    assert unmet(["alder>=1,<2"], pins(MADE_UP)) == []
    assert unmet(["alder>=2", "harbour"], pins(MADE_UP)) == [
        "alder>=2: locked at 1.2",
        "harbour: locked at None",
    ]
