"""Which printers' messages an address belongs to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from bridge.engine.site import Printer
from bridge.facts.topics import captured

#: Concrete topics of wildcards that are remembered; a flood of topics must not fill the memory.
REMEMBERED: Final = 8192


@dataclass(frozen=True, slots=True)
class Route:
    """An address is this message of this printer; ``wildcards`` are the texts of its levels."""

    printer: str
    message: str
    wildcards: tuple[str, ...] = ()


class Routes:
    """Looks up the routes of an address: exact ones directly, wildcards once per topic."""

    def __init__(self, printers: Iterable[Printer]) -> None:
        self._exact: dict[tuple[str, str], tuple[Route, ...]] = {}
        self._filters: list[tuple[str, str, Route]] = []
        self._seen: dict[tuple[str, str], tuple[Route, ...]] = {}
        for printer in printers:
            for given in printer.inputs:
                route = Route(printer.name, given.message)
                if given.source != "http" and ("+" in given.address or "#" in given.address):
                    self._filters.append((given.source, given.address, route))
                else:
                    key = (given.source, given.address)
                    self._exact[key] = (*self._exact.get(key, ()), route)

    @property
    def remembered(self) -> int:
        """How many concrete topics are held, at most ``REMEMBERED``."""
        return len(self._seen)

    def find(self, source: str, address: str) -> tuple[Route, ...]:
        """The routes of this address; none where nobody asked for it."""
        key = (source, address)
        found = (self._seen if self._filters else self._exact).get(key)
        return self._resolve(key) if found is None else found

    def _resolve(self, key: tuple[str, str]) -> tuple[Route, ...]:
        source, address = key
        found = list(self._exact.get(key, ()))
        for of_source, topic_filter, route in self._filters:
            if of_source == source:
                wildcards = captured(topic_filter, address)
                if wildcards is not None:
                    found.append(Route(route.printer, route.message, wildcards))
        if self._filters and len(self._seen) < REMEMBERED:
            self._seen[key] = tuple(found)
        return tuple(found)
