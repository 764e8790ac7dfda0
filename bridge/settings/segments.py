"""Controllers and segments from the site's model: which pixels are whose, and who drives them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from bridge.engine.site import ALL_SEGMENTS, Controller, Segment
from bridge.lights.dialect.grammar import DialectGrammar
from bridge.lights.dialect.request import CompiledRequest
from bridge.lights.dialect.templates import compile_template
from bridge.lights.place import Place
from bridge.scenes.calibration import AS_IT_IS, Calibration
from bridge.scenes.colour import ColourError, parse_colour
from bridge.settings.addresses import access_of, split_url
from bridge.settings.day_times import resting_of, resting_scenes
from bridge.settings.names import Names, refuse_clashes
from bridge.settings.nearest import shown
from bridge.settings.shapes import any_broken, whole
from bridge.settings.sharing import check_share
from bridge.settings.site_file import Calibration as CalibrationKeys
from bridge.settings.site_file import Controller as ControllerKeys
from bridge.settings.site_file import Segment as SegmentKeys
from bridge.settings.site_file import SiteFile
from bridge.settings.spot import Spot
from bridge.settings.supplies import draws_of
from bridge.settings.tables import Legend


def controller_of(
    name: str, keys: ControllerKeys, dialects: Names, directory: Path, spot: Spot
) -> Controller:
    """The controller; problems go to ``spot``."""
    url = split_url(keys.url, ("http", "https"), spot.at("url"))
    if url is not None and url.query:
        spot.at("url").wrong(
            f"{shown(keys.url)} has a question mark, the dialect adds what is asked"
        )
    dialects.has(spot.at("dialect"), keys.dialect)
    access = access_of(keys.access, directory, spot.at("access"))
    if keys.calibration is not None:
        calibration_of(keys.calibration, spot.at("calibration"))
    return Controller(
        name,
        keys.url.rstrip("/"),
        keys.dialect,
        keys.pixels,
        keys.identity,
        access,
        draws_of(keys),
    )


def calibration_of(keys: CalibrationKeys, spot: Spot) -> Calibration:
    """How a strip must be told a colour; problems go to ``spot``."""
    try:
        white = parse_colour(keys.white)
    except ColourError as error:
        spot.at("white").wrong(str(error))
        return AS_IT_IS
    if not all(white):
        spot.at("white").wrong(
            f"{shown(keys.white)} has a channel that is dark; white needs all of them"
        )
    return Calibration(white, keys.gamma)


@dataclass(frozen=True, slots=True)
class SegmentMaker:
    """Makes the segments of one site, and judges them together."""

    site: SiteFile
    controllers: Names
    printers: Names
    tables: Names
    legend: Legend
    dialects: Mapping[str, DialectGrammar]
    spot: Spot

    def make(self) -> dict[str, Segment]:
        """Every segment that is right by itself."""
        segments = {
            name: self._segment(name, keys, self.spot.at("segments", name))
            for name, keys in whole(self.site.segments)
        }
        self._check_pixels(segments.values())
        self._check_numbers()
        self._check_printers()
        return segments

    def _segment(self, name: str, keys: SegmentKeys, spot: Spot) -> Segment:
        self.controllers.has(spot.at("on"), keys.on)
        self._check_driven(keys, spot)
        self._check_kept(keys, spot)
        check_share(keys, dict(whole(self.site.controllers)).get(keys.on), spot)
        self._check_resting(keys, spot)
        if name.casefold() == ALL_SEGMENTS:
            spot.wrong_key("means every segment wherever segments are named, choose another name")
        number = 0 if keys.number is None else keys.number
        at = spot.at("resting") if keys.resting is not None else self.spot.at("resting")
        resting, by_day = resting_of(keys.resting or self.site.resting, at)
        return Segment(
            name=name,
            controller=keys.on,
            place=Place(name, number, keys.first, keys.length, self._calibration(keys, spot)),
            resting=resting,
            resting_by_day=by_day,
            printers=tuple(keys.printers),
            table=keys.table,
            share=keys.share,
            dwell_ms=keys.each,
            yields=keys.drift == "yield",
            kept_for_ms=keys.kept_for,
            source=self.spot.document.key_source(spot.path),
        )

    def _calibration(self, keys: SegmentKeys, spot: Spot) -> Calibration:
        """Its own, else its controller's."""
        if keys.calibration is not None:
            return calibration_of(keys.calibration, spot.at("calibration"))
        controller = dict(whole(self.site.controllers)).get(keys.on)
        if controller is None or controller.calibration is None:
            return AS_IT_IS
        at = self.spot.at("controllers", keys.on, "calibration")
        return calibration_of(controller.calibration, replace(at, problems=[]))

    def _check_kept(self, keys: SegmentKeys, spot: Spot) -> None:
        """What is kept has to be read and given back by the dialect."""
        controller = dict(whole(self.site.controllers)).get(keys.on)
        grammar = None if controller is None else self.dialects.get(controller.dialect)
        if keys.kept_for is None or controller is None or grammar is None:
            return
        if grammar.capture is None or grammar.restore is None:
            spot.at("kept_for").wrong_key(
                f"dialect {controller.dialect} has no capture and restore, so nothing can be kept"
            )

    def _check_driven(self, keys: SegmentKeys, spot: Spot) -> None:
        if keys.printers and keys.table is None:
            spot.wrong_key("nobody drives it: it has printers but no table")
        elif keys.table is not None and not keys.printers:
            spot.wrong_key("nobody drives it: it has a table but no printers")
        if keys.table is not None:
            self.tables.has(spot.at("table"), keys.table)
        for index, printer in enumerate(keys.printers):
            self.printers.has(spot.at("printers", index), printer)
        _refuse_twice(spot.at("printers"), keys.printers)

    def _check_resting(self, keys: SegmentKeys, spot: Spot) -> None:
        for where, name in resting_scenes(keys.resting):
            check_resting(self.legend, name, spot.at("resting", *where))
        if keys.resting is None and self.site.resting is None:
            why = "" if keys.table else "nobody drives it: "
            spot.wrong_key(f"{why}needs 'resting', as the site has no resting scene for all")

    def _check_pixels(self, segments: Iterable[Segment]) -> None:
        taken: dict[str, list[Segment]] = {}
        for segment in segments:
            place = segment.place
            spot = self.spot.at("segments", segment.name)
            run = dict(whole(self.site.controllers)).get(segment.controller)
            if run is not None and place.last >= run.pixels:
                spot.at("length").wrong(
                    f"ends at pixel {place.last}, past the end of {segment.controller},"
                    f" whose last of {run.pixels} is {run.pixels - 1}"
                )
            others = taken.setdefault(segment.controller, [])
            for other in others:
                if place.first <= other.place.last and other.place.first <= place.last:
                    first = max(place.first, other.place.first)
                    last = min(place.last, other.place.last)
                    which = f"pixel {first}" if first == last else f"pixels {first} to {last}"
                    spot.wrong_key(
                        f"overlaps {other.name} in {which} of {segment.controller},"
                        " and a pixel belongs to one segment"
                    )
            others.append(segment)

    def _check_numbers(self) -> None:
        """Where a dialect tells segments by their number, each needs one of its own."""
        seen: dict[tuple[str, Any], str] = {}
        for name, keys in whole(self.site.segments):
            controller = dict(whole(self.site.controllers)).get(keys.on)
            if controller is None or not _tells_by_number(self.dialects.get(controller.dialect)):
                continue
            spot = self.spot.at("segments", name)
            if keys.number is None:
                spot.wrong_key(f"needs 'number', by which dialect {controller.dialect} tells it")
                continue
            other = seen.setdefault((keys.on, str(keys.number)), name)
            if other != name:
                spot.at("number").wrong(f"{shown(keys.number)} is also the number of {other}")

    def _check_printers(self) -> None:
        segments = self.site.segments.values()
        if any_broken(segments) or any(keys.table and not keys.printers for keys in segments):
            return
        shown_by = {printer for keys in segments for printer in keys.printers}
        if shown_by - self.site.printers.keys():
            # Whoever misspelt a name meant one of these.
            return
        for name in self.site.printers:
            if name not in shown_by:
                self.spot.at("printers", name).wrong_key("no segment shows it")


def sets_of(site: SiteFile, spot: Spot) -> dict[str, tuple[str, ...]]:
    """The named sets of segments; problems go to ``spot``, the file's top."""
    segments = Names("segment", "site.yaml", frozenset(site.segments))
    known = {name.casefold(): name for name in site.segments}
    refuse_clashes(spot.at("sets"), site.sets)
    for name, members in whole(site.sets):
        at = spot.at("sets", name)
        if name.casefold() == ALL_SEGMENTS:
            at.wrong_key("is always there and means every segment, choose another name")
        elif name.casefold() in known:
            at.wrong_key(
                f"would be taken for segment {known[name.casefold()]}, choose another name"
            )
        for index, member in enumerate(members):
            segments.has(at.at(index), member)
        _refuse_twice(at, members)
    return {name: tuple(members) for name, members in whole(site.sets)}


def _refuse_twice(spot: Spot, names: Sequence[str]) -> None:
    for index, name in enumerate(names):
        if name in names[:index]:
            spot.at(index).wrong(f"{shown(name)} stands there twice")


def check_resting(legend: Legend, name: str, spot: Spot) -> None:
    """A resting scene has nothing to tell, so it may not seem to."""
    says = legend.says(spot, name)
    if says not in {None, "resting"}:
        spot.wrong(f"{shown(name)} says {says}, a resting scene must say resting")
    check_needs_no_printer(legend, name, spot)


def check_needs_no_printer(legend: Legend, name: str, spot: Spot) -> None:
    """A gauge has nothing to show without a printer."""
    scene = legend.scene(name)
    if scene is not None and scene.effect == "gauge":
        spot.wrong(f"{shown(name)} is a gauge, which needs a printer")


def _tells_by_number(grammar: DialectGrammar | None) -> bool:
    if grammar is None:
        return False
    asked = [grammar.read, grammar.read_paint]
    asked += [] if grammar.capture is None else [grammar.capture.item]
    asked += [] if grammar.boot is None else [grammar.boot.read]
    reads = [read for read in asked if read is not None]
    changing = [each for each in (grammar.show, grammar.paint) if each is not None]
    requests = [*changing, *(each.then for each in changing), grammar.define, grammar.restore]
    requests += [] if grammar.boot is None else [grammar.boot.write]
    requests += [read.request for read in reads]
    others = [read.keyed for read in reads] + [at for read in reads for _, at in read.match]
    others += [native.adds for natives in grammar.effects.values() for native in natives]
    names = [CompiledRequest(each).names for each in requests if each is not None]
    names += [compile_template(each).names for each in others]
    return any("number" in each for each in names)
