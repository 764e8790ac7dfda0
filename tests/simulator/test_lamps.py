"""The dialect of the lamps: all at once, lit by a second word, burning down, and no entry."""

from __future__ import annotations

import json
from typing import Any

import pytest

from bridge.simulator.lamps import Lamp, Lamps

RED = "hsl(0, 100%, 50%)"


def made(token: str = "") -> Lamps:
    """Two lamps of two and one pixels."""
    return Lamps("pier", 3, {"fore": (0, 2), "aft": (2, 1)}, token=token)


def item(name: str, ink: str = RED, **more: object) -> dict[str, object]:
    """How a lamp is filled."""
    return {"lamp": name, "ink": ink, "glim": "100 %", "burns": None, **more}


def told(lamps: Lamps, path: str, wish: object = None, now_ms: int = 0) -> tuple[int, Any]:
    """Post a wish; status and answer."""
    body = b"" if wish is None else json.dumps(wish).encode()
    status, answer = lamps.handle("POST", path, {}, {}, body, now_ms)
    return status, json.loads(answer)


def asked(lamps: Lamps, now_ms: int = 0) -> Any:  # noqa: ANN401 - any JSON
    """What it says of itself."""
    return json.loads(lamps.handle("GET", "/pier", {}, {}, b"", now_ms)[1])


def lit(lamps: Lamps, *items: dict[str, object], now_ms: int = 0) -> None:
    """Fill and light."""
    assert told(lamps, "/pier", {"lamps": list(items)}, now_ms) == (200, {"aye": True})
    assert told(lamps, "/pier/light", None, now_ms) == (200, {"aye": True})


def test_nothing_shows_until_it_is_lit() -> None:
    """Then what was filled last."""
    lamps = made()
    before = lamps.pixels(0)
    told(lamps, "/pier", {"lamps": [item("fore", "hsl(120, 100%, 25%)"), item("aft")]})
    assert lamps.pixels(0) == before
    told(lamps, "/pier/light")
    assert lamps.pixels(0) == bytes((0, 128, 0)) * 2 + bytes((255, 0, 0))


def test_every_lamp_is_wanted() -> None:
    """One that is left out spoils it all."""
    lamps = made()
    assert told(lamps, "/pier", {"lamps": [item("fore")]}) == (
        422,
        {"no": "every lamp is wanted, and no other: aft"},
    )
    assert told(lamps, "/pier", {"lamps": [item("fore"), item("aft"), item("mid")]})[0] == 422


def test_a_lamp_burns_down() -> None:
    """Counted from the last time that it was told."""
    lamps = made()
    lit(lamps, item("fore", burns=10), item("aft"))
    lit(lamps, item("fore", burns=10), item("aft"), now_ms=6000)
    assert [any(lamps.pixels(at)[:6]) for at in (10_000, 15_999, 16_000)] == [True, True, False]
    assert any(lamps.pixels(99_000)[6:])
    assert asked(lamps, 99_000)["lamps"][0]["glim"] == "0 %"


def test_a_lamp_winks() -> None:
    """Full and weak in turn, as long as it is told to."""
    lamps = made()
    lit(lamps, item("fore", wink=640), item("aft"))
    assert [lamps.pixels(at)[0] for at in (0, 319, 320, 639, 640)] == [255, 255, 64, 64, 255]
    assert asked(lamps)["lamps"][0]["wink"] == 640
    lit(lamps, item("fore"), item("aft"))
    assert "wink" not in asked(lamps)["lamps"][0]


def test_somebody_trims_a_lamp() -> None:
    """What it says can be sent back to it."""
    lamps = made()
    lamps.trim("aft", Lamp("hsl(240, 100%, 50%)", "20 %"), 0)
    assert lamps.pixels(0)[6:] == bytes((0, 0, 51))
    lit(lamps, item("fore"), asked(lamps)["lamps"][1])
    assert lamps.pixels(0) == bytes((255, 0, 0)) * 2 + bytes((0, 0, 51))


def test_it_says_how_long_it_has_been_burning() -> None:
    """As ISO 8601 has it."""
    assert asked(made(), 754_000)["burning"] == "PT12M34S"


def test_nobody_comes_in_without_the_token() -> None:
    """Neither to look nor to tell."""
    lamps = made("oil")
    assert lamps.handle("GET", "/pier", {}, {}, b"", 0)[0] == 401
    assert lamps.handle("GET", "/pier", {}, {"Authorization": "Bearer oil"}, b"", 0)[0] == 200


@pytest.mark.parametrize(
    ("path", "wish", "status"),
    [
        ("/pier", {"lamps": [item("fore", "red"), item("aft")]}, 422),
        ("/pier", {"lamps": [item("fore", glim="half"), item("aft")]}, 422),
        ("/pier", {"lamps": [item("fore", burns=0), item("aft")]}, 422),
        ("/pier", {"lamps": [item("fore", wink=5), item("aft")]}, 422),
        ("/pier", {"lamps": [{"lamp": "fore"}, item("aft")]}, 400),
        ("/pier", {"lamps": "all"}, 422),
        ("/pier/snuff", {}, 404),
    ],
)
def test_nonsense_changes_nothing(path: str, wish: object, status: int) -> None:
    """And is answered with what was expected."""
    lamps = made()
    before = asked(lamps)
    assert told(lamps, path, wish)[0] == status
    told(lamps, "/pier/light")
    assert asked(lamps) == before
