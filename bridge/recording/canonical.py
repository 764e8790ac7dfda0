"""Events and actions as canonical JSON: one line each, and the same line for the same thing.

Keys are sorted, nothing is spaced, everything is ASCII; values are written as ``plain`` says.
Settings are written as their digest and the text of their files: whoever reads them back loads
the site anew.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Final, TypeAlias, get_args

from bridge.engine.actions import Action
from bridge.engine.events import Event, Settings
from bridge.engine.site import Site
from bridge.facts.moment import Moment
from bridge.recording.errors import RecordingError
from bridge.recording.plain import NotOfTypeError, fields_of, shown, value_of

__all__ = ["RecordingError", "SiteOf", "action_text", "event_of", "event_text"]

#: Makes a site of its files' texts.
SiteOf: TypeAlias = Callable[[Mapping[str, str]], Site]

#: The last day of the year 9999, after which there is no calendar here; no clock runs so long.
END_MS: Final = 253_402_214_400_000
_EVENTS: Final = {kind.__name__: kind for kind in get_args(Event)}


def event_text(event: Event, moment: Moment) -> str:
    """An event with its moment, on one line."""
    said: dict[str, object] = {"at_ms": moment.ms, "wall_ms": moment.wall_ms}
    if isinstance(event, Settings):
        said |= {"digest": event.digest, "texts": dict(event.site.texts)}
    else:
        said |= fields_of(event)
    return _line({"event": type(event).__name__, **said})


def action_text(action: Action) -> str:
    """An action, on one line."""
    return _line({"action": type(action).__name__, **fields_of(action)})


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
    try:
        moment = _moment(said, line)
        if kind is Settings:
            return _settings(said, line, site_of), moment
        make: type[Event] = kind
        return value_of(make, said), moment
    except NotOfTypeError as error:
        raise RecordingError(line, str(error)) from None


def _moment(said: dict[str, object], line: str) -> Moment:
    ms, wall_ms = said.pop("at_ms", None), said.pop("wall_ms", None)
    if type(ms) is not int or type(wall_ms) not in {int, type(None)}:
        raise RecordingError(line, "at_ms and wall_ms are not whole milliseconds")
    if not isinstance(wall_ms, int):
        wall_ms = None
    if not 0 <= ms < END_MS or not 0 <= (wall_ms or 0) < END_MS:
        raise RecordingError(line, f"at_ms and wall_ms are not from 0 to below {END_MS}")
    return Moment(ms, wall_ms)


def _settings(said: dict[str, object], line: str, site_of: SiteOf) -> Settings:
    digest, texts = said.get("digest"), said.get("texts")
    if not isinstance(digest, str) or not isinstance(texts, dict) or len(said) != 2:
        raise RecordingError(line, "settings need a digest and the texts of their files")
    for name, text in texts.items():
        if not isinstance(text, str):
            raise RecordingError(line, f"the text of {name}: {shown(text)} is no str")
    return Settings(site_of(texts), digest)


def _line(said: Mapping[str, object]) -> str:
    return json.dumps(said, sort_keys=True, separators=(",", ":"))
