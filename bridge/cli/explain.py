"""``lampwright explain``: what a printer's messages mean, and what shows because of them.

Nothing of its own: the messages go through the same core as in the daemon.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.cli.site_argument import add_site, site_directory
from bridge.errors import LampwrightError

if TYPE_CHECKING:
    from bridge.engine.site import Printer, Site
    from bridge.engine.view import SegmentView, View


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
        help="say what messages mean and what shows because of them",
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
    printer = _named(site.printers, arguments.printer)
    given = [_given(printer, text) for text in arguments.message]
    view = _heard(site, printer, given)
    said = _explained(site, printer, view)
    print(json.dumps(said) if arguments.json else "\n".join(_lines(printer, view, said)))
    return 0


def _named(printers: object, name: str) -> Printer:
    import difflib

    assert isinstance(printers, dict)
    if name not in printers:
        near = difflib.get_close_matches(name, printers, n=1)
        hint = f", did you mean '{near[0]}'" if near else f", known are {', '.join(printers)}"
        raise ExplainError(f"no printer '{name}' in site.yaml{hint}")
    printer: Printer = printers[name]
    return printer


def _given(printer: Printer, text: str) -> Given:
    head, equals, file = text.partition("=")
    name, _, address = head.partition("@")
    if not equals or not name or not file:
        raise ExplainError(f"--message '{text}' is not NAME=FILE or NAME@ADDRESS=FILE")
    known = {each.message: each.address for each in printer.inputs}
    if name not in known:
        names = ", ".join(known)
        raise ExplainError(f"printer {printer.name} has no message '{name}', it has {names}")
    address = address or known[name]
    if "+" in address or "#" in address:
        raise ExplainError(
            f"message {name} of {printer.name} comes on {address}: say which topic, "
            f"as in --message {name}@{address.replace('+', 'LEVEL').replace('#', 'LEVELS')}={file}"
        )
    try:
        body = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise ExplainError(f"--message {name}: {file} cannot be read: {reason}") from None
    return Given(name, address, body)


def _heard(site: Site, printer: Printer, given: list[Given]) -> View:
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


def _explained(site: Site, printer: Printer, view: View) -> dict[str, object]:
    from bridge.rules.conditions import shown

    mine = [each for each in view.segments.values() if printer.name in each.printers]
    facts = view.printers[printer.name].facts
    return {
        "facts": {name: shown(value) for name, value in sorted(facts.items())},
        "segments": [
            {
                "segment": each.name,
                "table": each.table,
                "rule": each.rule,
                "because": each.because,
                "passed_over": [{"rule": r, "because": why} for r, why in each.passed_over],
                "scene": each.scene,
                "requests": _requests(site, each),
            }
            for each in mine
        ],
    }


def _requests(site: Site, segment: SegmentView) -> list[dict[str, object]]:
    from bridge.lights.dialect.dialect import Dialect
    from bridge.lights.rendering import render

    if segment.look is None:
        return []
    controller = site.controllers[segment.controller]
    dialect = Dialect(site.dialects[controller.dialect])
    return [
        {
            "method": each.method,
            "url": controller.url.rstrip("/") + each.path,
            "headers": dict(each.headers),
            "body": None if each.body is None else each.body.decode("utf-8"),
        }
        for each in render(dialect, site.segments[segment.name].place, segment.look)
    ]


def _lines(printer: Printer, view: View, said: dict[str, object]) -> list[str]:
    lines = [f"printer {printer.name} (reader {printer.reader.name})"]
    facts, segments = said["facts"], said["segments"]
    assert isinstance(facts, dict)
    assert isinstance(segments, list)
    width = max(map(len, facts), default=0)
    lines += [f"  {name:<{width}}  {value}" for name, value in facts.items()]
    lines += [f"  not taken: {each}" for each in view.printers[printer.name].troubles]
    lines += [
        f"  word without a mapping: '{word}' for {fact}"
        for fact, word in view.printers[printer.name].words
    ]
    for each in segments:
        lines.append(f"segment {each['segment']} (table {each['table']})")
        lines += [f"  not  {p['rule']}: {p['because']}" for p in each["passed_over"]]
        lines.append(f"  RULE {each['rule']}: {each['because']}")
        lines.append(f"  shows {each['scene']}")
        for request in each["requests"]:
            lines.append(f"  sends {request['method']} {request['url']}")
            if request["body"] is not None:
                lines.append(f"        {request['body']}")
    return lines
