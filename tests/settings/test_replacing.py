"""A file is replaced whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.settings.replacing import replace_text


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A file with what must stay: Windows' line ends and an editor's mark."""
    path = tmp_path / "pieces.yaml"
    path.write_bytes("\ufeffa: 1\r\n".encode())
    path.chmod(0o640)
    return path


def test_it_is_replaced_and_nothing_else(file: Path) -> None:
    """Line ends, the mark and the rights stay; no other file is left."""
    assert replace_text(file, "a: 1\r\n", "a: 1\r\nb: 2\r\n")
    assert file.read_bytes() == "\ufeffa: 1\r\nb: 2\r\n".encode()
    assert file.stat().st_mode & 0o777 == 0o640
    assert list(file.parent.iterdir()) == [file]


def test_a_file_that_somebody_changed_stays(file: Path) -> None:
    """What they wrote is not lost."""
    assert not replace_text(file, "a: 1\n", "b: 2\n")
    assert file.read_bytes() == "\ufeffa: 1\r\n".encode()


def test_a_link_leads_to_the_same_file(file: Path, tmp_path: Path) -> None:
    """It is the file behind it that is replaced."""
    folder = tmp_path / "readers"
    folder.mkdir()
    link = folder / "linked.yaml"
    link.symlink_to(file)
    assert replace_text(link, "a: 1\r\n", "b: 2\r\n")
    assert link.is_symlink()
    assert file.read_bytes() == "\ufeffb: 2\r\n".encode()


def test_what_cannot_be_written_stays(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that fails at the last step leaves the old text and no half file."""

    def fail(_self: Path, _target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(OSError, match="No space left"):
        replace_text(file, "a: 1\r\n", "b: 2\r\n")
    monkeypatch.undo()
    assert file.read_bytes() == "\ufeffa: 1\r\n".encode()
    assert list(file.parent.iterdir()) == [file]


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    """Is the caller's to tell."""
    with pytest.raises(FileNotFoundError):
        replace_text(tmp_path / "none.yaml", "", "a: 1\n")
