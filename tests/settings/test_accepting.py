"""Findings that somebody accepts, from the file."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.settings.accepting import SUBJECTS
from tests.settings.copies import load_edited, wrong

RULES = "rules.yaml"


def with_entry(entry: str) -> tuple[str, str, str]:
    """The rules with an entry of that list."""
    return (RULES, "tables:", f"accept:\n  - {entry}\ntables:")


def test_an_entry_says_what_it_is_about(tmp_path: Path) -> None:
    """By the kinds of things, in one order."""
    entry = "{because: it is so, rule: idle, finding: overlap, table: wall}"
    (accepted,) = load_edited(tmp_path, with_entry(entry)).accepted
    assert accepted.finding == "overlap"
    assert accepted.about == (("table", "wall"), ("rule", "idle"))
    assert (accepted.because, str(accepted.source)) == ("it is so", "rules.yaml:2:5")
    assert set(SUBJECTS) >= {"table", "rule", "alarm", "segment"}


REFUSED = [
    ("{finding: overlap, because: x}", "2:5: accept: says not what it is about, expected table, "),
    ("{finding: overlap, table: wall}", "2:5: needs 'because'"),
    ("{table: wall, because: x}", "2:5: needs 'finding'"),
    ("{finding: overlap, tabel: wall, because: x}", "2:24: tabel: is no key here; did you mean"),
]


@pytest.mark.parametrize(("entry", "start"), REFUSED)
def test_an_entry_without_a_reason_or_a_subject_is_told(
    entry: str, start: str, tmp_path: Path
) -> None:
    """Nobody could say later why it stands there."""
    (line,) = wrong(tmp_path, with_entry(entry))
    assert line.startswith(f"rules.yaml:{start}")
