"""What a segment needs so that several printers can share it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.settings.copies import wrong

SITE = "site.yaml"
SILL = "first: 120, length: 40, printers: [plover], table: wall"


def told(folder: Path, length: int, keys: str, pitch: str = "1000/60 mm") -> list[str]:
    """What is wrong with a sill of that length and keys, on a run of that pitch."""
    return wrong(
        folder,
        (SITE, SILL, f"first: 120, length: {length}, table: wall, {keys}"),
        (SITE, "pitch: 1000/60 mm", f"pitch: {pitch}"),
    )


TWO = "printers: [plover, kestrel]"
FINE = [
    (1, TWO),
    (1, f"{TWO}, share: worst"),
    (12, f"{TWO}, share: split"),
    (6, f"{TWO}, share: rotate"),
    (6, f"{TWO}, share: rotate, each: 3s"),
    (6, f"{TWO}, share: rotate, each: 1h"),
]


@pytest.mark.parametrize(("length", "keys"), FINE)
def test_at_the_least_it_is_enough(length: int, keys: str, tmp_path: Path) -> None:
    """A worst takes any segment, a mark 3 pixels a printer, a share 100 mm: six at 60 a metre."""
    assert told(tmp_path, length, keys) == []


@pytest.mark.parametrize(
    ("pitch", "least"),
    [("1000/60 mm", 12), ("1000/30 mm", 6), ("100 mm", 6), ("50 mm", 6), ("1000/144 mm", 30)],
)
def test_a_share_is_long_enough_in_pixels_and_in_millimetres(
    pitch: str, least: int, tmp_path: Path
) -> None:
    """100 mm is 6 pixels at 60 a metre, 15 at 144 a metre, and 3 is the least at any pitch."""
    assert told(tmp_path / "enough", least, f"{TWO}, share: split", pitch) == []
    (line,) = told(tmp_path / "too-few", least - 1, f"{TWO}, share: split", pitch)
    assert line.startswith("site.yaml:22:")
    assert f"at least 3 and 100 mm, which needs a length of {least} or more" in line


REFUSED = [
    (40, "printers: [plover], share: worst", ["share: there is nothing to share with fewer"]),
    (5, f"{TWO}, share: rotate", ["share: rotate tells whose turn it is by a mark with 3 pixels"]),
    (
        5,
        f"{TWO}, share: rotate, each: 2s",
        ["share: rotate tells whose", "each: 2 s is too short for a glance, at least 3s"],
    ),
    (40, f"{TWO}, share: worst, each: 9s", ["each: is the time of each printer's turn"]),
    (40, f"{TWO}, share: split, each: 9s", ["each: is the time of each printer's turn"]),
    (40, f"{TWO}, share: rotate, each: 0s", ["each: '0s' is no time at all"]),
    (
        11,
        f"{TWO}, share: split",
        ["share: split leaves a printer 5 of 11 pixels, 83.3 mm: at least 3 and 100 mm"],
    ),
]


@pytest.mark.parametrize(("length", "keys", "starts"), REFUSED)
def test_what_cannot_be_shared_so_is_told(
    length: int, keys: str, starts: list[str], tmp_path: Path
) -> None:
    """At the key that asks for it, with what it needs."""
    lines = told(tmp_path, length, keys)
    assert len(lines) == len(starts)
    for line, start in zip(lines, starts, strict=True):
        assert line.startswith("site.yaml:22:")
        assert f": {start}" in line


def test_without_a_pitch_the_pixels_are_judged(tmp_path: Path) -> None:
    """Both at once: whoever gives the pitch need not come back for the other."""
    lines = wrong(
        tmp_path,
        (SITE, SILL, f"first: 120, length: 5, table: wall, {TWO}, share: split"),
        (SITE, ", pitch: 1000/60 mm", ""),
    )
    few, pitch = (line.partition(": share: ")[2] for line in lines)
    assert few.startswith("split leaves a printer 2 of 5 pixels: at least 3 and 100 mm")
    assert few.endswith("needs a length of 6 or more")
    assert pitch.startswith("split needs the 'pitch' of door")


def test_a_controller_that_is_not_there_is_the_only_problem(tmp_path: Path) -> None:
    """Nobody knows its pitch."""
    (line,) = wrong(
        tmp_path,
        (SITE, "sill: {on: door", "sill: {on: dor"),
        (SITE, SILL, f"first: 120, length: 5, table: wall, {TWO}, share: split"),
    )
    assert "on: 'dor' is no controller" in line
