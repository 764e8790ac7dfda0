"""What a core needs to begin in the middle of a recording: the start lines of a new part."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from bridge.engine.actions import Action, Record
from bridge.engine.events import Event, Heard, Restored, Settings, SourceLost, SourceUp, Started
from bridge.engine.records import Happening, StateRecord, key_of
from bridge.facts.moment import Moment
from bridge.recording.lines import Occurred

#: How much of what was said is kept for a new part, in bytes, where nothing else is said.
USUAL_ROOM: Final = 1_000_000
#: A new part begins so long before its first line at most: what was restored is told as of then.
LOOK_BACK_MS: Final = 10 * 60 * 1000


class Beginning:
    """Follows a recording; ``events`` begin one that goes on from here.

    They have the settings, the last record of every state, which sources are up, and the last
    message of each address, at its own time, so that what is old is old (but no older than
    ``LOOK_BACK_MS``). Messages before those are
    not in them, nor what controllers are known to show. The largest messages are left out where
    all together have more than ``room_bytes``.
    """

    def __init__(self, room_bytes: int = USUAL_ROOM) -> None:
        self.seed = ""
        self._room = room_bytes
        self._restored: Restored | None = None
        self._settings: Settings | None = None
        self._records: dict[tuple[str, str, str], StateRecord] = {}
        self._up: dict[str, Occurred] = {}
        #: By source and address, the last message, and after it the last "unchanged".
        self._said: dict[tuple[str, str], tuple[Occurred, ...]] = {}
        self._bytes = 0

    def take(self, event: Event, moment: Moment, actions: Iterable[Action]) -> None:
        """One more event, and what came of it."""
        match event:
            case Started(seed):
                self.seed = seed
            case Restored(records):
                self._restored = event
                self._records = {key_of(record): record for record in records}
            case Settings():
                self._settings = event
            case SourceUp(source):
                self._up[source] = Occurred(event, moment)
            case SourceLost(source):
                self._up.pop(source, None)
                for key in [key for key in self._said if key[0] == source]:
                    self._forget(key)
            case Heard():
                self._heard(event, moment)
            case _:
                pass
        for action in actions:
            if isinstance(action, Record) and not isinstance(action.what, Happening):
                self._records[key_of(action.what)] = action.what

    def events(self, part: int, now: Moment) -> list[Occurred]:
        """To be fed before whatever comes next; none where there are no settings yet.

        The seed is another one, for occurrences are named with it and counted anew.
        """
        if self._settings is None:
            return []
        kept = [*self._up.values(), *(each for said in self._said.values() for each in said)]
        kept.sort(key=lambda each: each.moment.ms)
        at = kept[0].moment if kept else now
        if at.ms < now.ms - LOOK_BACK_MS:
            at = now.at(now.ms - LOOK_BACK_MS)
        begun: list[Event] = [Started(f"{self.seed}.{part}")]
        if self._restored is not None:
            records = tuple(self._records[key] for key in sorted(self._records))
            begun.append(Restored(records, at.wall_ms))
        begun.append(self._settings)
        late = (each if each.moment.ms >= at.ms else Occurred(each.event, at) for each in kept)
        return [*(Occurred(event, at) for event in begun), *late]

    def _heard(self, event: Heard, moment: Moment) -> None:
        key = event.source, event.address
        if event.body is None:
            if key in self._said:
                self._said[key] = (self._said[key][0], Occurred(event, moment))
            return
        self._forget(key)
        self._said[key] = (Occurred(event, moment),)
        self._bytes += _size(event)
        while self._bytes > self._room:
            self._forget(max(self._said, key=lambda key: _size(self._said[key][0].event)))

    def _forget(self, key: tuple[str, str]) -> None:
        for each in self._said.pop(key, ())[:1]:
            self._bytes -= _size(each.event)


def _size(event: Event) -> int:
    if not isinstance(event, Heard):
        return 0
    return len(event.address) + len(event.body or b"")
