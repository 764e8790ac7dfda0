"""Printers from the site's model: readers made for each, inputs, shared endpoints, asks."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from bridge.engine.events import HTTP_SOURCE
from bridge.engine.site import Access, Asking, Endpoint, Printer
from bridge.facts.reader import Input, Reader
from bridge.facts.topics import problem_of_filter, problem_of_topic, wildcard_count
from bridge.settings.addresses import access_of, split_url
from bridge.settings.filling import Filler
from bridge.settings.names import Names
from bridge.settings.nearest import listed, nearest
from bridge.settings.reader_file import Found, Message, ReaderFile, Request
from bridge.settings.readers import in_words, reader_of
from bridge.settings.shapes import whole
from bridge.settings.site_file import Poll, TopicAddress, UrlAddress
from bridge.settings.site_file import Printer as PrinterKeys
from bridge.settings.spot import Spot

_HTTP: Final = ("http://", "https://")
LEAST_POLL_MS: Final = 1000


@dataclass(slots=True)
class Endpoints:
    """The polled requests of the site; printers that need the same one share it."""

    by_id: dict[str, Endpoint] = field(default_factory=dict)

    def share(self, wanted: Endpoint) -> str:
        """The id of the endpoint that sends this request, made where there is none."""
        number = 1
        while (known := self.by_id.get(_numbered(wanted.url, number))) is not None:
            if _same_request(known, wanted):
                self.by_id[known.id] = replace(
                    known,
                    working_ms=min(known.working_ms, wanted.working_ms),
                    resting_ms=min(known.resting_ms, wanted.resting_ms),
                )
                return known.id
            number += 1
        made = replace(wanted, id=_numbered(wanted.url, number))
        self.by_id[made.id] = made
        return made.id


def _numbered(url: str, number: int) -> str:
    # A URL that is asked has no part after #, so that no other endpoint can have this id.
    return url if number == 1 else f"{url}#{number}"


def _same_request(one: Endpoint, other: Endpoint) -> bool:
    return replace(one, id="", working_ms=0, resting_ms=0) == replace(
        other, id="", working_ms=0, resting_ms=0
    )


@dataclass(frozen=True, slots=True)
class Address:
    """Where one message comes from or one ask goes to."""

    source: str
    text: str
    access: Access

    @property
    def is_url(self) -> bool:
        """Polled over HTTP, else published at a broker."""
        return self.source == HTTP_SOURCE


@dataclass(slots=True)
class PrinterMaker:
    """Makes the printers of one site. ``readers`` has the models of the files that can be read."""

    directory: Path
    brokers: Names
    reader_names: Names
    readers: Mapping[str, tuple[ReaderFile, Spot]]
    endpoints: Endpoints = field(default_factory=Endpoints)
    _ready: dict[str, Reader] = field(default_factory=dict)

    def make(self, name: str, keys: PrinterKeys, spot: Spot) -> Printer | None:
        """The printer, or ``None`` where its reader cannot be read."""
        self._check_poll(keys.poll, spot.at("poll"))
        if not self.reader_names.has(spot.at("reader"), keys.reader):
            return None
        if keys.broker is not None:
            self.brokers.has(spot.at("broker"), keys.broker)
        if keys.reader not in self.readers:
            return None
        model, reader_spot = self.readers[keys.reader]
        filler = Filler(keys.parameters)
        reader = self._reader(keys.reader, model, filler, reader_spot)
        addresses = _Addresses(self, keys, filler, spot)
        inputs = tuple(self._inputs(model, addresses, filler))
        asks = tuple(self._asks(model, addresses, filler))
        addresses.check()
        _check_parameters(keys, filler, spot)
        return Printer(name, reader, inputs, asks)

    def make_without_printer(self, name: str) -> None:
        """Judge a reader that no printer uses."""
        model, spot = self.readers[name]
        reader_of(name, model, Filler(None), spot)

    def _reader(self, name: str, model: ReaderFile, filler: Filler, spot: Spot) -> Reader:
        if name in self._ready:
            return self._ready[name]
        reader = reader_of(name, model, filler, spot)
        if not filler.used:
            # Nothing in it depends on the printer: one does for all of them.
            self._ready[name] = reader
        return reader

    def _check_poll(self, poll: Poll | None, spot: Spot) -> None:
        for key in ("working", "resting") if poll else ():
            interval: int = getattr(poll, key)
            if interval < LEAST_POLL_MS:
                spot.at(key).wrong(f"{in_words(interval)} is too often, expected at least 1s")

    def _inputs(self, model: ReaderFile, addresses: _Addresses, filler: Filler) -> Iterator[Input]:
        for name, address, spot in addresses.of("messages", model.messages, "message"):
            message = dict(whole(model.messages)).get(name)
            if message is None:
                continue
            if address.is_url:
                endpoint = self._endpoint(message, address, addresses.keys, filler, spot)
                yield Input(name, HTTP_SOURCE, endpoint)
                continue
            if problem := problem_of_filter(address.text):
                spot.wrong(problem)
            elif message.request is not None:
                spot.wrong(f"is a topic, but message {name} has a request, expected a URL")
            _check_wildcards(model, name, address.text, spot)
            yield Input(name, address.source, address.text)

    def _endpoint(
        self, message: Message, address: Address, keys: PrinterKeys, filler: Filler, spot: Spot
    ) -> str:
        poll = keys.poll or Poll()
        self._check_slowest(message.fresh_for, poll, keys.reader, spot)
        request = message.request or Request()
        body, headers = _body(filler.data(request.body)), dict(request.headers)
        json_data = request.body is not None and not isinstance(request.body, str)
        if json_data and not any(header.lower() == "content-type" for header in headers):
            headers["Content-Type"] = "application/json"
        wanted = Endpoint(
            id="",
            url=address.text,
            method=request.method,
            headers=tuple((name, filler.text(value)) for name, value in headers.items()),
            body=body,
            access=address.access,
            working_ms=poll.working,
            resting_ms=poll.resting,
        )
        return self.endpoints.share(wanted)

    @staticmethod
    def _check_slowest(fresh_for: int | None, poll: Poll, reader: str, spot: Spot) -> None:
        """Polled less than twice in ``fresh_for``, a fact goes unknown with every late answer."""
        slowest = max(poll.working, poll.resting)
        if fresh_for and fresh_for < 2 * slowest:
            spot.wrong(
                f"is polled every {in_words(slowest)}, but reader {reader} trusts it for"
                f" {in_words(fresh_for)}: expected fresh_for of at least {in_words(2 * slowest)},"
                f" or poll intervals of at most {in_words(fresh_for // 2000 * 1000)}"
            )

    def _asks(self, model: ReaderFile, addresses: _Addresses, filler: Filler) -> Iterator[Asking]:
        for name, address, spot in addresses.of("asks", model.asks, "ask"):
            ask = dict(whole(model.asks)).get(name)
            if ask is None:
                continue
            if not address.is_url and (problem := problem_of_topic(address.text)):
                spot.wrong(problem)
            body = _body(filler.data(ask.body)) or b""
            yield Asking(name, address.source, address.text, body, ask.every, address.access)


def _body(data: Any) -> bytes | None:  # noqa: ANN401 - what JSON holds
    if data is None:
        return None
    if isinstance(data, str):
        return data.encode()
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()


def _check_wildcards(model: ReaderFile, message: str, topic: str, spot: Spot) -> None:
    wanted = [
        way.wildcard
        for _, ways in whole(model.facts)
        for way in (ways if isinstance(ways, list) else ways.all_of)
        if isinstance(way, Found) and way.message == message and way.wildcard
    ]
    has = wildcard_count(topic)
    if wanted and max(wanted) > has:
        needs = f"{max(wanted)} wildcard{'s' if max(wanted) > 1 else ''} (+ or #)"
        spot.wrong(f"'{topic}' has {has or 'none'}, its reader reads {needs}")


def _check_parameters(keys: PrinterKeys, filler: Filler, spot: Spot) -> None:
    for name in sorted(filler.missing):
        at = spot.at("with") if keys.parameters else spot
        message = f"needs '{name}', which reader {keys.reader} or an address has as {{{name}}}"
        at.wrong_key(message if keys.parameters else f"{message}: add with: {{{name}: …}}")
    for name in keys.parameters:
        if name not in filler.used:
            spot.at("with", name).wrong_key(f"is used nowhere, there is no {{{name}}}")


class _Addresses:
    """The addresses of one printer, matched with what its reader names."""

    def __init__(self, maker: PrinterMaker, keys: PrinterKeys, filler: Filler, spot: Spot) -> None:
        self.keys = keys
        self._maker = maker
        self._filler = filler
        self._spot = spot
        self._default = access_of(keys.access, maker.directory, spot.at("access"))
        self._has_url = False
        self._homeless: list[str] = []

    def of(
        self, section: str, named: Mapping[str, object], what: str
    ) -> Iterator[tuple[str, Address, Spot]]:
        """Each address that is right, with its name; every name without one is a problem."""
        given: Mapping[str, Any] = getattr(self.keys, section)
        names = Names(what, f"reader {self.keys.reader}", frozenset(named))
        spot = self._spot.at(section)
        # A misspelt name is told once, at the name.
        misspelt = {nearest(name, named) for name in given if name not in named}
        missing = [name for name in named if name not in given and name not in misspelt]
        if missing:
            at = spot if given else self._spot
            at.wrong_key(
                f"gives no address to {what} {listed(missing, 'and')} of reader {self.keys.reader}"
            )
        for name, written in whole(given):
            address = self._address(written, spot.at(name))
            if names.has_key(spot.at(name), name) and address is not None:
                yield name, address, spot.at(name)

    def check(self) -> None:
        """What only shows when every address was looked at."""
        if self._homeless:
            are = "is a topic" if len(self._homeless) == 1 else "are topics"
            self._spot.wrong_key(
                f"needs 'broker', as {listed(self._homeless, 'and')} {are}"
                " (a URL begins with http://)"
            )
        for key in () if self._has_url else ("poll", "access"):
            if getattr(self.keys, key) is not None:
                self._spot.at(key).wrong_key("is for URLs, this printer has none")

    def _address(self, written: Any, spot: Spot) -> Address | None:  # noqa: ANN401
        if isinstance(written, UrlAddress):
            access = self._default
            if written.access is not None:
                access = access_of(written.access, self._maker.directory, spot.at("access"))
            return self._url(written.url, access, spot.at("url"))
        if isinstance(written, TopicAddress):
            if not self._maker.brokers.has(spot.at("broker"), written.broker):
                return None
            return Address(written.broker, self._filler.text(written.topic), Access())
        if str(written).startswith(_HTTP):
            return self._url(str(written), self._default, spot)
        topic = self._filler.text(str(written))
        if self.keys.broker is None:
            self._homeless.append(str(spot.path[-1]))
            return None
        return Address(self.keys.broker, topic, Access())

    def _url(self, text: str, access: Access, spot: Spot) -> Address | None:
        self._has_url = True
        filled = self._filler.text(text)
        if split_url(filled, ("http", "https"), spot) is None:
            return None
        return Address(HTTP_SOURCE, filled, access)
