"""The files of a site: which there are, and their texts."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from bridge.settings.problems import Problem

#: Far above any site; a file that is larger was not written by a person for this.
MOST_BYTES: Final = 1 << 20
SINGLE: Final = ("site.yaml", "rules.yaml", "legend.yaml")
FOLDERS: Final = ("readers", "dialects")
SUFFIX: Final = ".yaml"


def read_files(directory: Path) -> tuple[dict[str, str], list[Problem]]:
    """The texts by their path within the site, and what could not be read."""
    if not directory.is_dir():
        why = "is a file" if directory.exists() else "is not there"
        return {}, [Problem(str(directory), 1, 1, f"{why}, expected the directory of a site")]
    texts: dict[str, str] = {}
    problems: list[Problem] = []
    for file in (*SINGLE, *_in_folders(directory, problems)):
        text = _read(directory, file)
        if isinstance(text, Problem):
            problems.append(text)
        else:
            texts[file] = text
    return texts, problems


def _in_folders(directory: Path, problems: list[Problem]) -> Iterator[str]:
    for folder in FOLDERS:
        path = directory / folder
        for entry in sorted(path.iterdir()) if path.is_dir() else ():
            file = f"{folder}/{entry.name}"
            if entry.suffix == SUFFIX:
                yield file
            elif entry.suffix == ".yml":
                right = f"{folder}/{entry.stem}{SUFFIX}"
                problems.append(Problem(file, 1, 1, f"is not read, rename it to {right}"))


def _read(directory: Path, file: str) -> str | Problem:
    try:
        with (directory / file).open("rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except FileNotFoundError:
        return Problem(file, 1, 1, "is not there, every site has one")
    except OSError as error:
        return Problem(file, 1, 1, f"cannot be read: {(error.strerror or str(error)).lower()}")
    if len(data) > MOST_BYTES:
        return Problem(file, 1, 1, f"is larger than {MOST_BYTES >> 20} MiB, which no site needs")
    try:
        # A mark that some editors put in front; it is no part of the text.
        return data.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8")) + 1
        wrong = f"the byte 0x{data[error.start]:02x} is not UTF-8"
        return Problem(file, line, column, f"{wrong}, save the file as UTF-8")
