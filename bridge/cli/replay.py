"""``lampwright replay``: a recording through the same engine, with its own or with other rules."""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bridge.cli.commands import COMMANDS
from bridge.one_line import one_line

if TYPE_CHECKING:
    from bridge.cli.recorded import Times
    from bridge.recording.comparing import Comparing, Difference
    from bridge.recording.lines import Entry
    from bridge.recording.replaying import About, Decided, Replay

_MOST_SPEED: Final = 1_000_000


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "replay",
        help=COMMANDS["replay"],
        description="Feeds the engine with a recording (lampwright run --record) and prints what "
        "each segment showed over time, and whether the recorded actions came again. With --with "
        "it feeds a second one, which has another site's rules, and prints where, for how long "
        "and which way its outcome differs.",
        epilog="Exit codes: 0 no difference, 1 differences, 2 unusable. example: lampwright replay "
        "tonight --with config",
    )
    parser.add_argument(
        "files",
        metavar="FILE",
        nargs="+",
        type=Path,
        help="the recording; of one that goes on in a second file, FILE.1 FILE",
    )
    parser.add_argument(
        "--with",
        dest="other",
        metavar="SITE",
        type=Path,
        help="the directory of a site whose rules are to be tried on it",
    )
    parser.add_argument(
        "--speed",
        metavar="N",
        type=_speed,
        help="for watching: N times as fast as it was (default: as fast as possible)",
    )
    parser.add_argument("--json", action="store_true", help="for programs, when all is over")
    parser.set_defaults(run=run)


def _speed(text: str) -> float:
    try:
        speed = float(text)
    except ValueError:
        speed = math.nan
    if not 0 < speed <= _MOST_SPEED:
        raise argparse.ArgumentTypeError(f"'{text}' is no number from 0 to {_MOST_SPEED}")
    return speed


def run(arguments: argparse.Namespace) -> int:
    """Replay."""
    from bridge.cli.recorded import paced, recorded

    entries = paced(recorded(arguments.files), arguments.speed)
    if arguments.other is not None:
        return _compare(entries, arguments.other, as_json=arguments.json)
    return _replay(entries, as_json=arguments.json)


def _replay(entries: Iterable[Entry], *, as_json: bool) -> int:
    from bridge.recording.replaying import Replay, Verdict

    replay = Replay()
    shown: list[Decided] = []
    for entry in entries:
        for decided in replay.take(entry):
            if as_json:
                shown.append(decided)
            else:
                print(one_line(_decided_line(_times(replay.about), decided)), flush=True)
    times = _times(replay.about)
    if as_json:
        print(json.dumps(_replay_json(replay, times, shown)))
    else:
        print("\n".join(map(one_line, (*_told(replay.about), _verdict_line(replay)))))
    return 1 if replay.verdict is Verdict.DIFFERENT else 0


def _times(about: About) -> Times:
    from bridge.cli.recorded import NothingDecidedError, Times

    if about.site is None or about.first is None:
        raise NothingDecidedError
    return Times(about.site.zone, about.first)


def _decided_line(times: Times, decided: Decided) -> str:
    rule = f"rule {decided.rule}, " if decided.rule else ""
    whose = f" ({decided.printer})" if decided.printer else ""
    what = f"{rule}{decided.because}"
    return f"{times.told(decided.at)}  {decided.segment}{whose} shows {decided.scene}: {what}"


def _told(about: About) -> list[str]:
    """What the reader must know of the recording itself."""
    lines = []
    if about.is_cut_off:
        lines.append("its last line is cut off: the bridge or the machine ended without a word")
    if about.part > 1:
        lines.append(
            f"it begins in the middle, with part {about.part}: of what was said before only the "
            "last messages are in it; the rest is in the file before, if that is still there"
        )
    return lines


def _verdict_line(replay: Replay) -> str:
    from bridge import __version__
    from bridge.cli.recorded import lasted
    from bridge.recording.replaying import Verdict

    about = replay.about
    head = f"{about.events} events in {lasted(about.lasted_ms)}"
    match replay.verdict:
        case Verdict.IDENTICAL:
            return f"{head}: identical actions at all {replay.marks} marks"
        case Verdict.NOT_COMPARABLE:
            return f"{head}: whether the actions are identical cannot be told from it"
        case Verdict.DIFFERENT:
            mark = replay.first_different
            before = mark.events if mark is not None else 0
            other = __version__ if about.head is None else about.head.written_by
            why = "" if other == __version__ else f"; recorded by {other}, this is {__version__}"
            return f"{head}: other actions within the first {before} events{why}"


def _about(about: About) -> dict[str, object]:
    return {
        "events": about.events,
        "lasted_ms": about.lasted_ms,
        "part": about.part,
        "cut_off": about.is_cut_off,
    }


def _replay_json(replay: Replay, times: Times, shown: Iterable[Decided]) -> dict[str, object]:
    mark = replay.first_different
    return {
        **_about(replay.about),
        "actions": replay.verdict.value,
        "marks": replay.marks,
        "different_within": None if mark is None else mark.events,
        "shown": [
            {
                "at": times.written(each.at),
                "segment": each.segment,
                "printer": each.printer,
                "rule": each.rule,
                "scene": each.scene,
                "because": each.because,
            }
            for each in shown
        ],
    }


# With other rules


def _compare(entries: Iterable[Entry], other: Path, *, as_json: bool) -> int:
    from bridge.cli.site_argument import site_directory
    from bridge.recording.comparing import Comparing
    from bridge.recording.lines import Occurred
    from bridge.recording.replaying import About
    from bridge.settings.load import digest_of, load_site

    site = load_site(site_directory(other))
    comparing, about = Comparing(site, digest_of(site)), About()
    for entry in entries:
        about.take(entry)
        if isinstance(entry, Occurred):
            comparing.take(entry.event, entry.moment)
    times = _times(about)
    differences = comparing.differences()
    if as_json:
        print(json.dumps(_compare_json(about, comparing, times, differences)))
    else:
        lines = [_difference_line(times, each) for each in differences]
        lines += [*_told(about), *_compared_lines(comparing), *_total_lines(about, differences)]
        print("\n".join(map(one_line, lines)))
    return 1 if differences else 0


def _difference_line(times: Times, each: Difference) -> str:
    from bridge.cli.recorded import lasted

    span = f"{times.told(each.begin)} for {lasted(each.lasted_ms)}"
    old, new = (
        f"{outcome.scene or 'nothing'} ({outcome.rule or 'no rule'})"
        for outcome in (each.old, each.new)
    )
    return f"{span}  {each.segment} shows {new} instead of {old}: {each.way.value}"


def _compared_lines(comparing: Comparing) -> list[str]:
    lines = [
        f"never heard: {address}; what it would have said is unknown"
        for address in comparing.never_heard()
    ]
    if comparing.wishes_dropped:
        lines.append(
            f"{comparing.wishes_dropped} wishes were about an alarm or prompt that does not stand "
            "with the other rules, and are left out"
        )
    return lines


def _total_lines(about: About, differences: tuple[Difference, ...]) -> list[str]:
    from bridge.cli.recorded import lasted
    from bridge.recording.comparing import totals

    whole = f"{about.events} events in {lasted(about.lasted_ms)}"
    if not differences:
        return [f"{whole}: no difference"]
    lines = [f"{whole}: {len(differences)} differences"]
    for segment, ways in totals(differences).items():
        parts = ", ".join(f"{lasted(ms)} {way.value}" for way, ms in ways.items())
        lines.append(f"  {segment}: {parts}")
    return lines


def _compare_json(
    about: About, comparing: Comparing, times: Times, differences: tuple[Difference, ...]
) -> dict[str, object]:
    from bridge.recording.comparing import totals

    return {
        **_about(about),
        "never_heard": list(comparing.never_heard()),
        "wishes_left_out": comparing.wishes_dropped,
        "differences": [
            {
                "segment": each.segment,
                "from": times.written(each.begin),
                "to": times.written(each.end),
                "lasted_ms": each.lasted_ms,
                "old": {"rule": each.old.rule, "scene": each.old.scene},
                "new": {"rule": each.new.rule, "scene": each.new.scene},
                "way": each.way.value,
            }
            for each in differences
        ],
        "totals_ms": {
            segment: {way.value: ms for way, ms in ways.items()}
            for segment, ways in totals(differences).items()
        },
    }
