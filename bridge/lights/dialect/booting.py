"""The look that a controller shows by itself at power-up: read, compared, written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from bridge.lights.calibrating import calibrated_native
from bridge.lights.dialect.comparing import Comparison
from bridge.lights.dialect.grammar import BootTemplate, DialectGrammar
from bridge.lights.dialect.naming import PLACE_NAMES
from bridge.lights.dialect.readback import Observation, Reading
from bridge.lights.dialect.replies import Misread
from bridge.lights.dialect.request import Prepared
from bridge.lights.dialect.showing import Shower, shown_names
from bridge.lights.look import Native
from bridge.lights.place import Place


class Booting:
    """The compiled ``boot`` of a dialect."""

    __slots__ = ("_comparison", "_reading", "_shower", "a_day", "is_whole")

    def __init__(self, grammar: DialectGrammar, boot: BootTemplate) -> None:
        names = shown_names(replace(grammar, effects={}), boot.write)
        # What has no word for an effect here is steady.
        effects = grammar.effects if "effect" in names else {}
        own = replace(grammar, read=boot.read, read_paint=None, effects=effects)
        self.a_day: Final = boot.a_day
        self._shower: Final = Shower(own, boot.write)
        self._reading: Final = Reading(own, boot.read)
        self._comparison: Final = Comparison(own, self._shower, None)
        #: Whether one look stands for the whole controller.
        self.is_whole: Final = names.isdisjoint(PLACE_NAMES)

    def places(self, places: Sequence[Place]) -> tuple[Place, ...]:
        """Those whose looks are written: one, where one look stands for the whole controller."""
        return tuple(places[:1] if self.is_whole else places)

    def reads(self, places: Sequence[Place]) -> tuple[tuple[Prepared, tuple[Place, ...]], ...]:
        """The requests that read them, and the places that each tells about."""
        return tuple(self._reading.requests(self.places(places)))

    def observed(self, body: bytes, places: Sequence[Place]) -> Observation | Misread:
        """What an answer says."""
        return self._reading.observed(body, places)

    def differences(
        self, place: Place, look: Native, seen: Mapping[str, object]
    ) -> tuple[str, ...]:
        """The names whose value is not what would be written; ``()`` where all agree."""
        return self._comparison.native(place, calibrated_native(look, place.calibration), seen)

    def writes(self, items: Sequence[tuple[Place, Native]]) -> tuple[Prepared, ...]:
        """The requests that write them: one for all, where the dialect can."""
        told = [(place, calibrated_native(look, place.calibration)) for place, look in items]
        if self._shower.batch:
            return (self._shower.fill(told),)
        return tuple(self._shower.fill([item]) for item in told)
