"""``lampwright explain``: what a printer's messages mean, and what shows because of them.

Nothing of its own: the messages go through the same core as in the daemon.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from bridge.cli.commands import COMMANDS
from bridge.cli.durations import duration_ms
from bridge.cli.site_argument import add_site, site_directory
from bridge.errors import LampwrightError
from bridge.one_line import one_line

if TYPE_CHECKING:
    from bridge.cli.recorded import At
    from bridge.engine.site import Printer, Site
    from bridge.engine.view import SegmentView, View
    from bridge.facts.reader import Input

    #: Printers, and ``None`` for none, with their segments.
    _Whom: TypeAlias = list[tuple[str | None, list[SegmentView]]]


class ExplainError(LampwrightError):
    """The command line does not fit the site."""


@dataclass(frozen=True, slots=True)
class Given:
    """A message as given: ``address`` is empty where the site has just one."""

    message: str
    address: str
    body: bytes


@dataclass(frozen=True, slots=True)
class NotTaken:
    """A message of those given that could not be taken, and why."""

    message: str
    address: str
    why: str


@dataclass(frozen=True, slots=True)
class After:
    """What is known once messages were heard, and which of them could not be taken."""

    view: View
    not_taken: tuple[NotTaken, ...]


class NotTakenError(LampwrightError):
    """Messages that were given could not be taken."""

    def __init__(self, not_taken: Iterable[NotTaken]) -> None:
        self._not_taken = tuple(not_taken)
        super().__init__("; ".join(self.lines()))

    def lines(self) -> tuple[str, ...]:
        """One line a message."""
        return tuple(
            f"--message {each.message}: not taken from {each.address}: {each.why}"
            for each in self._not_taken
        )


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "explain",
        help=COMMANDS["explain"],
        description="Takes messages of one printer from files and says its facts, the rule that "
        "decides, why not the earlier ones, the scene, and the requests that would go out. Or "
        "takes a recording, and says the same of every printer as it was at a time.",
        epilog="example: lampwright explain config --printer plover --message status=now.json",
    )
    add_site(parser)
    parser.add_argument("--printer", metavar="P", help="needed with --message")
    parser.add_argument("--segment", metavar="S", help="only this segment")
    parser.add_argument(
        "--message",
        action="append",
        default=[],
        metavar="NAME[@ADDRESS]=FILE",
        help="a message of the reader and the file that holds it (- for standard input); may be "
        "given several times and is heard in that order. ADDRESS is needed where the site's "
        "topic has a wildcard",
    )
    parser.add_argument(
        "--after",
        metavar="TIME",
        type=duration_ms,
        default=0,
        help="with --message: as if the printer went on saying so for that long, as in 10m, for "
        "delays of alarms and rules that must last",
    )
    parser.add_argument(
        "--given",
        metavar="SITUATION",
        help="instead of messages a situation as an expect case gives it, and as check's examples "
        'are: "{state: idle, alarms: {material-out: acknowledged}}"',
    )
    parser.add_argument("--table", metavar="T", help="with --given: which table decides")
    parser.add_argument(
        "--recording",
        metavar="FILE",
        action="append",
        type=Path,
        help="explain what was recorded (lampwright run --record), with the settings it has; of "
        "one that goes on in a second file, first FILE.1, then FILE",
    )
    parser.add_argument(
        "--at",
        metavar="TIME",
        type=_at,
        help="with --recording: when, as local time 2026-11-27T20:01:30 or as +H:MM:SS after its "
        "beginning (default: its end)",
    )
    parser.add_argument("--json", action="store_true", help="for programs")
    parser.set_defaults(run=run)


def _at(text: str) -> At:
    from bridge.cli.recorded import At, NoTimeError

    try:
        return At.read(text)
    except NoTimeError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def run(arguments: argparse.Namespace) -> int:
    """Explain."""
    if arguments.recording:
        return _explain_recorded(arguments)
    if arguments.given is not None:
        from bridge.cli.supposed import supposed

        if arguments.printer is not None or arguments.message or arguments.json:
            raise ExplainError("--given stands for all that is known: give it with --table alone")
        said = supposed(site_directory(arguments.site), arguments.table, arguments.given)
        print("\n".join(map(one_line, said)))
        return 0
    from bridge.cli.explained import explained, explained_json, printer_lines, segment_lines
    from bridge.settings.load import load_site

    if arguments.printer is None or arguments.at is not None:
        raise ExplainError(
            "name --printer P and its messages, or a --recording FILE and perhaps --at TIME"
        )
    site = load_site(site_directory(arguments.site))
    printer = printer_named(site.printers, arguments.printer)
    given = [given_message(printer, text) for text in arguments.message]
    after = view_after(site, printer, given, arguments.after)
    view = after.view
    segments = explained(site, _segments(view, printer.name, arguments.segment))
    if arguments.json:
        not_taken = [asdict(each) for each in after.not_taken]
        print(json.dumps({**explained_json(printer, view, segments), "not_taken": not_taken}))
    else:
        lines = [*printer_lines(printer, view), *segment_lines(segments)]
        print("\n".join(map(one_line, lines)))
    if after.not_taken:
        raise NotTakenError(after.not_taken)
    return 0


def _segments(view: View, printer: str | None, segment: str | None) -> list[SegmentView]:
    """Those that are asked for; of no printer are those that have none."""
    found = view.segments
    if segment is not None and segment not in found:
        raise ExplainError(f"no segment '{segment}' in site.yaml, known are {', '.join(found)}")
    return [
        each
        for each in found.values()
        if (printer in each.printers if printer is not None else not each.printers)
        and segment in {None, each.name}
    ]


def _explain_recorded(arguments: argparse.Namespace) -> int:
    from bridge.cli.recorded import pictured_at, recorded

    if arguments.site is not None or arguments.message or arguments.after:
        raise ExplainError("a recording has its own site and messages: give --recording alone")
    then = pictured_at(recorded(arguments.recording), arguments.at)
    site, view = then.site, then.view
    if arguments.printer is not None:
        printer_named(site.printers, arguments.printer)
    whom = [
        (name, segments)
        for name in (*site.printers, None)
        if arguments.printer in {None, name}
        and ((segments := _segments(view, name, arguments.segment)) or not arguments.segment)
    ]
    if arguments.json:
        at = then.times.written(then.moment)
        print(json.dumps({"at": at, "explained": _recorded_json(site, view, whom)}))
    else:
        middle = "; it begins in the middle, with the last messages before it"
        lines = [f"at {then.times.told(then.moment)}{middle if then.part > 1 else ''}"]
        print("\n".join(map(one_line, (*lines, *_recorded_lines(site, view, whom)))))
    return 0


def _recorded_json(site: Site, view: View, whom: _Whom) -> list[dict[str, object]]:
    from bridge.cli.explained import explained, explained_json

    return [
        {"printer": name or ""}
        | explained_json(site.printers[name] if name else None, view, explained(site, segments))
        for name, segments in whom
    ]


def _recorded_lines(site: Site, view: View, whom: _Whom) -> list[str]:
    from bridge.cli.explained import explained, printer_lines, segment_lines, trouble_lines

    lines: list[str] = []
    for name, segments in whom:
        if name is not None:
            lines += printer_lines(site.printers[name], view) + trouble_lines(name, view)
        lines += segment_lines(explained(site, segments))
    return lines


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


def view_after(site: Site, printer: Printer, given: list[Given], after_ms: int = 0) -> After:
    """What is known once the messages were heard in their order, by the same core as ever.

    And again and again for ``after_ms``, as printers do that go on as they are.
    """
    from bridge.engine.core import Core
    from bridge.engine.events import Due, Heard, Settings, SourceUp, Started
    from bridge.facts.moment import Moment
    from bridge.service.clock import Clock

    core, now = Core(), Moment(0, Clock().now().wall_ms)
    core.handle(Started("explain"), now)
    core.handle(Settings(site, ""), now)
    for source in site.brokers:
        core.handle(SourceUp(source), now)
    sources = {each.message: each.source for each in printer.inputs}
    not_taken: list[NotTaken] = []
    for number, each in enumerate(given, 1):
        before = _refused(core.counts())
        event = Heard(sources[each.message], each.address, each.body)
        core.handle(event, now.at(number))
        if _refused(core.counts()) != before:
            # Others may be told on the same address; this printer's own trouble is what counts.
            own = core.view().printers[printer.name].troubles
            about = f"{each.address}: "
            not_taken += [
                NotTaken(each.message, each.address, trouble.removeprefix(about))
                for trouble in own
                if trouble.startswith(about)
            ]
    step_ms = _repeats_ms(printer)
    for at_ms in range(step_ms, after_ms, step_ms):
        for each in given:
            event = Heard(sources[each.message], each.address, each.body)
            core.handle(event, now.at(len(given) + at_ms))
    core.handle(Due(), now.at(len(given) + after_ms))
    return After(core.view(), tuple(not_taken))


def _repeats_ms(printer: Printer) -> int:
    """Often enough for everything to stay fresh."""
    fresh = (each.fresh_for_ms for each in printer.reader.messages.values())
    return max(1, min((each for each in fresh if each is not None), default=60_000) // 2)


def _refused(counts: Mapping[str, int]) -> int:
    from bridge.engine.hearing import REFUSED

    return sum(count for name, count in counts.items() if name.startswith(REFUSED))
