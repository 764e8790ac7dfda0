"""The example site, copied for a demo: its addresses ours, its waiting times short.

An evening that takes a minute needs printers that are missed after seconds, and alarms that are
over at once. Everything else, the rules, the scenes and the shapes of messages, is the example as
it is written.
"""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from bridge.errors import LampwrightError

#: What is waited for in the copy, instead of what the example says.
FRESH_FOR_S: Final = 4
SAYS_EVERY_S: Final = 1
POLLED_EVERY_S: Final = 1
READ_BACK_EVERY_S: Final = 2
OVER_AFTER_MS: Final = 300

#: Files without an address or a waiting time that an evening could not wait for.
_AS_WRITTEN: Final = frozenset({"legend.yaml"})


class NoExampleError(LampwrightError):
    """There is no example site, or it is not one that the simulators can play in."""

    def __init__(self, directory: Path, problem: str) -> None:
        super().__init__(
            f"{directory}: {problem}; the demo plays in a copy of the example site config/, "
            "name one with --site"
        )


@dataclass(frozen=True, slots=True)
class Addresses:
    """Where the simulators are: the broker's port, and a URL by printer and controller."""

    broker_port: int
    urls: Mapping[str, str]


def example_directory() -> Path:
    """Where this checkout keeps the example site."""
    return Path(__file__).resolve().parents[2] / "config"


def hurry(source: Path, target: Path, addresses: Addresses) -> None:
    """Write the copy; raises ``NoExampleError``."""
    if not (source / "site.yaml").is_file():
        raise NoExampleError(source, "there is no site.yaml")
    for path in sorted(source.rglob("*.yaml")):
        place = path.relative_to(source)
        (target / place).parent.mkdir(parents=True, exist_ok=True)
        if place.name in _AS_WRITTEN:
            shutil.copyfile(path, target / place)
            continue
        document = _read(path)
        try:
            _change(place, document, addresses)
        except (KeyError, TypeError, AttributeError) as error:
            raise NoExampleError(path, f"not the example's shape: {error}") from error
        (target / place).write_text(_written(document), encoding="utf-8")


def _change(place: Path, document: Any, addresses: Addresses) -> None:  # noqa: ANN401 - any YAML
    if place.name == "site.yaml":
        _move(document, addresses)
    elif place.name == "rules.yaml":
        for alarm in document.get("alarms", {}).values():
            if "off_delay" in alarm:
                alarm["off_delay"] = f"{OVER_AFTER_MS}ms"
    elif place.parent.name == "readers":
        for message in document["messages"].values():
            message.update(_shorter(message))
    elif place.parent.name == "dialects":
        for name in ("read", "read_paint"):
            if name in document:
                document[name]["every"] = f"{READ_BACK_EVERY_S}s"


def _shorter(message: Mapping[str, object]) -> dict[str, str]:
    short = {"fresh_for": f"{FRESH_FOR_S}s", "every": f"{SAYS_EVERY_S}s"}
    return {key: value for key, value in short.items() if key in message}


def _move(site: Any, addresses: Addresses) -> None:  # noqa: ANN401 - any YAML
    for broker in site["brokers"].values():
        broker["url"] = f"mqtt://127.0.0.1:{addresses.broker_port}"
    for name, controller in site["controllers"].items():
        controller["url"] = addresses.urls[name]
    for name, printer in site["printers"].items():
        if "poll" in printer:
            every = f"{POLLED_EVERY_S}s"
            printer["poll"] |= {"working": every, "resting": every}
        for message, address in _polled(printer):
            path = address.split("/", 3)[3]
            printer["messages"][message] = f"{addresses.urls[name]}/{path}"


def _polled(printer: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for message, address in list(printer["messages"].items()):
        if isinstance(address, str) and address.startswith("http://"):
            yield message, address


def _read(path: Path) -> Any:  # noqa: ANN401 - any YAML
    from ruamel.yaml import YAML
    from ruamel.yaml.error import YAMLError

    try:
        return YAML().load(path)
    except YAMLError as error:
        raise NoExampleError(path, str(error).replace("\n", " ")) from error


def _written(document: object) -> str:
    from ruamel.yaml import YAML

    text = io.StringIO()
    yaml = YAML()
    yaml.width = 4096
    yaml.dump(document, text)
    return text.getvalue()
