"""The dialect of the sails: cut, dyed, patched, hoisted by hand, and a look at dawn."""

from __future__ import annotations

import json
from typing import Any

import pytest

from bridge.simulator.sails import Sails


def made() -> Sails:
    """Two sails cut from a yard of six cloths."""
    sails = Sails("yard", 6)
    assert told(sails, "/sails/A/cut", {"luff": 0, "cloths": 2}) == (200, {})
    assert told(sails, "/sails/B/cut", {"luff": 2, "cloths": 3}) == (200, {})
    return sails


def told(sails: Sails, path: str, wish: object, now_ms: int = 0) -> tuple[int, Any]:
    """Put a wish; status and answer."""
    status, body = sails.handle("PUT", path, {}, {}, json.dumps(wish).encode(), now_ms)
    return status, json.loads(body)


def asked(sails: Sails, path: str) -> Any:  # noqa: ANN401 - any JSON
    """The answer to a question."""
    status, body = sails.handle("GET", path, {}, {}, b"", 0)
    assert status == 200
    return json.loads(body)


@pytest.mark.parametrize(
    ("dye", "press", "cell"),
    [
        ([1, 0.5, 0, 0], 1, (255, 128, 0)),
        ([1, 0.5, 0, 0], 0.5, (128, 64, 0)),
        ([0.5, 0, 0, 0.5], 1, (255, 128, 128)),
        ([0, 0, 0, 1], 0.2, (51, 51, 51)),
    ],
)
def test_white_lights_all_three(dye: list[float], press: float, cell: tuple[int, int, int]) -> None:
    """Shares of one, pressed as hard as it says."""
    sails = made()
    assert told(sails, "/sails/B", {"dye": dye, "press": press, "ease": 0})[0] == 200
    assert sails.pixels(0)[6:15] == bytes(cell) * 3
    assert asked(sails, "/sails")["sails"]["B"] == {
        "luff": 2,
        "cloths": 3,
        "dye": dye,
        "press": press,
    }


def test_it_eases_from_look_to_look() -> None:
    """In heaves of 40 ms."""
    sails = made()
    told(sails, "/sails/A", {"dye": [1, 0, 0, 0], "press": 1, "ease": 12}, 1000)
    assert [sails.pixels(at)[0] for at in (1000, 1240, 1480)] == [0, 128, 255]


def test_patches_are_each_their_own() -> None:
    """As many as the sail has cloths."""
    sails = made()
    assert told(sails, "/sails/A/patches", {"patches": [[1, 0, 0, 0], [0, 0, 0, 1]]})[0] == 200
    assert sails.pixels(0)[:6] == bytes((255, 0, 0, 255, 255, 255))
    assert told(sails, "/sails/A/patches", {"patches": [[1, 0, 0, 0]]})[0] == 422


def test_nothing_shows_before_it_is_cut_or_while_the_yard_is_down() -> None:
    """The first is refused, the second is dark."""
    sails = Sails("yard", 6)
    assert told(sails, "/sails/A", {"dye": [1, 0, 0, 0], "press": 1, "ease": 0})[0] == 409
    told(sails, "/up", wish=False)
    assert sails.pixels(0) == bytes(18)
    told(sails, "/up", wish=True)
    assert any(sails.pixels(0))


def test_the_dawn_outlives_the_power() -> None:
    """It shows over the whole run, and no sail is cut any more."""
    sails = made()
    assert told(sails, "/dawn", {"dye": [0, 0, 1, 0], "press": 0.2})[0] == 200
    sails.reboot(5000)
    assert sails.pixels(5000) == bytes((0, 0, 51)) * 6
    assert asked(sails, "/dawn") == {"dye": [0, 0, 1, 0], "press": 0.2}
    assert asked(sails, "/sails") == {"hoisted": 2, "up": True, "sails": {}}


def test_a_rag_can_be_hoisted_by_hand_and_given_back() -> None:
    """Whatever was hoisted is told by its name."""
    sails = made()
    sails.hoist("A", "chequer", 0)
    assert sails.pixels(0)[:6] == bytes((255, 0, 0, 255, 255, 255))
    assert asked(sails, "/sails")["sails"]["A"]["rag"] == "chequer"
    told(sails, "/sails/A", {"dye": [0, 0, 0, 0], "press": 0, "ease": 0})
    assert "rag" not in asked(sails, "/sails")["sails"]["A"]
    assert told(sails, "/sails/A/rag", "chequer")[0] == 200
    assert asked(sails, "/sails")["sails"]["A"]["rag"] == "chequer"


@pytest.mark.parametrize(
    ("path", "wish", "status"),
    [
        ("/sails/A", {"dye": [1, 0, 0], "press": 1, "ease": 0}, 422),
        ("/sails/A", {"dye": [1, 0, 0, 2], "press": 1, "ease": 0}, 422),
        ("/sails/A", {"dye": [1, 0, 0, 0], "press": True, "ease": 0}, 422),
        ("/sails/A", {"dye": [1, 0, 0, 0], "press": 1}, 400),
        ("/sails/C", {"dye": [1, 0, 0, 0], "press": 1, "ease": 0}, 409),
        ("/sails/A/cut", {"luff": 5, "cloths": 2}, 422),
        ("/sails/A/rag", "tatters", 404),
        ("/sails/9", {}, 404),
        ("/up", 1, 422),
    ],
)
def test_nonsense_changes_nothing(path: str, wish: object, status: int) -> None:
    """And is answered with what was expected."""
    sails = made()
    before = asked(sails, "/sails")
    assert told(sails, path, wish)[0] == status
    assert asked(sails, "/sails") == before
