"""MQTT topic filters: the examples of the specification, normative and not.

Source: MQTT Version 5.0, OASIS Standard, 7 March 2019, §4.7.1 and §4.7.2
(https://docs.oasis-open.org/mqtt/mqtt/v5.0/os/mqtt-v5.0-os.html#_Toc3901241); 3.1.1 has the same.
"""

from __future__ import annotations

import pytest

from bridge.facts.topics import matches, problem_of_filter


@pytest.mark.parametrize(
    ("topic_filter", "topic", "expected"),
    [
        # §4.7.1.2, multi-level wildcard
        ("sport/tennis/player1/#", "sport/tennis/player1", True),
        ("sport/tennis/player1/#", "sport/tennis/player1/ranking", True),
        ("sport/tennis/player1/#", "sport/tennis/player1/score/wimbledon", True),
        ("sport/#", "sport", True),
        ("#", "sport/tennis/player1", True),
        # §4.7.1.3, single-level wildcard
        ("sport/tennis/+", "sport/tennis/player1", True),
        ("sport/tennis/+", "sport/tennis/player2", True),
        ("sport/tennis/+", "sport/tennis/player1/ranking", False),
        ("sport/+", "sport", False),
        ("sport/+", "sport/", True),
        ("+", "sport", True),
        ("+/tennis/#", "sport/tennis/player1", True),
        ("sport/+/player1", "sport/tennis/player1", True),
        ("+/+", "/finance", True),
        ("/+", "/finance", True),
        ("+", "/finance", False),
        # §4.7.2, topics beginning with $
        ("#", "$SYS/monitor/Clients", False),
        ("+/monitor/Clients", "$SYS/monitor/Clients", False),
        ("$SYS/#", "$SYS/monitor/Clients", True),
        ("$SYS/monitor/+", "$SYS/monitor/Clients", True),
        # §4.7.3: topics are case sensitive, and a leading or trailing slash makes another topic
        ("ACCOUNTS", "Accounts", False),
        ("finance", "/finance", False),
        ("/finance", "/finance", True),
        ("Accounts payable", "Accounts payable", True),
    ],
)
def test_matching(topic_filter: str, topic: str, expected: bool) -> None:
    """What each example says."""
    assert problem_of_filter(topic_filter) is None
    assert matches(topic_filter, topic) is expected


@pytest.mark.parametrize(
    "topic_filter", ["sport/tennis#", "sport/tennis/#/ranking", "sport+", "", "sport/\0"]
)
def test_not_valid(topic_filter: str) -> None:
    """§4.7.1.2, §4.7.1.3 and [MQTT-4.7.3-1], [MQTT-4.7.3-2]."""
    assert problem_of_filter(topic_filter) is not None
