"""The picture as JSON: whole, and with no instant that means nothing to who reads it."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from bridge.engine.view import AlarmView, HoldView, PromptView, View
from bridge.facts.values import FactValue, Reason, Reasons, Severity, Unknown, Why
from bridge.lights.look import Look, Native, Still
from bridge.service.view_plain import view_plain
from tests.engine.workroom import World, heard, said

JAM = AlarmView(
    alarm="jam",
    printer="kestrel",
    state="unacknowledged",
    shown="unacknowledged",
    occurrence="s-1",
    priority="high",
    since_wall_ms=1_700_000_000_000,
    since_ms=4_000,
    unconfirmed=False,
    escalated=True,
    standing=False,
    chattering=True,
    shelved_until_wall_ms=None,
    cause="a cold nozzle",
    response="clear it",
)
COLLECT = PromptView(
    "collect", "plover", waiting=True, occurrence="s-2", since_ms=1_000, response=""
)
HOLD = HoldView("shelf", "dark", 1_700_000_100_000, 25_000, "Ada")
EMPTY = View(10_000, {}, {}, {}, {}, {})


def running_site() -> View:
    """A workroom in which something was heard."""
    world = World(page=said(doing="what")).begin()
    world.feed(heard(said(doing="at it", share=0.25)))
    world.run_for(1000)
    return world.core.view()


def test_a_running_site_is_json_without_anything_odd() -> None:
    """Each part says its name, in the order of the site."""
    plain = view_plain(running_site())
    back = json.loads(json.dumps(plain, allow_nan=False))
    assert [each["printer"] for each in back["printers"]] == ["kestrel", "plover"]
    assert [each["segment"] for each in back["segments"]] == ["s1", "s2", "s3"]
    assert [each["controller"] for each in back["controllers"]] == ["rail"]
    assert back["sources"] == {"shed": "", "http": ""}
    working, unclear, lamp = back["segments"]
    assert (working["rule"], working["scene"], working["printer"]) == (
        "working",
        "filling",
        "kestrel",
    )
    assert unclear["rule"] == "otherwise"
    assert [each["rule"] for each in unclear["passed_over"]][-1] == "idle"
    assert (lamp["rule"], lamp["printer"], lamp["scene"]) == (None, None, "warm")
    assert [each["word"] for each in back["printers"][1]["words"]] == ["what"]
    assert back["counts"]["messages"] == 2


def test_before_the_settings_are_known_there_is_nothing() -> None:
    """But it is a picture."""
    plain = view_plain(EMPTY)
    assert plain["now_ms"] == 10_000
    assert [plain[key] for key in ("printers", "segments", "alarms", "holds")] == [[], [], [], []]


def test_what_waits_for_a_person_has_ages() -> None:
    """And what ends has what is left."""
    plain = view_plain(replace(EMPTY, alarms=(JAM,), prompts=(COLLECT,), holds=(HOLD,)))
    assert plain["alarms"] == [
        {
            "alarm": "jam",
            "printer": "kestrel",
            "state": "unacknowledged",
            "shown": "unacknowledged",
            "occurrence": "s-1",
            "priority": "high",
            "since_wall_ms": 1_700_000_000_000,
            "age_ms": 6_000,
            "unconfirmed": False,
            "escalated": True,
            "standing": False,
            "chattering": True,
            "shelved_until_wall_ms": None,
            "cause": "a cold nozzle",
            "response": "clear it",
        }
    ]
    assert plain["prompts"] == [
        {
            "prompt": "collect",
            "printer": "plover",
            "waiting": True,
            "occurrence": "s-2",
            "age_ms": 9_000,
            "response": "",
        }
    ]
    assert plain["holds"] == [
        {
            "segment": "shelf",
            "scene": "dark",
            "until_wall_ms": 1_700_000_100_000,
            "left_ms": 15_000,
            "who": "Ada",
        }
    ]


def test_what_is_not_known_is_null() -> None:
    """Of an alarm that is normal, and a hold without an end."""
    view = replace(
        EMPTY,
        alarms=(replace(JAM, since_ms=None, since_wall_ms=None, occurrence=None),),
        prompts=(replace(COLLECT, since_ms=None),),
        holds=(replace(HOLD, until_wall_ms=None, until_ms=None),),
    )
    text = json.dumps(view_plain(view))
    assert (text.count('"age_ms": null'), text.count('"left_ms": null')) == (2, 1)


FACTS: list[tuple[FactValue, object]] = [
    ("idle", "idle"),
    (0.25, 0.25),
    (True, True),
    (Unknown(Why.NOT_FRESH, "page"), {"unknown": "not heard for too long", "detail": "page"}),
    (
        Reasons((Reason("media-jam", Severity.ERROR, "media-jam-error"),)),
        {"reasons": ["media-jam-error"], "complete": True},
    ),
    (Reasons((), Unknown(Why.INCOMPLETE)), {"reasons": [], "complete": False}),
]


@pytest.mark.parametrize(("value", "plain"), FACTS)
def test_a_fact_says_whether_it_is_known(value: FactValue, plain: object) -> None:
    """So that nobody takes a word like unknown for a state."""
    view = running_site()
    kestrel = replace(view.printers["kestrel"], facts={"state": value})
    (printer,) = view_plain(replace(view, printers={"kestrel": kestrel}))["printers"]
    assert printer["facts"] == {"state": plain}


LOOKS: list[tuple[Look | None, object]] = [
    (None, None),
    (
        Native("steady", (0, 176, 96), 0.1),
        {"effect": "steady", "colour": "#00b060", "level": 0.1, "rate": None},
    ),
    (
        Native("flash", (0, 0, 255), 1.0, "slow"),
        {"effect": "flash", "colour": "#0000ff", "level": 1.0, "rate": "slow"},
    ),
    (Still(b"\x00\x01\xff"), {"frame": "0001ff"}),
]


@pytest.mark.parametrize(("look", "plain"), LOOKS)
def test_a_look_is_an_effect_or_pixels(look: Look | None, plain: object) -> None:
    """As the controller is told, or as it is painted."""
    view = running_site()
    shelf = replace(view.segments["s1"], look=look)
    (segment,) = view_plain(replace(view, segments={"s1": shelf}))["segments"]
    assert segment["look"] == plain
