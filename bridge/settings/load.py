"""A site's directory to the frozen site, or every problem of every file in one go."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar
from zoneinfo import ZoneInfo, available_timezones

from bridge.engine.site import ALL_SEGMENTS, Broker, Button, Controller, Printer, Site
from bridge.lights.dialect.grammar import DialectGrammar
from bridge.rules.alarm import Alarm, Prompt
from bridge.rules.day_times import DayTime
from bridge.rules.table import Table
from bridge.settings.accepting import accepted_of
from bridge.settings.addresses import ELSEWHERE, broker_of
from bridge.settings.alarms import AlarmMaker, prompts_of
from bridge.settings.buttons import ButtonMaker
from bridge.settings.day_times import (
    location_of,
    quiet_hours_of,
    refuse_sun_without_location,
    resting_scenes,
)
from bridge.settings.dialect_file import DialectFile
from bridge.settings.dialects import grammar_of
from bridge.settings.document import Document, parse
from bridge.settings.files import SINGLE, SUFFIX, read_files
from bridge.settings.legend import scenes_of
from bridge.settings.legend_file import LegendFile
from bridge.settings.names import Names, refuse_clashes
from bridge.settings.nearest import meant
from bridge.settings.printers import PrinterMaker
from bridge.settings.problems import Problem, SettingsError
from bridge.settings.reader_file import ReaderFile
from bridge.settings.rules_file import RulesFile
from bridge.settings.segments import (
    SegmentMaker,
    check_needs_no_printer,
    check_resting,
    controller_of,
    sets_of,
)
from bridge.settings.shapes import Keys, whole
from bridge.settings.site_file import SiteFile
from bridge.settings.spot import Spot
from bridge.settings.supplies import supplies_of
from bridge.settings.tables import Legend, tables_of
from bridge.settings.wording import read_model

M = TypeVar("M", bound=Keys)


def load_site(directory: Path, instead: Mapping[str, str] | None = None) -> Site:
    """The site in a directory. Raises ``SettingsError`` with every problem of every file.

    ``instead``: texts that are read in place of files, by their path within the site.
    """
    texts, problems = read_files(directory)
    texts |= instead or {}
    site = _Loading(directory, texts, problems).site() if texts else None
    if site is None or problems:
        raise SettingsError(problems)
    return site


def load_texts(texts: Mapping[str, str]) -> Site:
    """The site of which these are the texts, as in ``Site.texts``.

    Other files that it names, such as certificates, are not looked for. Raises ``SettingsError``.
    """
    problems = [Problem(file, 1, 1, "is not there") for file in SINGLE if file not in texts]
    site = _Loading(ELSEWHERE, texts, problems).site()
    if site is None or problems:
        raise SettingsError(problems)
    return site


def digest_of(site: Site) -> str:
    """SHA-256 of the files' names and texts, as hex: the same for the same settings only."""
    digest = hashlib.sha256()
    for file, text in sorted(site.texts.items()):
        for part in (file.encode(), text.encode()):
            digest.update(len(part).to_bytes(8, "big") + part)
    return digest.hexdigest()


@dataclass(slots=True)
class _Loading:
    """One reading of a site: stage by stage, each with what the earlier ones found."""

    directory: Path
    texts: Mapping[str, str]
    problems: list[Problem]

    def site(self) -> Site | None:
        """The site, or ``None`` where ``site.yaml`` cannot be read; look at ``problems`` first."""
        dialects = self._dialects()
        legend = self._legend()
        rules = self._model("rules.yaml", RulesFile)
        found = self._model("site.yaml", SiteFile)
        site_keys = None if found is None else found[0]
        tables, alarms, prompts = self._rules(rules, legend, site_keys)
        readers = dict(self._folder("readers", ReaderFile))
        if found is None:
            maker = PrinterMaker(self.directory, _unread("broker"), _unread("reader"), readers)
            for name in readers:
                maker.make_without_printer(name)
            return None
        keys, spot = found
        brokers = dict(self._brokers(keys, spot))
        maker = PrinterMaker(
            directory=self.directory,
            brokers=Names("broker", "site.yaml", frozenset(keys.brokers)),
            reader_names=self._file_names("reader", "readers"),
            readers=readers,
        )
        printers = dict(self._printers(keys, maker, spot))
        controllers = dict(self._controllers(keys, spot))
        segments = SegmentMaker(
            site=keys,
            controllers=Names("controller", "site.yaml", frozenset(keys.controllers)),
            printers=Names("printer", "site.yaml", frozenset(keys.printers)),
            tables=Names("table", "rules.yaml", rules and frozenset(rules[0].tables)),
            legend=legend,
            dialects=dialects,
            spot=spot,
        ).make()
        self._check_names(keys, spot)
        zone = _zone(keys.zone, spot.at("zone"))
        _check_scenes(keys, legend, spot)
        site = Site(
            zone=zone,
            brokers=brokers,
            endpoints=maker.endpoints.by_id,
            printers=printers,
            controllers=controllers,
            dialects=dialects,
            segments=segments,
            sets=sets_of(keys, spot),
            supplies=supplies_of(keys, spot),
            tables=tables,
            scenes=legend.scenes,
            scene_sources=legend.sources,
            off_watch=keys.off_watch,
            alarms=alarms,
            prompts=prompts,
            accepted=accepted_of(*rules) if rules else (),
            buttons=self._buttons(keys, None if rules is None else rules[0], maker, spot),
            location=location_of(keys),
            texts=dict(self.texts),
        )
        site = replace(site, quiet_hours=quiet_hours_of(keys, site, spot))
        refuse_sun_without_location(keys, _times_of(site), spot)
        return site

    def _model(self, file: str, model: type[M]) -> tuple[M, Spot] | None:
        """A file's model and the spot of its top, or ``None`` and problems."""
        if file not in self.texts:
            return None
        document, problems = parse(file, self.texts[file])
        self.problems += problems
        if problems:
            return None
        keys, wrong = read_model(model, document)
        self.problems += wrong
        return None if keys is None else (keys, self._top(document))

    def _top(self, document: Document) -> Spot:
        return Spot(document, self.problems)

    def _folder(self, folder: str, model: type[M]) -> Iterator[tuple[str, tuple[M, Spot]]]:
        for name in sorted(self._names_in(folder)):
            found = self._model(f"{folder}/{name}{SUFFIX}", model)
            if found is not None:
                yield name, found

    def _names_in(self, folder: str) -> frozenset[str]:
        """Of every file that is there, readable or not."""
        if self.directory is ELSEWHERE:
            return frozenset(
                Path(file).stem for file in self.texts if file.startswith(f"{folder}/")
            )
        return frozenset(path.stem for path in (self.directory / folder).glob(f"*{SUFFIX}"))

    def _file_names(self, what: str, folder: str) -> Names:
        return Names(what, f"{folder}/", self._names_in(folder))

    def _dialects(self) -> dict[str, DialectGrammar]:
        grammars: dict[str, DialectGrammar] = {}
        for name, (keys, spot) in self._folder("dialects", DialectFile):
            grammar = grammar_of(name, keys, spot)
            if grammar is not None:
                grammars[name] = grammar
        return grammars

    def _legend(self) -> Legend:
        found = self._model("legend.yaml", LegendFile)
        if found is None:
            return Legend(Names("scene", "legend.yaml", None), {}, {})
        keys, spot = found
        scenes = scenes_of(keys, spot)
        sources = {name: spot.document.key_source((*spot.path, "scenes", name)) for name in scenes}
        return Legend(Names("scene", "legend.yaml", frozenset(keys.scenes)), scenes, sources)

    def _rules(
        self, found: tuple[RulesFile, Spot] | None, legend: Legend, site: SiteFile | None
    ) -> tuple[dict[str, Table], dict[str, Alarm], dict[str, Prompt]]:
        if found is None:
            return {}, {}, {}
        keys, spot = found
        tables = tables_of(keys, legend, spot)
        segments = None if site is None else frozenset({ALL_SEGMENTS, *site.segments, *site.sets})
        brokers = None if site is None else frozenset(site.brokers)
        alarms = AlarmMaker(
            tables,
            legend,
            Names("segment", "site.yaml", segments),
            Names("broker", "site.yaml", brokers),
        )
        return tables, alarms.make(keys, spot), prompts_of(keys, spot)

    def _buttons(
        self, keys: SiteFile, rules: RulesFile | None, maker: PrinterMaker, spot: Spot
    ) -> dict[str, Button]:
        return ButtonMaker(
            directory=self.directory,
            brokers=maker.brokers,
            printers=Names("printer", "site.yaml", frozenset(keys.printers)),
            alarms=Names("alarm", "rules.yaml", None if rules is None else frozenset(rules.alarms)),
            prompts=Names(
                "prompt", "rules.yaml", None if rules is None else frozenset(rules.prompts)
            ),
            endpoints=maker.endpoints,
        ).make(keys, spot)

    def _brokers(self, keys: SiteFile, spot: Spot) -> Iterator[tuple[str, Broker]]:
        for name, broker_keys in whole(keys.brokers):
            broker = broker_of(name, broker_keys, self.directory, spot.at("brokers", name))
            if broker is not None:
                yield name, broker

    def _printers(
        self, keys: SiteFile, maker: PrinterMaker, spot: Spot
    ) -> Iterator[tuple[str, Printer]]:
        for name, printer_keys in whole(keys.printers):
            printer = maker.make(name, printer_keys, spot.at("printers", name))
            if printer is not None:
                yield name, printer
        used = {printer.reader for _, printer in whole(keys.printers)}
        for name in maker.readers.keys() - used:
            maker.make_without_printer(name)

    def _controllers(self, keys: SiteFile, spot: Spot) -> Iterator[tuple[str, Controller]]:
        dialects = self._file_names("dialect", "dialects")
        at_address: dict[str, str] = {}
        for name, controller_keys in whole(keys.controllers):
            at = spot.at("controllers", name)
            controller = controller_of(name, controller_keys, dialects, self.directory, at)
            # The limits belong to the address: under two names it would get twice as much.
            other = at_address.setdefault(controller.url.rstrip("/"), name)
            if other != name:
                at.at("url").wrong(
                    f"is also the address of {other}; one controller has one name, its segments "
                    "are told apart by number and pixels"
                )
            yield name, controller

    def _check_names(self, keys: SiteFile, spot: Spot) -> None:
        for section in ("brokers", "printers", "controllers", "segments"):
            refuse_clashes(spot.at(section), getattr(keys, section))


def _unread(what: str) -> Names:
    return Names(what, "site.yaml", None)


def _zone(name: str, spot: Spot) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (KeyError, OSError, ValueError):  # not found, a directory, a path that leads away
        spot.wrong(f"'{name}' is no IANA time zone{meant(name, available_timezones())}")
        return ZoneInfo("UTC")


def _check_scenes(keys: SiteFile, legend: Legend, spot: Spot) -> None:
    legend.refuse_comfort(spot.at("off_watch"), keys.off_watch, "what is left when nobody watches")
    check_needs_no_printer(legend, keys.off_watch, spot.at("off_watch"))
    for where, name in resting_scenes(keys.resting):
        check_resting(legend, name, spot.at("resting", *where))


def _times_of(site: Site) -> Iterator[DayTime]:
    """Every time of the day by which something changes."""
    spans = [quiet.span for quiet in site.quiet_hours.values()]
    spans += [span for each in site.segments.values() for span, _ in each.resting_by_day]
    for span in spans:
        yield from (span.begin, span.end)
    for scene in site.scenes.values():
        yield from (when for when, _ in scene.evening)
