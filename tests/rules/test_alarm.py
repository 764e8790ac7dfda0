"""The declared shapes of alarms and prompts."""

from __future__ import annotations

from bridge.rules.alarm import condition_text
from tests.rules.alarms import DONE, STOPPED, alarm, prompt


def test_when_in_words_does_not_depend_on_order() -> None:
    """Two keys of a file written the other way round are no edit."""
    assert condition_text((STOPPED, DONE)) == condition_text((DONE, STOPPED))
    assert condition_text((STOPPED,)) != condition_text((DONE,))


def test_when_text() -> None:
    """What a record is compared by."""
    assert alarm().when_text == "state is stopped"
    assert prompt().when_text == "last-job is completed"
