"""Push-buttons from the site's model: where they are heard, and what is wished by pressing them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from bridge.engine.events import HTTP_SOURCE
from bridge.engine.site import Button, Endpoint
from bridge.facts.places import Place, PlaceError, compile_place
from bridge.facts.topics import problem_of_filter
from bridge.settings.addresses import access_of, split_url
from bridge.settings.names import Names, refuse_clashes
from bridge.settings.nearest import listed, shown
from bridge.settings.printers import LEAST_POLL_MS, Endpoints
from bridge.settings.shapes import whole
from bridge.settings.site_file import Button as ButtonKeys
from bridge.settings.site_file import SiteFile
from bridge.settings.spot import Spot

_FOR_TOPICS: Final = ("broker",)
_FOR_URLS: Final = ("every", "access")


@dataclass(frozen=True, slots=True)
class ButtonMaker:
    """Makes the buttons of one site; those with a URL are asked at one of ``endpoints``."""

    directory: Path
    brokers: Names
    printers: Names
    alarms: Names
    prompts: Names
    endpoints: Endpoints

    def make(self, site: SiteFile, spot: Spot) -> dict[str, Button]:
        """Every button that is right by itself; problems go to ``spot``, the file's top."""
        at = spot.at("buttons")
        refuse_clashes(at, site.buttons)
        made = ((name, self._button(name, keys, at.at(name))) for name, keys in whole(site.buttons))
        return {name: button for name, button in made if button is not None}

    def _button(self, name: str, keys: ButtonKeys, spot: Spot) -> Button | None:
        before = len(spot.problems)
        source, address = self._address(keys, spot)
        names = self._names(keys, spot)
        button = Button(
            name=name,
            source=source,
            address=address,
            wish=keys.wishes,
            who=keys.who or f"button {name}",
            at=_place(keys.at, spot.at("at")),
            values=_values(keys.is_),
            on_change=keys.counts == "changes" or source == HTTP_SOURCE,
            printers=_known(keys.printers, self.printers, spot.at("printers")),
            names=names,
        )
        return button if len(spot.problems) == before else None

    def _address(self, keys: ButtonKeys, spot: Spot) -> tuple[str, str]:
        """The source and the address there; whatever they are, where there is a problem."""
        if (keys.topic is None) == (keys.url is None):
            has = "both 'topic' and" if keys.topic is not None else "neither 'topic' nor"
            spot.wrong_key(f"has {has} 'url', expected one of them")
            return "", ""
        is_topic = keys.topic is not None
        for key in _FOR_URLS if is_topic else _FOR_TOPICS:
            if getattr(keys, key) is not None:
                what = "URLs, this button has a topic" if is_topic else "topics, this one has a URL"
                spot.at(key).wrong_key(f"is for {what}")
        return self._topic(keys, spot) if is_topic else self._url(keys, spot)

    def _topic(self, keys: ButtonKeys, spot: Spot) -> tuple[str, str]:
        topic = keys.topic or ""
        if keys.broker is None:
            spot.wrong_key(f"needs 'broker', where {shown(topic)} is heard")
        else:
            self.brokers.has(spot.at("broker"), keys.broker)
        if problem := problem_of_filter(topic):
            spot.at("topic").wrong(problem)
        return keys.broker or "", topic

    def _url(self, keys: ButtonKeys, spot: Spot) -> tuple[str, str]:
        url = keys.url or ""
        every_ms = LEAST_POLL_MS if keys.every is None else keys.every
        if every_ms < LEAST_POLL_MS:
            spot.at("every").wrong(f"{every_ms} ms is too often, expected at least 1s")
        if keys.counts == "messages":
            spot.at("counts").wrong("is for topics: a URL says the same until somebody presses")
        access = access_of(keys.access, self.directory, spot.at("access"))
        if split_url(url, ("http", "https"), spot.at("url")) is None:
            return HTTP_SOURCE, ""
        wanted = Endpoint("", url, access=access, working_ms=every_ms, resting_ms=every_ms)
        return HTTP_SOURCE, self.endpoints.share(wanted)

    def _names(self, keys: ButtonKeys, spot: Spot) -> tuple[str, ...]:
        """The alarms, or for what is collected the prompts, that the wish is about."""
        asks, other = ("prompts", "alarms") if keys.wishes == "collected" else ("alarms", "prompts")
        if getattr(keys, other) is not None:
            does = "collects" if keys.wishes == "collected" else f"can {keys.wishes}"
            spot.at(other).wrong_key(f"cannot stand here: nobody {does} {other}, only {asks}")
        known = self.prompts if asks == "prompts" else self.alarms
        return _known(getattr(keys, asks), known, spot.at(asks))


def _place(text: str | None, spot: Spot) -> Place | None:
    try:
        return None if text is None else compile_place(text)
    except PlaceError as error:
        spot.wrong(str(error))
        return None


def _values(written: Any) -> tuple[Any, ...]:  # noqa: ANN401 - what YAML holds
    if written is None:
        return ()
    return tuple(written) if isinstance(written, list) else (written,)


def _known(given: Iterable[str] | None, names: Names, spot: Spot) -> tuple[str, ...]:
    named = tuple(given or ())
    for index, name in enumerate(named):
        names.has(spot.at(index), name)
    if twice := sorted({name for name in named if named.count(name) > 1}):
        spot.wrong(f"has {listed(map(shown, twice), 'and')} twice")
    return named
