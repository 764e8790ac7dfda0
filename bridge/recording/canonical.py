"""Events and actions as canonical JSON: one line each, and the same line for the same thing.

Keys are sorted, nothing is spaced, everything is ASCII. Bytes that are UTF-8 stand as
``{"text": …}``, others as ``{"base64": …}``. Settings are written as their digest and the text of
their files: whoever reads them back loads the site anew.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Mapping
from dataclasses import fields
from enum import Enum
from typing import Final, TypeAlias, get_args

from bridge.engine.actions import Action
from bridge.engine.events import Event, Fate, Settings
from bridge.engine.site import Site
from bridge.errors import LampwrightError
from bridge.facts.moment import Moment

#: Makes a site of its files' texts.
SiteOf: TypeAlias = Callable[[Mapping[str, str]], Site]

_EVENTS: Final = {kind.__name__: kind for kind in get_args(Event)}


class RecordingError(LampwrightError):
    """A line that no event can be made of."""

    def __init__(self, line: str, why: str) -> None:
        shown = line if len(line) <= _SHOWN else f"{line[:_SHOWN]}…"
        super().__init__(f"not a recorded event: {why}: {shown!r}")


_SHOWN: Final = 80


def event_text(event: Event, moment: Moment) -> str:
    """An event with its moment, on one line."""
    said: dict[str, object] = {"at_ms": moment.ms, "wall_ms": moment.wall_ms}
    if isinstance(event, Settings):
        said |= {"digest": event.digest, "texts": dict(event.site.texts)}
    else:
        said |= {field.name: _plain(getattr(event, field.name)) for field in fields(event)}
    return _line({"event": type(event).__name__, **said})


def action_text(action: Action) -> str:
    """An action, on one line."""
    said = {field.name: _plain(getattr(action, field.name)) for field in fields(action)}
    return _line({"action": type(action).__name__, **said})


def event_of(line: str, site_of: SiteOf) -> tuple[Event, Moment]:
    """What ``event_text`` wrote; raises ``RecordingError`` for anything else."""
    try:
        said = json.loads(line)
    except (ValueError, RecursionError):
        raise RecordingError(line, "not JSON") from None
    if not isinstance(said, dict):
        raise RecordingError(line, "not an object")
    kind = _EVENTS.get(str(said.pop("event", None)))
    if kind is None:
        raise RecordingError(line, f"its event is none of {', '.join(_EVENTS)}")
    moment = _moment(said, line)
    if kind is Settings:
        return _settings(said, line, site_of), moment
    return _event(kind, said, line), moment


def _moment(said: dict[str, object], line: str) -> Moment:
    ms, wall_ms = said.pop("at_ms", None), said.pop("wall_ms", None)
    if type(ms) is not int or type(wall_ms) not in {int, type(None)}:
        raise RecordingError(line, "at_ms and wall_ms are not whole milliseconds")
    return Moment(ms, wall_ms if isinstance(wall_ms, int) else None)


def _settings(said: dict[str, object], line: str, site_of: SiteOf) -> Settings:
    digest, texts = said.get("digest"), said.get("texts")
    if not isinstance(digest, str) or not isinstance(texts, dict) or len(said) != 2:
        raise RecordingError(line, "settings need a digest and the texts of their files")
    for text in texts.values():
        _value("str", text, line)
    return Settings(site_of(texts), digest)


def _event(kind: type[Event], said: dict[str, object], line: str) -> Event:
    known = {field.name: str(field.type) for field in fields(kind)}
    if set(said) != set(known):
        raise RecordingError(line, f"{kind.__name__} has {', '.join(known) or 'nothing'}")
    values = {name: _value(known[name], value, line) for name, value in said.items()}
    make: Callable[..., Event] = kind
    return make(**values)


#: What the type of a field admits in JSON. The types are texts: annotations are not evaluated.
_ADMITS: Final[dict[str, tuple[type, ...]]] = {
    "str": (str,),
    "int": (int,),
    "int | None": (int, type(None)),
    "bool": (bool,),
    "tuple[str, ...]": (list,),
    "bytes": (dict,),
    "bytes | None": (dict, type(None)),
    "Fate": (str,),
}


def _value(kind: str, value: object, line: str) -> object:
    if type(value) not in _ADMITS[kind]:
        raise RecordingError(line, f"{value!r} is no {kind}")
    if isinstance(value, list):
        return tuple(_value("str", each, line) for each in value)
    if isinstance(value, dict):
        return _bytes(value, line)
    if kind == "Fate":
        try:
            return Fate(value)
        except ValueError:
            raise RecordingError(line, f"{value!r} is no fate of a request") from None
    return value


def _bytes(value: Mapping[str, object], line: str) -> bytes:
    match value:
        case {"text": str(text)} if len(value) == 1:
            try:
                return text.encode()
            except UnicodeEncodeError:
                raise RecordingError(line, "its text is half a surrogate pair") from None
        case {"base64": str(digits)} if len(value) == 1:
            try:
                return base64.b64decode(digits, validate=True)
            except ValueError:
                raise RecordingError(line, "its base64 cannot be read") from None
        case _:
            raise RecordingError(line, "bytes are written as text or as base64")


def _plain(value: object) -> object:
    if isinstance(value, bytes):
        try:
            return {"text": value.decode()}
        except UnicodeDecodeError:
            return {"base64": base64.b64encode(value).decode("ascii")}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Mapping):
        return {str(name): _plain(each) for name, each in value.items()}
    if isinstance(value, (set, frozenset)):
        return sorted(map(_plain, value), key=repr)
    if isinstance(value, (tuple, list)):
        return [_plain(each) for each in value]
    return value


def _line(said: Mapping[str, object]) -> str:
    return json.dumps(said, sort_keys=True, separators=(",", ":"))
