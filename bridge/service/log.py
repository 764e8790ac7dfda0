"""One event a line: for people on a terminal, JSON for the journal."""

from __future__ import annotations

import logging
import os
import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import TextIO

import structlog

from bridge.engine.actions import Note
from bridge.one_line import one_line

#: What the journal understands as the urgency of a line (sd-daemon(3)).
_PRIORITY = {"debug": 7, "info": 6, "warning": 4, "error": 3}
_LEVELS = {"debug": 10, "info": 20, "warning": 30, "error": 40}


def note_logger(
    stream: TextIO, environment: Mapping[str, str], *, least: str = "info"
) -> Callable[[Note], None]:
    """What writes notes to the stream, in the form that fits whoever reads it."""
    logger = structlog.wrap_logger(
        structlog.WriteLogger(stream),
        processors=_processors(stream, environment),
        wrapper_class=structlog.make_filtering_bound_logger(_LEVELS[least]),
        cache_logger_on_first_use=True,
    )

    def write(note: Note) -> None:
        # A full disk or a reader that went away costs the line, not the lights.
        with suppress(OSError):
            logger.log(_LEVELS[note.level], note.event, **note.fields)

    return write


def _processors(stream: TextIO, environment: Mapping[str, str]) -> list[structlog.typing.Processor]:
    if _is_journal(stream, environment):
        return [structlog.processors.add_log_level, _json_with_priority]
    plain = environment.get("NO_COLOR") or environment.get("TERM") == "dumb"
    colours = stream.isatty() and not plain
    return [
        structlog.processors.add_log_level,
        _one_line_each,
        structlog.processors.TimeStamper(fmt="%H:%M:%S", utc=False),
        structlog.dev.ConsoleRenderer(
            colors=colours,
            pad_event_to=0,
            sort_keys=False,
            exception_formatter=structlog.dev.plain_traceback,
        ),
    ]


def _is_journal(stream: TextIO, environment: Mapping[str, str]) -> bool:
    """Whether the stream itself leads to the journal: all that a session starts inherits the word.

    systemd.exec(5), ``$JOURNAL_STREAM``: device and inode in decimal, to be compared.
    """
    try:
        status = os.fstat(stream.fileno())
    except (OSError, ValueError):
        return False
    return environment.get("JOURNAL_STREAM") == f"{status.st_dev}:{status.st_ino}"


def _one_line_each(
    _logger: object, _method: str, event: structlog.typing.EventDict
) -> structlog.typing.EventDict:
    return {
        name: one_line(value) if isinstance(value, str) else value for name, value in event.items()
    }


def _json_with_priority(_logger: object, _method: str, event: structlog.typing.EventDict) -> str:
    priority = _PRIORITY.get(str(event.get("level")), 6)
    rendered = structlog.processors.JSONRenderer(sort_keys=True)(None, "", event)
    return f"<{priority}>{rendered!s}"


def quiet_libraries() -> None:
    """Libraries that log by themselves say nothing below a warning."""
    logging.basicConfig(level=logging.WARNING, stream=sys.stderr, format="%(name)s: %(message)s")
