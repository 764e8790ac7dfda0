"""The shapes of a table."""

from __future__ import annotations

from bridge.rules.table import Source


def test_a_source_is_written_as_editors_understand_it() -> None:
    """``file:line:column``, so that a click goes there."""
    assert str(Source("rules.yaml", 12, 7)) == "rules.yaml:12:7"
