"""Recordings as commands open them: files to entries, errors with their file, times in words."""

from __future__ import annotations

import re
import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Final
from zoneinfo import ZoneInfo

from bridge.errors import LampwrightError
from bridge.recording.errors import RecordingError
from bridge.recording.lines import Entry, Occurred, entries, joined
from bridge.recording.replaying import Replay

if TYPE_CHECKING:
    from bridge.engine.site import Site
    from bridge.engine.view import View
    from bridge.facts.moment import Moment

_SINCE: Final = re.compile(r"\+(\d{1,5}):([0-5]\d):([0-5]\d)")


class UnusableRecordingError(LampwrightError):
    """A recording that nothing can be done with, or a time that is not in it."""


class NoTimeError(UnusableRecordingError):
    """A text that is no time."""

    def __init__(self, text: str) -> None:
        super().__init__(f"'{text}' is neither a time like 2026-11-27T20:01:30 nor like +1:30:00")


class NothingDecidedError(UnusableRecordingError):
    """It ends before it began."""

    def __init__(self) -> None:
        super().__init__("the recording ends before its settings: nothing was decided")


class RecordedSettingsError(LampwrightError):
    """The settings in a recording are none to this version."""

    def __init__(self, problems: Iterable[str]) -> None:
        super().__init__("the recorded settings are not understood")
        self._problems = tuple(problems)

    def lines(self) -> tuple[str, ...]:
        """What is wrong with them, one line a problem."""
        return tuple(f"in the recorded settings: {each}" for each in self._problems)


def recorded(paths: Iterable[Path]) -> Iterator[Entry]:
    """What these files hold, as one recording."""
    named: list[Path] = []
    try:
        yield from joined(_entries(path, named) for path in paths)
    except RecordingError as error:
        raise error.in_file(str(named[-1])) from None


def _entries(path: Path, named: list[Path]) -> Iterator[Entry]:
    named.append(path)
    try:
        with path.open(encoding="utf-8", errors="replace", newline="\n") as file:
            yield from entries(file, site_of)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise UnusableRecordingError(f"{path}: cannot be read: {reason}") from None


def site_of(texts: Mapping[str, str]) -> Site:
    """The site of recorded texts, or ``RecordedSettingsError``."""
    from bridge.settings.load import load_texts
    from bridge.settings.problems import SettingsError

    try:
        return load_texts(texts)
    except SettingsError as error:
        raise RecordedSettingsError(error.lines()) from None


@dataclass(frozen=True, slots=True)
class Pictured:
    """A recording at an instant: its settings, and what was known and shown."""

    moment: Moment
    site: Site
    view: View
    times: Times
    #: Which part the recording begins with.
    part: int


def pictured_at(entries: Iterable[Entry], at: At | None) -> Pictured:
    """What a recording had come to at an instant, ``None`` for its end.

    Raises ``UnusableRecordingError`` where the instant is not in it.
    """
    replay = Replay()
    about = replay.about
    for entry in entries:
        if at is not None and about.site and about.first and isinstance(entry, Occurred):
            asked = at.moment(about.first, entry.moment, about.site.zone)
            if asked is not None and about.first.ms <= asked.ms < entry.moment.ms:
                return _pictured(replay, about.site, about.first, asked)
        replay.take(entry)
    if about.site is None or about.first is None or about.last is None:
        raise NothingDecidedError
    if at is None or at.moment(about.first, about.last, about.site.zone) == about.last:
        return _pictured(replay, about.site, about.first, about.last)
    times = Times(about.site.zone, about.first)
    span = f"from {times.told(about.first)} to {times.told(about.last)}"
    raise UnusableRecordingError(f"{at.text} is not in the recording, which is {span}")


def _pictured(replay: Replay, site: Site, first: Moment, moment: Moment) -> Pictured:
    times = Times(site.zone, first)
    return Pictured(moment, site, replay.view_at(moment), times, replay.about.part)


def paced(entries: Iterable[Entry], speed: float | None) -> Iterator[Entry]:
    """The same, each event at its time, ``speed`` times as fast; ``None`` is without waiting."""
    began: tuple[float, int] | None = None
    for entry in entries:
        if speed is not None and isinstance(entry, Occurred):
            began = began or (time.monotonic(), entry.moment.ms)
            due = began[0] + (entry.moment.ms - began[1]) / 1000 / speed
            time.sleep(max(0.0, due - time.monotonic()))
        yield entry


def lasted(ms: int) -> str:
    """A time in h:mm:ss, with tenths below a minute."""
    if ms < 60_000:
        return f"{ms / 1000:.1f} s"
    return str(timedelta(seconds=round(ms / 1000)))


@dataclass(frozen=True, slots=True)
class Times:
    """How instants of one recording are told: by the site's wall, else since its beginning."""

    zone: ZoneInfo
    first: Moment

    def told(self, moment: Moment) -> str:
        """For a person."""
        if moment.wall_ms is None:
            return self._since(moment)
        return f"{self._wall(moment.wall_ms):%Y-%m-%d %H:%M:%S}"

    def written(self, moment: Moment) -> str:
        """For a program: ISO 8601 with the offset, to the millisecond."""
        if moment.wall_ms is None:
            return self._since(moment)
        return self._wall(moment.wall_ms).isoformat(timespec="milliseconds")

    def _wall(self, wall_ms: int) -> datetime:
        return datetime.fromtimestamp(wall_ms / 1000, self.zone)

    def _since(self, moment: Moment) -> str:
        hours, rest = divmod((moment.ms - self.first.ms) // 1000, 3600)
        return f"+{hours:02}:{rest // 60:02}:{rest % 60:02}"


@dataclass(frozen=True, slots=True)
class At:
    """An instant as it was asked for: so long after the beginning, or by the wall clock."""

    text: str
    since_ms: int | None = None
    wall: datetime | None = None

    @classmethod
    def read(cls, text: str) -> At:
        """``+H:MM:SS``, or local time as in ISO 8601; raises ``NoTimeError``."""
        if match := _SINCE.fullmatch(text):
            hours, minutes, seconds = map(int, match.groups())
            return cls(text, since_ms=((hours * 60 + minutes) * 60 + seconds) * 1000)
        try:
            return cls(text, wall=datetime.fromisoformat(text))
        except ValueError:
            raise NoTimeError(text) from None

    def moment(self, first: Moment, near: Moment, zone: ZoneInfo) -> Moment | None:
        """The instant by the clocks at ``near``; ``None`` where no wall clock was known there."""
        if self.since_ms is not None:
            return near.at(first.ms + self.since_ms)
        if near.wall_ms is None or self.wall is None:
            return None
        wall = self.wall if self.wall.tzinfo else self.wall.replace(tzinfo=zone)
        return near.at(near.ms + _milliseconds(wall) - near.wall_ms)


def _milliseconds(wall: datetime) -> int:
    return (wall - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(milliseconds=1)
