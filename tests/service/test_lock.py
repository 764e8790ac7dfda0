"""One daemon a site: who holds it, who is refused, and what becomes of it at the end."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from bridge.service.lock import AlreadyRunningError, CannotLockError, SiteLock, lock_path


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where the lock of a site would be."""
    return tmp_path / "site.lock"


def test_the_second_is_refused_and_told_who_is_the_first(path: Path, tmp_path: Path) -> None:
    """And may try again when that one has gone."""
    first, second = SiteLock(path), SiteLock(path)
    first.take(tmp_path)
    with pytest.raises(AlreadyRunningError) as refused:
        second.take(tmp_path)
    (line,) = refused.value.lines()
    assert line == (
        f"{tmp_path}: this site is already run by process {os.getpid()}; "
        "stop that one first, or look with: lampwright run --dry-run"
    )
    assert refused.value.exit_code == 2
    first.release()
    first.release()
    second.take(tmp_path)
    second.release()


def test_looking_tells_and_takes_nothing(path: Path, tmp_path: Path) -> None:
    """A dry run asks whether a daemon runs; the daemon can still start afterwards."""
    lock = SiteLock(path)
    assert not SiteLock(path).held_elsewhere()
    lock.take(tmp_path)
    assert SiteLock(path).held_elsewhere()
    lock.release()
    assert not SiteLock(path).held_elsewhere()
    lock.take(tmp_path)
    lock.release()


def test_an_earlier_holders_longer_number_leaves_nothing_behind(path: Path, tmp_path: Path) -> None:
    """The number in the file is the holder's and nothing else."""
    path.write_text("4194303999")
    lock = SiteLock(path)
    lock.take(tmp_path)
    assert path.read_text() == str(os.getpid())
    lock.release()


def test_a_lock_that_cannot_be_looked_at_counts_as_held(path: Path, tmp_path: Path) -> None:
    """A look is never refused: it leaves the polling to whoever may be there."""
    path.symlink_to(tmp_path)
    assert SiteLock(path).held_elsewhere()


def test_a_process_that_dies_lets_go(path: Path, tmp_path: Path) -> None:
    """However it dies: what it leaves behind is a file and no lock, and its number is replaced."""
    holder = (
        "import sys; from pathlib import Path; from bridge.service.lock import SiteLock;"
        "SiteLock(Path(sys.argv[1])).take(Path('.')); print('held', flush=True); input()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", holder, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        with pytest.raises(AlreadyRunningError, match=f"process {process.pid};"):
            SiteLock(path).take(tmp_path)
        process.kill()
    lock = SiteLock(path)
    lock.take(tmp_path)
    assert path.read_text() == str(os.getpid())
    lock.release()


@pytest.mark.parametrize(
    ("environment", "folder"),
    [
        ({"RUNTIME_DIRECTORY": "/run/lampwright"}, "/run/lampwright"),
        ({"RUNTIME_DIRECTORY": "/run/one:/run/two"}, "/run/one"),
        ({"RUNTIME_DIRECTORY": "/run/one", "XDG_RUNTIME_DIR": "/run/user/7"}, "/run/one"),
        ({"XDG_RUNTIME_DIR": "/run/user/7"}, "/run/user/7"),
        ({"RUNTIME_DIRECTORY": ""}, None),
        ({}, None),
    ],
)
def test_a_lock_is_where_the_service_may_write(
    environment: dict[str, str], folder: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """systemd.exec(5) names the directory; by hand it is the session's, else the temporary one."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert lock_path(tmp_path, environment).parent == Path(folder or tmp_path)


def test_a_site_has_one_lock_by_whichever_way_it_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A link, a relative path and a detour are the same site; another directory is not."""
    site, other, link = tmp_path / "site", tmp_path / "other", tmp_path / "link"
    site.mkdir()
    other.mkdir()
    link.symlink_to(site)
    monkeypatch.chdir(tmp_path)
    names = [site, link, Path("site"), other / ".." / "site"]
    assert len({lock_path(name, {}) for name in names}) == 1
    assert lock_path(other, {}) != lock_path(site, {})


@pytest.mark.parametrize(
    ("place", "why"),
    [("missing/site.lock", "no such file or directory"), ("planted.lock", "symbolic links")],
)
def test_a_lock_that_cannot_be_made_says_what_to_do(tmp_path: Path, place: str, why: str) -> None:
    """A link that somebody planted there is not followed: it would cut off what it leads to."""
    target = tmp_path / "precious"
    target.write_text("kept")
    (tmp_path / "planted.lock").symlink_to(target)
    with pytest.raises(CannotLockError) as refused:
        SiteLock(tmp_path / place).take(tmp_path)
    (line,) = refused.value.lines()
    assert line.startswith(f"{tmp_path / place}: cannot be locked: ")
    assert why in line
    assert line.endswith("name a directory that can be written in RUNTIME_DIRECTORY")
    assert target.read_text() == "kept"
