"""How a finding reads."""

from __future__ import annotations

import pytest

from bridge.check.finding import Finding, Kind
from bridge.rules.table import Source

HERE = Source("rules.yaml", 7, 9)


@pytest.mark.parametrize(
    ("example", "line"),
    [
        ("", "rules.yaml:7:9: warning: nobody expects it"),
        (
            "state is idle",
            "rules.yaml:7:9: warning: nobody expects it (for example: state is idle)",
        ),
    ],
)
def test_a_finding_is_one_line_that_begins_with_its_place(example: str, line: str) -> None:
    """As a compiler's, so that editors jump there."""
    finding = Finding(Kind.RULE_NOT_EXPECTED, "warning", HERE, "nobody expects it", example)
    assert str(finding) == line
