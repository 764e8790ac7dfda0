"""``lampwright explain``: what a printer's messages mean, and what shows because of them.

Nothing of its own: the messages go through the same core as in the daemon.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.errors import LampwrightError
from bridge.one_line import one_line

if TYPE_CHECKING:
    from bridge.engine.site import Printer, Site
    from bridge.engine.view import SegmentView, View
    from bridge.facts.reader import Input


class ExplainError(LampwrightError):
    """The command line does not fit the site."""


@dataclass(frozen=True, slots=True)
class Given:
    """A message as given: ``address`` is empty where the site has just one."""

    message: str
    address: str
    body: bytes


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "explain",
        help=COMMANDS["explain"],
        description="Takes messages of one printer from files and says its facts, the rule that "
        "decides, why not the earlier ones, the scene, and the requests that would go out.",
        epilog="example: lampwright explain config --printer plover --message status=now.json",
    )
    add_site(parser)
    parser.add_argument("--printer", required=True, metavar="P")
    parser.add_argument(
        "--message",
        action="append",
        default=[],
        metavar="NAME[@ADDRESS]=FILE",
        help="a message of the reader and the file that holds it (- for standard input); may be "
        "given several times and is heard in that order. ADDRESS is needed where the site's "
        "topic has a wildcard",
    )
    parser.add_argument("--json", action="store_true", help="for programs")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Explain."""
    from bridge.settings.load import load_site

    site = load_site(site_directory(arguments.site))
    printer = printer_named(site.printers, arguments.printer)
    given = [given_message(printer, text) for text in arguments.message]
    view = view_after(site, printer, given)
    explained = _explained(site, printer, view)
    if arguments.json:
        print(json.dumps(_json(printer, view, explained)))
    else:
        print("\n".join(map(one_line, _lines(printer, view, explained))))
    return 0


def printer_named(printers: Mapping[str, Printer], name: str) -> Printer:
    """The printer of the site, or ``ExplainError``."""
    import difflib

    if name not in printers:
        near = difflib.get_close_matches(name, printers, n=1)
        hint = f", did you mean '{near[0]}'" if near else f", known are {', '.join(printers)}"
        raise ExplainError(f"no printer '{name}' in site.yaml{hint}")
    return printers[name]


def given_message(printer: Printer, text: str) -> Given:
    """What ``--message`` names, read; raises ``ExplainError``."""
    head, equals, file = text.partition("=")
    name, _, address = head.partition("@")
    if not equals or not name or not file:
        raise ExplainError(f"--message '{text}' is not NAME=FILE or NAME@ADDRESS=FILE")
    known = {each.message: each for each in printer.inputs}
    if name not in known:
        names = ", ".join(known)
        raise ExplainError(f"printer {printer.name} has no message '{name}', it has {names}")
    address = _address(printer.name, known[name], address, file)
    try:
        body = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise ExplainError(f"--message {name}: {file} cannot be read: {reason}") from None
    return Given(name, address, body)


def _address(printer: str, given: Input, address: str, file: str) -> str:
    """Where the message is to have come from: ``address``, or the site's where it is just one."""
    from bridge.engine.events import HTTP_SOURCE
    from bridge.facts.topics import matches, wildcard_count

    known = given.address
    if given.source == HTTP_SOURCE:
        if address not in {"", known}:
            raise ExplainError(f"message {given.message} of {printer} comes from {known} alone")
        return known
    if not address and wildcard_count(known):
        example = known.replace("+", "LEVEL").replace("#", "LEVELS")
        raise ExplainError(
            f"message {given.message} of {printer} comes on {known}: say which topic, "
            f"as in --message {given.message}@{example}={file}"
        )
    if address and not matches(known, address):
        raise ExplainError(
            f"message {given.message} of {printer} comes on {known}, which '{address}' does not "
            "match: nobody would hear it"
        )
    return address or known


def view_after(site: Site, printer: Printer, given: list[Given]) -> View:
    """What is known once the messages were heard in their order, by the same core as ever."""
    from bridge.engine.core import Core
    from bridge.engine.events import Heard, Settings, SourceUp, Started
    from bridge.facts.moment import Moment
    from bridge.service.clock import Clock

    core, now = Core(), Moment(0, Clock().now().wall_ms)
    core.handle(Started("explain"), now)
    core.handle(Settings(site, ""), now)
    for source in site.brokers:
        core.handle(SourceUp(source), now)
    sources = {each.message: each.source for each in printer.inputs}
    for number, each in enumerate(given, 1):
        event = Heard(sources[each.message], each.address, each.body)
        core.handle(event, now.at(number))
    return core.view()


@dataclass(frozen=True, slots=True)
class Sent:
    """A request as it would go out."""

    method: str
    url: str
    headers: Mapping[str, str]
    body: str | None


@dataclass(frozen=True, slots=True)
class Explained:
    """One segment of the printer, and the requests that would show its look."""

    segment: SegmentView
    requests: tuple[Sent, ...]


def _explained(site: Site, printer: Printer, view: View) -> tuple[Explained, ...]:
    mine = (each for each in view.segments.values() if printer.name in each.printers)
    return tuple(Explained(each, _requests(site, each)) for each in mine)


def _requests(site: Site, segment: SegmentView) -> tuple[Sent, ...]:
    from bridge.lights.dialect.dialect import Dialect
    from bridge.lights.rendering import render

    if segment.look is None:
        return ()
    controller = site.controllers[segment.controller]
    dialect = Dialect(site.dialects[controller.dialect])
    return tuple(
        Sent(
            each.method,
            controller.url.rstrip("/") + each.path,
            dict(each.headers),
            None if each.body is None else each.body.decode("utf-8"),
        )
        for each in render(dialect, site.segments[segment.name].place, segment.look)
    )


def _facts(printer: Printer, view: View) -> dict[str, str]:
    from bridge.rules.conditions import shown

    facts = view.printers[printer.name].facts
    return {name: shown(facts[name]) for name in sorted(facts)}


def _json(printer: Printer, view: View, explained: tuple[Explained, ...]) -> dict[str, object]:
    return {
        "facts": _facts(printer, view),
        "segments": [
            {
                "segment": each.segment.name,
                "table": each.segment.table,
                "rule": each.segment.rule,
                "because": each.segment.because,
                "passed_over": [
                    {"rule": rule, "because": why} for rule, why in each.segment.passed_over
                ],
                "scene": each.segment.scene,
                "requests": [asdict(sent) for sent in each.requests],
            }
            for each in explained
        ],
    }


def _lines(printer: Printer, view: View, explained: tuple[Explained, ...]) -> list[str]:
    known = view.printers[printer.name]
    facts = _facts(printer, view)
    width = max(map(len, facts), default=0)
    lines = [f"printer {printer.name} (reader {printer.reader.name})"]
    lines += [f"  {name:<{width}}  {value}" for name, value in facts.items()]
    lines += [f"  not taken: {each}" for each in known.troubles]
    lines += [f"  word without a mapping: '{each.word}' for {each.fact}" for each in known.words]
    for each in explained:
        segment = each.segment
        lines.append(f"segment {segment.name} (table {segment.table})")
        lines += [f"  not   {rule}: {why}" for rule, why in segment.passed_over]
        lines.append(f"  rule  {segment.rule}: {segment.because}")
        lines.append(f"  shows {segment.scene}")
        for sent in each.requests:
            lines.append(f"  sends {sent.method} {sent.url}")
            lines += [f"        {sent.body}"] if sent.body is not None else []
    return lines
