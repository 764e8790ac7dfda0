"""The model of ``rules.yaml``: which keys are facts."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from bridge.settings.rules_file import LATER_COLUMNS, Rule

COLUMNS = [
    ("state", None),
    ("stale", None),
    ("site-tide", None),
    ("sate", "sentence"),
    ("site-", "sentence"),
    ("Site-tide", "sentence"),
    (7, "sentence"),
    *((name, "later") for name in LATER_COLUMNS),
]


@pytest.mark.parametrize(("column", "kind"), COLUMNS)
def test_a_column_is_a_fact(column: object, kind: str | None) -> None:
    """Known, the site's own, or of the grammar but for later."""
    data = {"name": "a", "when": {column: "x"}, "show": "dark"}
    if kind is None:
        assert list(Rule.model_validate(data).when) == [column]
        return
    with pytest.raises(ValidationError) as caught:
        Rule.model_validate(data)
    assert [error["type"] for error in caught.value.errors()] == [kind]
