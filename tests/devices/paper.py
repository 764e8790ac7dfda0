"""A printer on paper: its reader through the real settings, its kept messages through the facts."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

from bridge.engine.site import Printer, Site
from bridge.facts.moment import Moment
from bridge.facts.printer import PrinterFacts
from bridge.facts.reader import Input
from bridge.facts.topics import captured
from bridge.settings.load import load_site

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


def load_printer(name: str, folder: Path) -> tuple[Site, Printer]:
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
    loaded = load_site(folder)
    return loaded, loaded.printers[name]


def _only_address(device: Mapping[str, Any]) -> str:
    addresses = {heard["address"] for step in device["steps"] for heard in step["heard"]}
    (address,) = addresses
    return f"{HOST}{address}" if device["transport"] == "http" else str(address)


@dataclass(slots=True)
class Listening:
    """What is known of a printer while its kept messages are heard at their times."""

    site: Site
    printer: Printer
    device: Mapping[str, Any]
    facts: PrinterFacts = field(init=False)
    _wall_at_0_ms: int | None = field(init=False)

    def __post_init__(self) -> None:
        self._wall_at_0_ms = _wall_ms(self.device.get("clock", "2031-03-04T12:00:00+01:00"))
        self.facts = PrinterFacts(
            self.printer.name, self.printer.reader, self.printer.inputs, self.site.zone
        )
        self.facts.source_up(BROKER, self._moment(0))

    def steps(self) -> Iterator[tuple[str, Mapping[str, Any]]]:
        """Each step, with its time as it is written, once it was heard."""
        for step in self.device["steps"]:
            self._hear(step)
            yield step["at"], step

    def _moment(self, ms: int) -> Moment:
        wall = self._wall_at_0_ms
        return Moment(ms, None if wall is None else wall + ms)

    def _hear(self, step: Mapping[str, Any]) -> None:
        now_ms = round(float(step["at"].removesuffix(" s")) * 1000)
        while (due := self.facts.deadline()) is not None and due <= now_ms:
            self.facts.settle(self._moment(due))
        if "clock" in step:
            wall = _wall_ms(step["clock"])
            self._wall_at_0_ms = None if wall is None else wall - now_ms
            self.facts.clock(self._moment(now_ms))
        now = self._moment(now_ms)
        match step.get("source"):
            case "lost":
                self.facts.source_lost(BROKER, now)
            case "up":
                self.facts.source_up(BROKER, now)
        for heard in step["heard"]:
            if not heard.get("failed"):
                self._take(heard, now)

    def _take(self, heard: Mapping[str, Any], now: Moment) -> None:
        body = None if heard.get("unchanged") else _body(heard)
        taken = 0
        for given in self.printer.inputs:
            wildcards = self._wildcards(given, heard["address"])
            if wildcards is None:
                continue
            taken += 1
            address, retained = heard["address"], bool(heard.get("retained"))
            self.facts.heard(given.message, address, wildcards, body, retained=retained, now=now)
        assert taken, f"nothing listens to {heard['address']}"

    def _wildcards(self, given: Input, address: str) -> tuple[str, ...] | None:
        if self.device["transport"] == "mqtt":
            return captured(given.address, address)
        url = self.site.endpoints[given.address].url
        return () if url.partition("?")[0] == f"{HOST}{address}" else None


def _body(heard: Mapping[str, Any]) -> bytes:
    if "payload_base64" in heard:
        return base64.b64decode(heard["payload_base64"])
    return str(heard["payload"]).encode()


def _wall_ms(written: str) -> int | None:
    if written == "unknown":
        return None
    return round(datetime.fromisoformat(written).timestamp() * 1000)
