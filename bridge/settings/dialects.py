"""A dialect's grammar from the file's model."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from bridge.facts.places import Place, PlaceError, compile_place
from bridge.lights.dialect.dialect import problems_of
from bridge.lights.dialect.grammar import (
    BootTemplate,
    CaptureTemplate,
    ColourCodec,
    CountCodec,
    DialectGrammar,
    FrameCodec,
    IdentifyTemplate,
    Limits,
    NativeEffect,
    ReadTemplate,
    ReplyCheck,
    RequestTemplate,
    Restart,
    ScaleCodec,
    TimeCodec,
    Told,
    WordCodec,
)
from bridge.settings import dialect_file as model
from bridge.settings.addresses import refuse_secrets
from bridge.settings.document import Path
from bridge.settings.problems import Problem
from bridge.settings.spot import Spot

_UNIT_MS: Final = {"ms": 1.0, "s": 1000.0, "min": 60_000.0, "h": 3_600_000.0}
#: What ``to`` is where a scale does not say it.
_HIGH: Final = {"hue": 360.0, "saturation": 100.0, "value": 100.0}
#: Stands where a place is wrong; the problem is at its spot.
_NOWHERE: Final = compile_place("")


def grammar_of(name: str, keys: model.DialectFile, spot: Spot) -> DialectGrammar | None:
    """The grammar, or ``None`` and its problems."""
    parts = _Parts(spot)
    codecs, at = keys.codecs, parts.at("codecs")
    grammar = DialectGrammar(
        name=name,
        limits=_limits(keys.limits),
        show=_changing(keys.show, parts.at("show")),
        effects=dict(_effects(keys.effects, parts.at("effects"))),
        colour=_colour(codecs.colour),
        pixel_colour=None if codecs.pixel_colour is None else _colour(codecs.pixel_colour),
        frame=FrameCodec(
            codecs.frame.form,
            _optional_place(codecs.frame.colour_at, at.at("frame", "colour_at")),
            codecs.frame.between,
        ),
        on=WordCodec(codecs.on.lit, codecs.on.dark),
        paint=_changing(keys.paint, parts.at("paint")),
        read=_read(keys.read, parts.at("read")),
        read_paint=_read(keys.read_paint, parts.at("read_paint")),
        identify=_identify(keys.identify, parts.at("identify")),
        define=_bare(keys.define, parts.at("define")),
        capture=_capture(keys.capture, parts.at("capture")),
        restore=_bare(keys.restore, parts.at("restore")),
        boot=_boot(keys.boot, parts.at("boot")),
        master=_bare(keys.master, parts.at("master")),
        level=_scale("level", codecs.level),
        hue=_scale("hue", codecs.hue),
        saturation=_scale("saturation", codecs.saturation),
        value=_scale("value", codecs.value),
        red=_scale("red", codecs.red),
        green=_scale("green", codecs.green),
        blue=_scale("blue", codecs.blue),
        white=_scale("white", codecs.white),
        number=_count("number", codecs.number, at),
        first=_count("first", codecs.first, at),
        last=_count("last", codecs.last, at),
        length=_count("length", codecs.length, at),
        pixel=_count("pixel", codecs.pixel, at),
        fade=TimeCodec(codecs.fade.unit if codecs.fade else 1),
        lasts=TimeCodec(codecs.lasts.unit if codecs.lasts else 1000),
        lasts_ms=keys.lasts,
    )
    return grammar if parts.add(problems_of(grammar)) else None


class _Parts:
    """The parts of a dialect's file, each with the problems that were found while reading it."""

    def __init__(self, spot: Spot) -> None:
        self._spot = spot
        self._problems: dict[str, list[Problem]] = {}

    def at(self, key: str) -> Spot:
        """Where a part is."""
        problems = self._problems.setdefault(key, [])
        return Spot(self._spot.document, problems, (*self._spot.path, key))

    def add(self, judged: Sequence[tuple[Path, str]]) -> bool:
        """Tell these too, but of no part that was misread; returns whether all is well."""
        misread = {key for key, problems in self._problems.items() if problems}
        for problems in self._problems.values():
            self._spot.problems.extend(problems)
        for path, sentence in judged:
            if not misread.intersection(path[:1]):
                self._spot.at(*path).wrong(sentence)
        return not judged and not misread


def _limits(keys: model.Limits) -> Limits:
    rate = keys.requests
    return Limits(
        requests=rate.count if rate else None,
        window_ms=rate.window_ms if rate else 1000,
        in_flight=keys.in_flight,
        body_bytes=keys.body,
        timeout_ms=keys.timeout,
        settles_in_ms=keys.settles_in,
    )


def _colour(keys: Any) -> ColourCodec:  # noqa: ANN401 - a word or a mapping
    if not isinstance(keys, model.Colour):
        return ColourCodec(form=keys)
    return ColourCodec(
        form=keys.form,
        mark=keys.mark,
        after=keys.after,
        case=keys.case,
        order=keys.order,
        to=keys.to,
        digits=keys.digits,
        white=keys.white,
        function=keys.function,
        keys=tuple(keys.keys),
        between=keys.between,
        level=keys.level,
    )


def _scale(name: str, keys: model.Scale) -> ScaleCodec:
    low, high = keys.to or (0.0, _HIGH.get(name, 255.0))
    return ScaleCodec(
        low=low,
        high=high,
        rounding=keys.round,
        digits=keys.digits,
        least=keys.least,
        written=keys.written,
        before=keys.before,
        after=keys.after,
    )


def _count(name: str, keys: model.Count, codecs: Spot) -> CountCodec:
    spot = codecs.at(name)
    if keys.written == "number" and (keys.before or keys.after):
        spot.at("before" if keys.before else "after").wrong_key("is for texts: add as: text")
    return CountCodec(keys.start, keys.written, keys.before, keys.after)


def _effects(keys: model.Effects, spot: Spot) -> Iterator[tuple[str, tuple[NativeEffect, ...]]]:
    for name in ("steady", "flash", "gauge"):
        ways = getattr(keys, name)
        if ways is None:
            continue
        several = isinstance(ways, list)
        yield (
            name,
            tuple(
                _effect(name, way, spot.at(name, index) if several else spot.at(name))
                for index, way in enumerate(ways if several else [ways])
            ),
        )


def _effect(name: str, keys: model.Effect, spot: Spot) -> NativeEffect:
    if name != "flash" and keys.period is not None:
        spot.at("period").wrong_key("is for flash only")
    told = None
    if isinstance(keys.told, model.ToldAt):
        told = Told(_place(keys.told.at, spot.at("told", "at")), keys.told.is_)
    elif keys.told is not None:
        told = Told(_place(keys.told, spot.at("told")))
    return NativeEffect(keys.name, keys.period, keys.worst, keys.adds, told)


def _request(keys: model.Bare, spot: Spot) -> RequestTemplate:
    refuse_secrets(keys.headers, spot.at("headers"))
    return RequestTemplate(
        method=keys.method,
        path=keys.path,
        query=dict(keys.query),
        headers=dict(keys.headers),
        body=keys.body,
        form=keys.form,
        reply=_reply(keys.reply, spot.at("reply")),
        accepts=tuple(keys.accepts),
    )


def _changing(keys: model.Request | None, spot: Spot) -> RequestTemplate | None:
    if keys is None:
        return None
    bare = _request(keys, spot)
    return RequestTemplate(
        method=bare.method,
        path=bare.path,
        query=bare.query,
        headers=bare.headers,
        body=bare.body,
        form=bare.form,
        reply=bare.reply,
        accepts=bare.accepts,
        sends=keys.sends,
        then=_request(keys.then, spot.at("then")) if keys.then else None,
    )


def _reply(keys: model.Reply | None, spot: Spot) -> ReplyCheck | None:
    return ReplyCheck(_place(keys.at, spot.at("at")), keys.is_) if keys else None


def _bare(keys: model.Bare | None, spot: Spot) -> RequestTemplate | None:
    return None if keys is None else _request(keys, spot)


def _read(keys: model.Read | None, spot: Spot) -> ReadTemplate | None:
    if keys is None:
        return None
    return replace(
        _observed(keys, spot),
        every_ms=keys.every,
        main=_checks(keys.main, spot.at("main")),
        restart=_restart(keys.restart, spot.at("restart")),
    )


def _asked(keys: model.Asked, spot: Spot) -> ReadTemplate:
    return ReadTemplate(
        request=_request(keys, spot),
        every_ms=0,
        values=(),
        each=_optional_place(keys.each, spot.at("list")),
        match=tuple(_places(keys.match, spot.at("match"))),
        keyed=keys.keyed.key if keys.keyed else None,
        keyed_at=_place(keys.keyed.at, spot.at("keyed", "at")) if keys.keyed else None,
    )


def _observed(keys: model.Observed, spot: Spot) -> ReadTemplate:
    return replace(
        _asked(keys, spot),
        values=tuple(_places(keys.values, spot.at("values"))),
        must=_checks(keys.must, spot.at("must")),
        tolerance=keys.tolerance,
    )


def _checks(entries: Mapping[str, Any], spot: Spot) -> tuple[ReplyCheck, ...]:
    return tuple(ReplyCheck(place, wanted) for place, wanted in _places(entries, spot))


def _capture(keys: model.Capture | None, spot: Spot) -> CaptureTemplate | None:
    if keys is None:
        return None
    return CaptureTemplate(_asked(keys, spot), _optional_place(keys.kept, spot.at("kept")))


def _boot(keys: model.Boot | None, spot: Spot) -> BootTemplate | None:
    if keys is None:
        return None
    write = _request(keys.write, spot.at("write"))
    if keys.read is None:
        spot.wrong_key(
            "needs 'read': without it nobody knows whether the stored look differs, and stored"
            " settings wear out"
        )
        return None
    return BootTemplate(_observed(keys.read, spot.at("read")), write, keys.a_day)


def _restart(keys: model.Uptime | model.RestartMark | None, spot: Spot) -> Restart | None:
    if keys is None:
        return None
    if isinstance(keys, model.RestartMark):
        return Restart(_place(keys.mark, spot.at("mark")), "mark")
    place = _place(keys.uptime, spot.at("uptime"))
    if keys.unit in {"h:m:s", "iso 8601"}:
        written: Any = keys.unit
        return Restart(place, "uptime", written=written)
    return Restart(place, "uptime", _UNIT_MS[keys.unit])


def _identify(keys: model.Identify | None, spot: Spot) -> IdentifyTemplate | None:
    if keys is None:
        return None
    return IdentifyTemplate(
        request=_request(keys, spot),
        identity=_optional_place(keys.identity, spot.at("identity")),
        pixels=_optional_place(keys.pixels, spot.at("pixels")),
    )


def _places(entries: Mapping[str, Any], spot: Spot) -> Iterator[tuple[Place, Any]]:
    for text, value in entries.items():
        try:
            yield compile_place(text), value
        except PlaceError as error:
            spot.at(text).wrong_key(str(error))


def _place(text: str, spot: Spot) -> Place:
    try:
        return compile_place(text)
    except PlaceError as error:
        spot.wrong(str(error))
        return _NOWHERE


def _optional_place(text: str | None, spot: Spot) -> Place | None:
    return None if text is None else _place(text, spot)
