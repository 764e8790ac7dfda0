"""Ten unlike controllers on paper: their looks become the kept requests, and read back again."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any, Literal
from urllib.parse import parse_qs, unquote

import pytest

from bridge.lights.dialect.dialect import Identity, Observation, Prepared
from bridge.lights.look import Look, Native, Still
from bridge.scenes.colour import parse_colour
from bridge.scenes.scene import Rate
from tests.lights.dialect.files import NAMES, device_of, dialect_of, places_of

CASES = [(name, index) for name in NAMES for index in range(2)]


def test_there_are_ten_with_two_looks_each() -> None:
    """The kept cases are all there, so that none passes by being absent."""
    assert len(NAMES) == 10
    assert all(len(device_of(name)["looks"]) == 2 for name in NAMES)


@pytest.mark.parametrize(("name", "index"), CASES)
def test_a_look_becomes_the_kept_requests(name: str, index: int) -> None:
    """What is sent is what the controller's paper says, request by request."""
    device, dialect = device_of(name), dialect_of(name)
    case = device["looks"][index]
    place, look = places_of(device)[case["segment"]], look_of(case["look"])
    if isinstance(look, Still):
        sent = dialect.paint(place, look.frame, None)
    else:
        items = [(place, look)]
        sent = (dialect.show(items, last_read(name, case)), *dialect.after_show(items))
    assert [plain(request) for request in sent] == [kept(each) for each in case["requests"]]


@pytest.mark.parametrize(("name", "index"), CASES)
def test_the_kept_replies_mean_taken(name: str, index: int) -> None:
    """Each kept reply to a kept request is understood as taken."""
    case, dialect = device_of(name)["looks"][index], dialect_of(name)
    purpose: Literal["paint", "show"] = "paint" if "pixels" in case["look"] else "show"
    for each in case["requests"]:
        assert dialect.answer(purpose, each["status"], each["reply"].encode()).ok


@pytest.mark.parametrize("name", NAMES)
def test_a_kept_refusal_is_not_taken(name: str) -> None:
    """A refusal with a good status is seen by what the reply says."""
    dialect = dialect_of(name)
    for each in device_of(name).get("refused", ()):
        assert not dialect.answer("show", each["status"], each["reply"].encode()).ok


@pytest.mark.parametrize(("name", "index"), CASES)
def test_the_kept_reading_agrees_with_the_look(name: str, index: int) -> None:
    """The reading is asked for as kept, and holds no difference from what was sent."""
    device, dialect = device_of(name), dialect_of(name)
    case = device["looks"][index]
    place, look = places_of(device)[case["segment"]], look_of(case["look"])
    painted = [case["segment"]] if isinstance(look, Still) else []
    ((request, about),) = dialect.reads_for([place], painted)
    (wanted,) = case["reads"]
    assert plain(request)[:3] == (wanted["method"], wanted["path"], wanted.get("query", {}))
    seen = dialect.observed(wanted["reply"].encode(), about)
    assert isinstance(seen, Observation)
    assert seen.missing == ()
    assert dialect.differences(place, look, seen.seen[place.segment]) == ()


@pytest.mark.parametrize(("name", "index"), CASES)
def test_another_look_does_not_agree(name: str, index: int) -> None:
    """The same reading differs from every look but its own."""
    device, dialect = device_of(name), dialect_of(name)
    case = device["looks"][index]
    place, look = places_of(device)[case["segment"]], look_of(case["look"])
    seen = dialect.observed(case["reads"][0]["reply"].encode(), [place])
    assert isinstance(seen, Observation)
    for other in other_looks(look):
        assert dialect.differences(place, other, seen.seen[place.segment]), other


@pytest.mark.parametrize(("name", "index"), CASES)
def test_the_kept_reading_decodes_to_the_look(name: str, index: int) -> None:
    """What is read back is the look again, as far as the controller keeps it."""
    device, dialect = device_of(name), dialect_of(name)
    case = device["looks"][index]
    place, look = places_of(device)[case["segment"]], look_of(case["look"])
    seen = dialect.observed(case["reads"][0]["reply"].encode(), [place])
    assert isinstance(seen, Observation)
    decoded = dialect.decode(seen.seen[place.segment])
    if isinstance(look, Still):
        assert decoded["frame"] == look.frame
        return
    assert decoded["effect"] == look.effect
    assert decoded.get("rate", look.rate) == look.rate
    assert ("rate" in decoded) == (look.effect == "flash")
    colour = decoded["colour"]
    assert isinstance(colour, tuple)
    if "level" in decoded:
        least = 0.032 if name == "gudgeon" else 0.0
        assert decoded["level"] == pytest.approx(max(look.level, least), abs=0.01)
        assert colour == pytest.approx(look.colour, abs=1)
    else:
        # The level is folded in; a hue in 400 and a saturation in 64 steps come back nearly.
        dimmed = [channel * look.level for channel in look.colour]
        assert colour == pytest.approx(dimmed, abs=2)


@pytest.mark.parametrize("name", NAMES)
def test_the_controller_says_who_it_is(name: str) -> None:
    """The identity is asked for as kept, and found in the kept reply."""
    device, dialect = device_of(name), dialect_of(name)
    kept_case = device["identify"]
    assert plain(dialect.identify())[:2] == (kept_case["method"], kept_case["path"])
    said = dialect.identity(kept_case["reply"].encode())
    assert isinstance(said, Identity)
    assert said.identity
    assert said.identity in kept_case["reply"]
    ends = [segment["first"] + segment["length"] for segment in device["segments"]]
    assert said.pixels in {None, max(ends)}


RESTARTS = [
    ("batten", 8123_000, None),
    ("cleat", 5521_000, None),
    ("fairlead", None, "212"),
    ("gudgeon", None, "7"),
    ("gunwale", 4712_000, None),
    ("halyard", (2 * 3600 + 15 * 60 + 33) * 1000, None),
    ("thwart", (2 * 3600 + 15 * 60 + 33) * 1000, None),
    ("transom", None, "17"),
]


@pytest.mark.parametrize(("name", "uptime_ms", "mark"), RESTARTS)
def test_a_reading_tells_a_restart(name: str, uptime_ms: int | None, mark: str | None) -> None:
    """The uptime is read in its own unit, or the mark as it is."""
    device = device_of(name)
    reply = device["looks"][0]["reads"][0]["reply"].encode()
    seen = dialect_of(name).observed(reply, list(places_of(device).values()))
    assert isinstance(seen, Observation)
    assert (seen.uptime_ms, seen.mark) == (uptime_ms, mark)


def look_of(case: dict[str, Any]) -> Native | Still:
    """A look as it is kept on paper."""
    if "pixels" in case:
        return Still(b"".join(bytes(parse_colour(each)) for each in case["pixels"]))
    return Native(
        case["effect"], parse_colour(case["colour"]), case["level"], case.get("rate", "normal")
    )


def last_read(name: str, case: dict[str, Any]) -> tuple[Any, ...]:
    """The items read before, where the controller wants them all again."""
    for each in case.get("before", ()):
        seen = dialect_of(name).observed(each["reply"].encode(), ())
        assert isinstance(seen, Observation)
        return seen.items
    return ()


def other_looks(look: Native | Still) -> Iterator[Look]:
    """Looks that a careless comparison would take for this one."""
    if isinstance(look, Still):
        yield Still(look.frame[3:] + look.frame[:3])
        return
    red, green, blue = look.colour
    yield Native(look.effect, (green, red, blue), look.level, look.rate)
    yield Native(look.effect, look.colour, 1 - look.level / 2, look.rate)
    yield Native(look.effect, look.colour, 0.0, look.rate)
    yield Native(
        "steady" if look.effect == "flash" else "flash", look.colour, look.level, look.rate
    )
    if look.effect == "flash":
        other: Rate = "slow" if look.rate == "normal" else "normal"
        yield Native(look.effect, look.colour, look.level, other)


def plain(request: Prepared) -> tuple[str, str, dict[str, str], str, Any]:
    """Method, path, query, content type and body as values, whose order does not matter."""
    path, _, query = request.path.partition("?")
    content_type = dict(request.headers).get("Content-Type", "")
    body = (request.body or b"").decode()
    return request.method, unquote(path), flat(query), content_type, value_of(content_type, body)


def kept(case: dict[str, Any]) -> tuple[str, str, dict[str, str], str, Any]:
    """A kept request in the same form."""
    content_type = case["headers"].get("Content-Type", "")
    body = value_of(content_type, case["body"])
    return case["method"], case["path"], case["query"], content_type, body


def value_of(content_type: str, body: str) -> Any:  # noqa: ANN401 - what JSON holds
    """The body's value."""
    if not body:
        return None
    return flat(body) if "form" in content_type else json.loads(body)


def flat(query: str) -> dict[str, str]:
    """A query's names and values."""
    return {name: value for name, (value,) in parse_qs(query, strict_parsing=bool(query)).items()}
