"""Thirty unlike printers: what a reader must be able to say, and what is known after each step."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

import pytest

from bridge.engine.site import Site
from bridge.facts.values import FactValue, Reasons, Unknown
from bridge.facts.vocabulary import BRIDGE_PREFIX, fact_named
from tests.devices.paper import HERE, HOST, Listening, load_printer, names, read_yaml

BEYOND: dict[str, str] = read_yaml(HERE / "beyond.yaml") or {}
READERS = sorted(path.stem for path in (HERE / "readers").glob("*.yaml"))


def test_thirty_printers_and_a_reader_for_each() -> None:
    """Those that cannot be described are named with the reason."""
    assert len(names()) == 30
    assert set(names()) == {*READERS, *BEYOND}
    assert not set(READERS) & set(BEYOND)
    assert all(BEYOND.values())


@cache
def _device(name: str) -> Mapping[str, Any]:
    return dict(read_yaml(HERE / "printers" / f"{name}.yaml"))


STEPS = [
    pytest.param(name, index, id=f"{name} at {step['at']}")
    for name in READERS
    for index, step in enumerate(_device(name)["steps"])
]


@pytest.fixture(scope="module")
def load(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Site]:
    """The site around a printer, loaded once."""
    return cache(lambda name: load_printer(name, tmp_path_factory.mktemp(name)))


@pytest.mark.parametrize(("name", "index"), STEPS)
def test_what_is_known_after_a_step(name: str, index: int, load: Callable[[str], Site]) -> None:
    """Exactly what the device's file says: the values, what is unknown, the reasons known."""
    listening = Listening(load(name), name, _device(name))
    assert problems(listening.hear(index), listening.facts) == []


@pytest.mark.parametrize("name", READERS)
def test_a_device_speaks_of_facts(name: str) -> None:
    """A misspelt fact would be unknown for ever, and look right."""
    for step in _device(name)["steps"]:
        assert [fact for fact in (*step["facts"], *step["unknown"]) if not fact_named(fact)] == []
        assert not set(step["facts"]) & set(step["unknown"])
        assert "known_reasons" not in step or "reasons" in step["unknown"]


@pytest.mark.parametrize("name", READERS)
def test_what_is_asked(name: str, load: Callable[[str], Site]) -> None:
    """The requests and questions are those that the device needs, as often as it needs them."""
    site = load(name)
    assert [_json_body(asked) for asked in _device(name).get("asked", [])] == [
        *(
            {
                "address": asking.address,
                "payload": json.loads(asking.payload),
                "every": f"{(asking.every_ms or 0) // 1000} s",
                "first": "on connect",
            }
            for asking in site.printers[name].asks
        ),
        *(
            {
                "method": endpoint.method,
                "address": endpoint.url.removeprefix(HOST).partition("?")[0],
                "every": f"{endpoint.working_ms // 1000} s",
            }
            | ({"headers": dict(endpoint.headers)} if endpoint.headers else {})
            | ({"body": json.loads(endpoint.body)} if endpoint.body else {})
            | ({"query": _query(endpoint.url)} if "?" in endpoint.url else {})
            for endpoint in site.endpoints.values()
        ),
    ]


def _json_body(asked: Mapping[str, Any]) -> dict[str, Any]:
    return {
        key: json.loads(value) if key in {"payload", "body"} else value
        for key, value in asked.items()
    }


def _query(url: str) -> dict[str, str]:
    return dict(pair.split("=") for pair in url.partition("?")[2].split("&"))


def problems(step: Mapping[str, Any], facts: Mapping[str, FactValue]) -> list[str]:
    """Where the facts differ from a step of a device's file."""
    found: list[str] = []
    for fact, expected in step["facts"].items():
        value = facts.get(fact)
        if not _is(value, expected):
            found.append(f"{fact} is {value}, expected {expected}")
    for fact in step["unknown"]:
        value = facts.get(fact)
        if not (value is None or isinstance(value, Unknown) or _is_open(value)):
            found.append(f"{fact} is {value}, expected unknown")
    if "known_reasons" in step:
        reasons = facts.get("reasons")
        known = _said(reasons) if isinstance(reasons, Reasons) else set()
        if known != set(step["known_reasons"]):
            found.append(f"of the reasons {known} are known, expected {step['known_reasons']}")
    return found


def _is(value: FactValue | None, expected: Any) -> bool:  # noqa: ANN401 - what YAML holds
    if isinstance(expected, list):
        return isinstance(value, Reasons) and value.complete and _said(value) == set(expected)
    if isinstance(expected, int | float) and not isinstance(expected, bool):
        return isinstance(value, float) and abs(value - expected) <= 1e-6
    return type(value) is type(expected) and value == expected


def _is_open(value: FactValue) -> bool:
    return isinstance(value, Reasons) and not value.complete


def _said(reasons: Reasons) -> set[str]:
    """What the printer said; what the bridge adds of its own is not in the devices' files."""
    return {each.said for each in reasons.known if not each.keyword.startswith(BRIDGE_PREFIX)}
