"""The ``{placeholders}`` of a reader, filled from a printer's ``with``."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, Final

from bridge.facts.places import Place, PlaceError, compile_place
from bridge.settings.spot import Spot

_PLACEHOLDER: Final = re.compile(r"\{([A-Za-z][A-Za-z0-9_-]*)\}")
#: Stands in a reader that no printer uses, so that the rest of a place can be judged.
_ANY: Final = "0"


class Filler:
    """Fills texts, and keeps which names were used and which were missing.

    ``values`` is ``None`` for a reader without a printer.
    """

    def __init__(self, values: Mapping[str, Any] | None) -> None:
        self._values = values
        self.used: set[str] = set()
        self.missing: set[str] = set()

    def text(self, text: str) -> str:
        """The text with its placeholders filled."""
        return self._filled(text, _written)

    def data(self, data: Any) -> Any:  # noqa: ANN401 - what JSON holds
        """JSON data likewise; a text that is one placeholder takes the value's own type."""
        if isinstance(data, dict):
            return {
                self.text(key) if isinstance(key, str) else _written(key): self.data(value)
                for key, value in data.items()
            }
        if isinstance(data, list):
            return [self.data(item) for item in data]
        if not isinstance(data, str):
            return data
        only = _PLACEHOLDER.fullmatch(data)
        return self._value(only[1]) if only else self.text(data)

    def place(self, text: str, spot: Spot) -> Place | None:
        """The place that a text with placeholders names, or ``None`` and a problem.

        In a JSON Pointer a value is one name, whatever signs it has.
        """
        written = _escaped if text.startswith("/") else _written
        try:
            return compile_place(self._filled(text, written))
        except PlaceError as error:
            spot.wrong(str(error))
            return None

    def optional_place(self, text: str | None, spot: Spot) -> Place | None:
        """The same, where there may be none."""
        return None if text is None else self.place(text, spot)

    def _filled(self, text: str, written: Callable[[object], str]) -> str:
        return _PLACEHOLDER.sub(lambda found: written(self._value(found[1])), text)

    def _value(self, name: str) -> Any:  # noqa: ANN401 - what YAML holds
        self.used.add(name)
        if self._values is None:
            return _ANY
        if name not in self._values:
            self.missing.add(name)
            return _ANY
        return self._values[name]


def _written(value: object) -> str:
    """As JSON would write it, a text bare."""
    if value is None:
        return "null"
    return str(value).lower() if isinstance(value, bool) else str(value)


def _escaped(value: object) -> str:
    """The same as one token of a JSON Pointer (RFC 6901 §3)."""
    return _written(value).replace("~", "~0").replace("/", "~1")
