"""Files that commands write."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.cli.to_file import CannotWriteError, EndingError, ending_of, write

ENDINGS = (".svg", ".png", ".gif")


@pytest.mark.parametrize(("name", "ending"), [("a.svg", ".svg"), ("b.c.PNG", ".png")])
def test_a_name_says_what_it_is(name: str, ending: str) -> None:
    """In capitals too."""
    assert ending_of(Path("somewhere") / name, ENDINGS) == ending


@pytest.mark.parametrize("name", ["a.jpg", "svg", ".svg", "a.svg.txt", "a."])
def test_another_name_is_refused_with_those_that_are_known(name: str) -> None:
    """Nothing is guessed."""
    with pytest.raises(EndingError) as caught:
        ending_of(Path(name), ENDINGS)
    assert caught.value.lines() == (f"{name}: expected a name that ends in .svg, .png or .gif",)
    assert caught.value.exit_code == 2


def test_what_is_there_is_written_over(tmp_path: Path) -> None:
    """All of it."""
    path = tmp_path / "a.svg"
    path.write_bytes(b"much longer than the new one")
    write(path, b"new")
    assert path.read_bytes() == b"new"


def test_a_place_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    """A folder that is not there."""
    path = tmp_path / "nowhere" / "a.svg"
    with pytest.raises(CannotWriteError) as caught:
        write(path, b"")
    assert caught.value.lines() == (f"{path}: cannot be written: no such file or directory",)
