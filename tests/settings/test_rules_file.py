"""The model of ``rules.yaml``: which keys are facts."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from bridge.settings.rules_file import Prompt, Rule

COLUMNS = [
    ("state", None),
    ("stale", None),
    ("site-tide", None),
    ("sate", "sentence"),
    ("site-", "sentence"),
    ("Site-tide", "sentence"),
    (7, "sentence"),
    ("alarm", None),
    ("prompt", None),
    ("last-job", None),
    ("in_state", None),
    ("unchanged_for", None),
    ("local_time", None),
    ("time-in-state", "sentence"),
    ("time-unchanged", "sentence"),
    ("local-time", "sentence"),
    ("alarms", "sentence"),
]


@pytest.mark.parametrize(("column", "kind"), COLUMNS)
def test_a_column_is_a_fact(column: object, kind: str | None) -> None:
    """Known, the site's own, the bridge's memory, or an alarm or a prompt."""
    data = {"name": "a", "when": {column: "x"}, "show": "dark"}
    if kind is None:
        assert list(Rule.model_validate(data).when) == [column]
        return
    with pytest.raises(ValidationError) as caught:
        Rule.model_validate(data)
    assert [error["type"] for error in caught.value.errors()] == [kind]


@pytest.mark.parametrize("column", ["alarm", "prompt"])
def test_what_raises_is_no_alarm(column: str) -> None:
    """One machine that waits for another would have no beginning."""
    with pytest.raises(ValidationError) as caught:
        Prompt.model_validate({"when": {column: "x"}})
    assert [error["msg"] for error in caught.value.errors()] == [
        f"'{column}' is for the rules of a table, alarms and prompts are raised by facts"
    ]
