"""Why a document does not count."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from bridge.facts.documents import MessageState
from bridge.facts.held import Held
from bridge.facts.surroundings import Surroundings, why_not
from bridge.facts.values import Unknown, Why
from tests.facts.building import status


@pytest.mark.parametrize(
    ("why", "while_link", "link_up", "expected"),
    [
        (None, False, False, None),
        (None, True, True, None),
        (None, True, False, Why.LINK_NOT_UP),
        (Why.NOT_FRESH, True, False, Why.NOT_FRESH),
        (Why.NOT_FRESH, False, True, Why.NOT_FRESH),
    ],
)
def test_why_not(why: Why | None, while_link: bool, link_up: bool, expected: Why | None) -> None:
    """What the document says of itself comes first, then the link where it must be up."""
    state = MessageState(
        status(),
        frozenset({"bench"}),
        ZoneInfo("UTC"),
        many=False,
        means_empty=False,
        while_link=while_link,
    )
    around = Surroundings({}, link_up=link_up, unmapped=[])
    unknown = why_not(Held("status", why=why), state, around)
    assert unknown == (None if expected is None else Unknown(expected, "status"))
