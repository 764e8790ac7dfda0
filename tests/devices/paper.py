"""A printer on paper: its reader through the real settings, its messages through the core."""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

from bridge.engine.core import Core
from bridge.engine.events import (
    HTTP_SOURCE,
    Clock,
    Due,
    Event,
    Heard,
    PollFailed,
    Settings,
    SourceLost,
    SourceUp,
    Started,
)
from bridge.engine.site import Site
from bridge.facts.moment import Moment
from bridge.facts.values import FactValue
from bridge.settings.load import digest_of, load_site

HERE = Path(__file__).parent
HOST = "http://device.club.example"
BROKER = "shed"

_FRAME: dict[str, Any] = {
    "zone": "Europe/Berlin",
    "brokers": {BROKER: {"url": "mqtt://broker.club.example"}},
    "controllers": {"sill": {"url": "http://sill.club.example", "dialect": "plain", "pixels": 60}},
    "resting": "dark",
    "off_watch": "not-known",
}
_LEGEND: dict[str, Any] = {
    "scenes": {
        "dark": {"says": "resting", "effect": "steady", "colour": "black", "brightness": "0 %"},
        "not-known": {"says": "unknown", "effect": "steady", "colour": "neutral"},
        "ready": {"says": "well", "effect": "steady", "colour": "healthy"},
    }
}
_RULES: dict[str, Any] = {
    "tables": {
        "wall": {
            "rules": [{"name": "idle", "when": {"state": "idle"}, "show": "ready"}],
            "otherwise": "not-known",
        }
    }
}
_DIALECT: dict[str, Any] = {
    "limits": {"requests": "4/s", "timeout": "3s"},
    "codecs": {"colour": "hex", "level": {"to": [0, 100]}},
    "effects": {"steady": {"name": "plain"}},
    "show": {"method": "PUT", "path": "/lamp", "body": "{colour} {level} {effect}"},
}


def read_yaml(path: Path) -> Any:  # noqa: ANN401 - what YAML holds
    """A file of the collection."""
    return YAML(typ="safe", pure=True).load(path.read_text("utf-8"))


def names() -> list[str]:
    """Every printer on paper."""
    return sorted(path.stem for path in (HERE / "printers").glob("*.yaml"))


def load_printer(name: str, folder: Path) -> Site:
    """A site around the printer's reader, loaded as any other site."""
    given = HERE / "sites" / f"{name}.yaml"
    part = read_yaml(given) if given.exists() else {}
    reader = HERE / "readers" / f"{name}.yaml"
    if "messages" not in part:
        address = _only_address(read_yaml(HERE / "printers" / f"{name}.yaml"))
        part["messages"] = dict.fromkeys(read_yaml(reader)["messages"], address)
    if any(not str(address).startswith("http") for address in part["messages"].values()):
        part["broker"] = BROKER
    site = {
        **_FRAME,
        "printers": {name: {"reader": name, **part}},
        "segments": {
            "edge": {"on": "sill", "number": 1, "first": 0, "length": 60}
            | {"printers": [name], "table": "wall"}
        },
    }
    files = {
        "site.yaml": site,
        "rules.yaml": _RULES,
        "legend.yaml": _LEGEND,
        "dialects/plain.yaml": _DIALECT,
    }
    for file, data in files.items():
        path = folder / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(data, ensure_ascii=False), "utf-8")
    (folder / "readers").mkdir()
    (folder / "readers" / reader.name).write_text(reader.read_text("utf-8"), "utf-8")
    return load_site(folder)


def _only_address(device: Mapping[str, Any]) -> str:
    addresses = {heard["address"] for step in device["steps"] for heard in step["heard"]}
    (address,) = addresses
    return f"{HOST}{address}" if device["transport"] == "http" else str(address)


class Listening:
    """The core, hearing a printer's kept messages at their times."""

    def __init__(self, site: Site, printer: str, device: Mapping[str, Any]) -> None:
        self._printer = printer
        self._device = device
        self._endpoint = next(iter(site.endpoints), "")
        self._wall_at_0_ms = _wall_ms(device.get("clock", "2031-03-04T12:00:00+01:00"))
        self._core = Core()
        for event in (Started("paper"), Settings(site, digest_of(site)), SourceUp(BROKER)):
            self._core.handle(event, self._moment(0))

    @property
    def facts(self) -> Mapping[str, FactValue]:
        """All that is known of the printer."""
        return self._core.view().printers[self._printer].facts

    def hear(self, last: int) -> Mapping[str, Any]:
        """Every step up to the one of that index, which is given back."""
        steps: list[Mapping[str, Any]] = self._device["steps"][: last + 1]
        for step in steps:
            self._hear(step)
        return steps[last]

    def _moment(self, ms: int) -> Moment:
        wall = self._wall_at_0_ms
        return Moment(ms, None if wall is None else wall + ms)

    def _hear(self, step: Mapping[str, Any]) -> None:
        now_ms = round(float(step["at"].removesuffix(" s")) * 1000)
        events: list[Event] = [Due()]
        if "clock" in step:
            wall = _wall_ms(step["clock"])
            self._wall_at_0_ms = None if wall is None else wall - now_ms
            events.append(Clock())
        if "source" in step:
            up, lost = SourceUp(BROKER), SourceLost(BROKER, "gone")
            events.append(up if step["source"] == "up" else lost)
        events += [self._heard(heard) for heard in step["heard"]]
        for event in events:
            self._core.handle(event, self._moment(now_ms))

    def _heard(self, heard: Mapping[str, Any]) -> Event:
        if heard.get("failed"):
            return PollFailed(self._endpoint, "busy", None)
        body = None if heard.get("unchanged") else _body(heard)
        if self._device["transport"] == "http":
            return Heard(HTTP_SOURCE, self._endpoint, body)
        return Heard(BROKER, heard["address"], body, retained=bool(heard.get("retained")))


def _body(heard: Mapping[str, Any]) -> bytes:
    if "payload_base64" in heard:
        return base64.b64decode(heard["payload_base64"])
    return str(heard["payload"]).encode()


def _wall_ms(written: str) -> int | None:
    if written == "unknown":
        return None
    return round(datetime.fromisoformat(written).timestamp() * 1000)
