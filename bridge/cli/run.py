"""``lampwright run``: the bridge itself, or a look at what it would show."""

from __future__ import annotations

import argparse
import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.errors import LampwrightError

if TYPE_CHECKING:
    from bridge.service.running import Loaded


class RunError(LampwrightError):
    """The command line asks for what does not go together."""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "run",
        help=COMMANDS["run"],
        description="Subscribes to the printers, decides what each segment shows, and keeps the "
        "controllers so. With --dry-run it hears the same printers under a client id of its own, "
        "sends nothing to any controller, and draws the segments here.",
        epilog="example: lampwright run config --dry-run",
    )
    add_site(parser)
    parser.add_argument("--dry-run", action="store_true", help="send nothing, draw here")
    parser.add_argument(
        "--poll",
        action="store_true",
        help="with --dry-run: poll and ask printers even while a daemon runs this site",
    )
    parser.add_argument(
        "--json", action="store_true", help="with --dry-run: one JSON line for each change"
    )
    parser.add_argument("--plain", action="store_true", help="with --dry-run: no drawing in place")
    parser.add_argument(
        "--log-level", choices=("debug", "info", "warning", "error"), default="info"
    )
    parser.add_argument(
        "--summary",
        metavar="FILE",
        type=Path,
        help="write counts and decisions there as JSON when it ends (- for standard output)",
    )
    parser.add_argument(
        "--record",
        metavar="FILE",
        type=Path,
        help="record everything that is heard, for replay and explain; what is there already "
        "becomes FILE.1",
    )
    parser.add_argument(
        "--record-limit",
        metavar="SIZE",
        type=_size,
        default="50 MB",
        help="how much FILE and FILE.1 may take together (default 50 MB, at least 1 MB)",
    )
    journal = parser.add_mutually_exclusive_group()
    journal.add_argument(
        "--journal",
        metavar="FILE",
        type=Path,
        help="where states and history are kept (default: in $STATE_DIRECTORY, else in the "
        "user's state directory)",
    )
    journal.add_argument(
        "--no-journal", action="store_true", help="keep nothing: the next start knows of no alarm"
    )
    parser.set_defaults(run=run)


def _size(text: str) -> int:
    from bridge.service.recording_file import LEAST_BYTES
    from bridge.settings.quantities import SIZE

    try:
        size = SIZE.whole(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
    if size < LEAST_BYTES:
        raise argparse.ArgumentTypeError(f"'{text}' is less than {LEAST_BYTES // 10**6} MB")
    return size


def _journal(arguments: argparse.Namespace, directory: Path) -> Path | None:
    import os

    from bridge.service.journal_place import journal_path

    if arguments.no_journal:
        return None
    given: Path | None = arguments.journal
    return given or journal_path(directory, os.environ)


@contextmanager
def _nothing_to_collect() -> Iterator[None]:
    """Around loading, for what it makes stays to the end.

    Looking for garbage in it again and again takes an eighth of the start, and later would hold up
    a light for tens of milliseconds each time.
    """
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()


def run(arguments: argparse.Namespace) -> int:
    """Run until told to stop."""
    with _nothing_to_collect():
        loaded = _loaded(arguments)
    return _run(loaded, arguments)


def _loaded(arguments: argparse.Namespace) -> Loaded:
    from bridge.service.log import quiet_libraries
    from bridge.service.running import Loaded
    from bridge.settings.load import digest_of, load_site

    quiet_libraries()
    if arguments.record is not None and arguments.dry_run:
        raise RunError("--record goes with a run, not with --dry-run")
    if arguments.journal is not None and arguments.dry_run:
        raise RunError("--journal goes with a run, a dry run keeps nothing")
    if arguments.summary is not None and arguments.dry_run:
        raise RunError("--summary goes with a run, not with --dry-run")
    directory = site_directory(arguments.site)
    site = load_site(directory)
    return Loaded(directory, site, digest_of(site))


def _summary_to(file: Path) -> Callable[[str], None]:
    """What writes the summary at the end; what is there stays until then.

    Raises ``RunError`` at once where it is plain that nothing can be written.
    """
    import os

    if str(file) == "-":
        return lambda text: print(text, end="", flush=True)

    def cannot(why: str) -> RunError:
        return RunError(f"--summary {file}: cannot be written: {why}")

    if file.is_dir():
        raise cannot("it is a directory")
    if not file.exists() and not file.parent.is_dir():
        raise cannot(f"there is no directory {file.parent}")
    if not os.access(file if file.exists() else file.parent, os.W_OK):
        raise cannot("permission denied")

    def write(text: str) -> None:
        try:
            file.write_text(text, "utf-8")
        except OSError as error:
            raise cannot((error.strerror or str(error)).lower()) from None

    return write


def _run(loaded: Loaded, arguments: argparse.Namespace) -> int:
    import asyncio
    import os
    import sys

    from bridge.service.log import note_logger
    from bridge.service.running import RecordTo, run_dry, run_site

    if not arguments.dry_run:
        summary = None if arguments.summary is None else _summary_to(arguments.summary)
        record_to = None
        if arguments.record is not None:
            record_to = RecordTo(arguments.record, arguments.record_limit)
        note = note_logger(sys.stderr, os.environ, least=arguments.log_level)
        return asyncio.run(
            run_site(
                loaded,
                note=note,
                environment=os.environ,
                summary=summary,
                record_to=record_to,
                journal=_journal(arguments, loaded.directory),
            )
        )
    from bridge.cli.drawing import drawing_for

    return asyncio.run(
        run_dry(
            loaded,
            drawing=drawing_for(loaded.site, sys.stdout, os.environ, arguments),
            environment=os.environ,
            leave_to_poll=arguments.poll,
        )
    )
