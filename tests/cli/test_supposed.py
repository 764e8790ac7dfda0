"""``lampwright explain --given``: a situation in the words of check's examples."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from bridge.check.tables import table_findings
from bridge.cli.supposed import SupposedError, supposed
from bridge.settings.load import load_site
from tests.cli.commands import CONFIG, lampwright


def test_a_situation_is_decided_and_explained(capsys: pytest.CaptureFixture[str]) -> None:
    """By the matcher that the daemon uses, as a case beside the rules."""
    given = "{state: stopped, alarms: {material-out: acknowledged}}"
    code, said, _ = lampwright(capsys, "explain", CONFIG, "--table", "wall", "--given", given)
    assert code == 0
    assert "  rule  out of material: alarm material-out (acknowledged)" in said
    assert said.rstrip().endswith("  shows feed-me")


@pytest.mark.parametrize(
    ("table", "given", "words"),
    [
        (None, "{state: idle}", "say which table by --table, there are wall, glance"),
        ("hall", "{state: idle}", "no table 'hall'"),
        ("wall", "idle", "--given is no mapping"),
        ("wall", "{state: [", "--given is not YAML"),
    ],
)
def test_what_cannot_be_taken_is_said(table: str | None, given: str, words: str) -> None:
    """One line each."""
    with pytest.raises(SupposedError, match=words):
        list(supposed(CONFIG, table, given))


def test_an_example_of_check_is_reproduced(tmp_path: Path) -> None:
    """What a finding says shows in its example, shows."""
    site = tmp_path / "site"
    shutil.copytree(CONFIG, site)
    rules = site / "rules.yaml"
    lines = rules.read_text("utf-8").splitlines(keepends=True)
    rules.write_text("".join(one for one in lines if "name: stopped" not in one), "utf-8")
    found = [each for each in table_findings(load_site(site)) if each.example.startswith("{")]
    gap = next(each for each in found if each.kind.value == "gap")
    said = list(supposed(site, "wall", gap.example))
    assert said[-1] == "  shows not-known"
