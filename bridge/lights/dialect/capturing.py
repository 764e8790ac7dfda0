"""A segment's look as the controller itself writes it, kept and given back unread."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Final

from bridge.facts.places import ABSENT
from bridge.lights.dialect.codecs import Json
from bridge.lights.dialect.grammar import CaptureTemplate, DialectGrammar, RequestTemplate
from bridge.lights.dialect.naming import place_names
from bridge.lights.dialect.readback import Reading
from bridge.lights.dialect.replies import Misread
from bridge.lights.dialect.request import CompiledRequest, Prepared
from bridge.lights.dialect.templates import Scope
from bridge.lights.place import Place

KEPT: Final = "kept"


@dataclass(frozen=True, slots=True)
class Kept:
    """What was there, as JSON text: it is kept for hours and given back as it was."""

    text: str

    @property
    def value(self) -> Json:
        """The value that the text stands for."""
        return json.loads(self.text)


class Capturing:
    """The compiled ``capture`` and ``restore`` of a dialect."""

    __slots__ = ("_grammar", "_kept_at", "_reading", "_restore")

    def __init__(
        self, grammar: DialectGrammar, capture: CaptureTemplate, restore: RequestTemplate
    ) -> None:
        self._grammar: Final = grammar
        self._reading: Final = Reading(grammar, capture.item)
        self._kept_at: Final = capture.kept
        self._restore: Final = CompiledRequest(restore)

    def capture(self, place: Place) -> Prepared:
        """The request that asks for a segment's look."""
        ((prepared, _),) = self._reading.requests([place])
        return prepared

    def captured(self, body: bytes, place: Place) -> Kept | Misread:
        """What the answer says that is to be kept."""
        item = self._reading.item_of(body, place)
        if isinstance(item, Misread):
            return item
        found = item if self._kept_at is None else self._kept_at.find(item)
        if found is ABSENT:
            at = "" if self._kept_at is None else self._kept_at.text
            return Misread(f"the answer has nothing at {at} of {place.segment}")
        return Kept(json.dumps(found, ensure_ascii=False, separators=(",", ":")))

    def restore(self, place: Place, kept: Kept) -> Prepared:
        """The request that gives it back."""
        names = place_names(self._grammar, place, self._restore.names)
        return self._restore.fill(Scope({**names, KEPT: kept.value}))
