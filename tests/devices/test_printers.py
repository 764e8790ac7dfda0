"""Thirty unlike printers: what a reader must be able to say, and what is known after each step."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from bridge.facts.values import FactValue, Reasons, Unknown
from tests.devices.paper import HERE, HOST, Listening, load_printer, names, read_yaml

BEYOND: dict[str, str] = read_yaml(HERE / "beyond.yaml") or {}
READERS = sorted(path.stem for path in (HERE / "readers").glob("*.yaml"))


def test_thirty_printers_and_a_reader_for_each() -> None:
    """Those that cannot be described are named with the reason."""
    assert len(names()) == 30
    assert set(names()) == {*READERS, *BEYOND}
    assert not set(READERS) & set(BEYOND)
    assert all(BEYOND.values())


@pytest.mark.parametrize("name", READERS)
def test_what_is_known_after_each_step(name: str, tmp_path: Path) -> None:
    """Exactly what the device's file says: the values, what is unknown, the reasons known."""
    device = read_yaml(HERE / "printers" / f"{name}.yaml")
    listening = Listening(load_printer(name, tmp_path), name, device)
    wrong: list[str] = []
    for at, step in listening.steps():
        wrong += [f"{at}: {problem}" for problem in problems(step, listening.facts)]
    assert wrong == []


@pytest.mark.parametrize("name", READERS)
def test_what_is_asked(name: str, tmp_path: Path) -> None:
    """The requests and questions are those that the device needs, as often as it needs them."""
    device = read_yaml(HERE / "printers" / f"{name}.yaml")
    site = load_printer(name, tmp_path)
    assert [_json_body(asked) for asked in device.get("asked", [])] == [
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
    return {reason.said for reason in reasons.known}
