"""What a core needs to begin in the middle of a recording: the start lines of a new part."""

from __future__ import annotations

from collections.abc import Iterable

from bridge.engine.actions import Action, Record
from bridge.engine.events import Event, Restored, Settings, SourceLost, SourceUp, Started
from bridge.engine.records import Happening, StateRecord, key_of
from bridge.facts.moment import Moment


class Beginning:
    """Follows a recording; ``events`` begin one that goes on from here.

    They have the settings, the last record of every state, and which sources are up. What printers
    said is not in them, nor what controllers are known to show.
    """

    def __init__(self) -> None:
        self.seed = ""
        self._restored: Restored | None = None
        self._settings: Settings | None = None
        self._records: dict[tuple[str, str, str], StateRecord] = {}
        self._up: dict[str, SourceUp] = {}

    def take(self, event: Event, actions: Iterable[Action]) -> None:
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
                self._up[source] = event
            case SourceLost(source):
                self._up.pop(source, None)
            case _:
                pass
        for action in actions:
            if isinstance(action, Record) and not isinstance(action.what, Happening):
                self._records[key_of(action.what)] = action.what

    def events(self, part: int, now: Moment) -> list[Event]:
        """To be fed before whatever comes next; none where there are no settings yet.

        The seed is another one, for occurrences are named with it and counted anew.
        """
        if self._settings is None:
            return []
        begun: list[Event] = [Started(f"{self.seed}.{part}")]
        if self._restored is not None:
            records = tuple(self._records[key] for key in sorted(self._records))
            begun.append(Restored(records, now.wall_ms))
        return [*begun, self._settings, *(self._up[name] for name in sorted(self._up))]
