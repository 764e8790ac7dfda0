"""One daemon a site: who holds it, who is refused, and what becomes of it at the end."""

from __future__ import annotations

import fcntl
import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from bridge.service.lock import AlreadyRunningError, CannotLockError, Lock, file_lock, site_lock


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A site's directory."""
    made = tmp_path / "site"
    made.mkdir()
    return made


def test_the_second_is_refused_and_told_who_is_the_first(site: Path) -> None:
    """And may try again when that one has gone."""
    first, second = site_lock(site), site_lock(site)
    first.take()
    with pytest.raises(AlreadyRunningError) as refused:
        second.take()
    (line,) = refused.value.lines()
    assert line == (
        f"{site}: this site is already run by process {os.getpid()}; "
        "stop that one first, or look with: lampwright run --dry-run"
    )
    assert refused.value.exit_code == 2
    first.release()
    first.release()
    second.take()
    second.release()


def test_looking_tells_and_takes_nothing(site: Path) -> None:
    """A dry run asks whether a daemon runs; the daemon can still start afterwards."""
    lock = site_lock(site)
    assert not site_lock(site).held_elsewhere()
    lock.take()
    assert site_lock(site).held_elsewhere()
    lock.release()
    assert not site_lock(site).held_elsewhere()
    lock.take()
    lock.release()


def test_a_look_at_the_very_instant_of_the_start_refuses_nobody(site: Path) -> None:
    """What looks lets go at once, and the daemon waits that long."""
    looking = os.open(site, os.O_RDONLY)
    fcntl.flock(looking, fcntl.LOCK_SH)
    looked = threading.Timer(0.03, os.close, (looking,))
    looked.start()
    lock = site_lock(site)
    lock.take()
    lock.release()
    looked.join()


HOLDER = (
    "import sys; from pathlib import Path; from bridge.service.lock import site_lock;"
    "lock = site_lock(Path(sys.argv[1])); lock.take(); print('held', flush=True); input()"
)


@pytest.mark.parametrize(
    "environment",
    [
        {},
        {"RUNTIME_DIRECTORY": "/run/another"},
        {"XDG_RUNTIME_DIR": "/run/user/7"},
        {"TMPDIR": "/"},
    ],
    ids=lambda given: next(iter(given), "none"),
)
def test_two_processes_of_unlike_environments_are_two(
    site: Path, environment: dict[str, str]
) -> None:
    """Whatever theirs is, the second is refused; one that is killed lets go."""
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(site)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={"PYTHONPATH": str(Path(__file__).parents[2]), **environment},
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        with pytest.raises(AlreadyRunningError, match=f"process {process.pid};"):
            site_lock(site).take()
        process.kill()
    lock = site_lock(site)
    lock.take()
    lock.release()


def test_a_site_has_one_lock_by_whichever_way_it_is_named(
    site: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A link, a relative path and a detour are the same site; another directory is not."""
    other, link = tmp_path / "other", tmp_path / "link"
    other.mkdir()
    link.symlink_to(site)
    monkeypatch.chdir(tmp_path)
    lock = site_lock(site)
    lock.take()
    names = [site, link, Path("site"), other / ".." / "site"]
    assert [site_lock(name).held_elsewhere() for name in names] == [True] * len(names)
    assert not site_lock(other).held_elsewhere()
    lock.release()


def test_a_site_that_nobody_may_write_to_can_be_run(site: Path) -> None:
    """Nothing is made in it, or anywhere else for its sake."""
    site.chmod(0o555)
    lock = site_lock(site)
    lock.take()
    assert site_lock(site).held_elsewhere()
    assert list(site.iterdir()) == []
    lock.release()


@pytest.mark.parametrize(
    ("place", "why"), [("missing", "no such file or directory"), ("a file", "not a directory")]
)
def test_what_is_no_directory_is_no_site(tmp_path: Path, place: str, why: str) -> None:
    """One line that says what it must be."""
    (tmp_path / "a file").write_text("")
    with pytest.raises(CannotLockError) as refused:
        site_lock(tmp_path / place).take()
    (line,) = refused.value.lines()
    assert line == (
        f"{tmp_path / place}: cannot be locked: {why}; a site must be in a directory that its "
        "user can read, on a file system that has locks"
    )


# A file of its own -------------------------------------------------------------------------------


def test_a_file_is_made_and_held(tmp_path: Path) -> None:
    """For what shares its directory with others; they do not hinder each other."""
    first, second, other = (file_lock(tmp_path / name) for name in ("a", "a", "b"))
    assert not first.held_elsewhere()
    first.take()
    with pytest.raises(AlreadyRunningError, match=f"process {os.getpid()};"):
        second.take()
    other.take()
    assert second.held_elsewhere()
    for lock in (first, other):
        lock.release()
    assert not second.held_elsewhere()


@pytest.mark.parametrize(
    ("place", "why"),
    [("missing/lock", "no such file or directory"), ("planted", "symbolic links")],
)
def test_a_file_that_cannot_be_made_is_said(tmp_path: Path, place: str, why: str) -> None:
    """A link that somebody planted there is not followed."""
    target = tmp_path / "precious"
    target.write_text("kept")
    (tmp_path / "planted").symlink_to(target)
    lock: Lock = file_lock(tmp_path / place)
    with pytest.raises(CannotLockError, match=why):
        lock.take()
    assert target.read_text() == "kept"


def test_what_cannot_be_looked_at_counts_as_held(tmp_path: Path) -> None:
    """A look is never refused: it leaves the polling to whoever may be there."""
    ring = tmp_path / "ring"
    ring.symlink_to(ring)
    assert file_lock(ring).held_elsewhere()
