"""The judge of I4: what persons wish, what is recorded and answered, and what crosses a start.

It shares no code with the bridge: it knows the shapes of wishes, and of a record only its key.
What a record must hold is what the plain models hold when it is issued, so that a start is judged
by them and never by what the bridge wrote.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

from bridge.engine import wishes
from bridge.engine.events import NotRecorded, Recorded, Wished
from bridge.engine.view import AlarmView, PromptView, View
from tests.campaign.alarms import QUIET, UNSEEN, Life, Now
from tests.campaign.holds import Holds
from tests.campaign.minds import Mind
from tests.campaign.past import Part
from tests.campaign.sites import PRINTERS, Strip

#: Kind and two names, as the journal has it.
Key: TypeAlias = tuple[str, str, str]
#: "The answer waits for `Recorded`", but no longer than this.
ANSWER_MS: Final = 5000


class BrokenPromiseError(Exception):
    """A promise was broken: which, and how."""

    def __init__(self, promise: str, how: str) -> None:
        super().__init__(f"{promise}: {how}")
        self.promise = promise


@dataclass(eq=False)
class Asked:
    """One wish under way."""

    token: str
    waits: int = 0
    kept: bool = True


@dataclass
class Waiting:
    """A wish's record; ``confirm`` lets it show."""

    asked: Asked
    key: Key
    confirm: Callable[[], None]
    due: int


class Ledger:
    """Everything of a site that has a life of its own, and how it is kept."""

    def __init__(self, strips: tuple[Strip, ...]) -> None:
        self._strips = strips
        self._disk: dict[Key, Any] = {}
        self._names: set[str] = set()
        self._forget()

    def _forget(self) -> None:
        self.minds = {name: Mind(name) for name in PRINTERS}
        minds = self.minds.values()
        self.lives = [life for mind in minds for life in mind.lives.values()]
        self.parts = [mind.part for mind in minds if mind.part is not None]
        self.holds = Holds(self._strips)
        self._issued: dict[Key, list[tuple[int, Any]]] = {}
        self._waiting: dict[int, Waiting] = {}
        self._unbound: list[Waiting] = []
        self._failing = self._anew = False
        self._expected: dict[str, tuple[bool, bool]] = {}
        self._calm()

    def _calm(self) -> None:
        """Before every event: nothing was done yet."""
        self._recorded: dict[Key, list[int]] = {}
        self._told: dict[str, tuple[bool, bool]] = {}
        self._raised: dict[Key, list[str]] = {}
        self._called: list[str] = []
        self._expected, self._anew = {}, False

    # Starts and ends

    def began(self, heard_until: int | None, now: Now, *, keeps: bool) -> None:
        """A bridge begins, with what survived."""
        self._forget()
        self._keeps = keeps
        if not keeps:
            self._disk = {}
            return
        for (kind, name, printer), record in self._disk.items():
            if kind == "hold":
                self.holds.restore(name, record, now)
            elif kind == "memory":
                self.minds[name].past.restore(record, now)
            elif kind == "prompt":
                part = self.minds[printer].part
                if part is not None:
                    part.restore(record)
            else:
                self.minds[printer].lives[name].restore(record, heard_until, now)

    def ended(self, survives: Callable[[int], bool]) -> None:
        """It is no more: of each thing the last record that survives is what it was."""
        for key, records in self._issued.items():
            kept = [record for number, record in records if survives(number)]
            if kept:
                self._disk[key] = kept[-1]

    # Time

    def settle(self, now: Now) -> None:
        """What happens by itself."""
        for mind in self.minds.values():
            mind.settle(now)
        self.holds.settle(now)
        for number, waiting in list(self._waiting.items()):
            if waiting.due <= now.ms:
                self._failing = True
                self._confirm(number, kept=False)

    def dues(self) -> Iterator[int]:
        """When; some may be past."""
        for mind in self.minds.values():
            yield from mind.dues()
        if (ends := self.holds.due()) is not None:
            yield ends
        yield from (waiting.due for waiting in (*self._waiting.values(), *self._unbound))

    def clock(self, now: Now) -> None:
        """The wall clock became known or was stepped."""
        for mind in self.minds.values():
            mind.clock(now)
        self.holds.clock(now)

    # Wishes and answers

    def wished(self, event: Wished, now: Now) -> None:
        """A person wishes something: what must come of it."""
        asked = Asked(event.token)
        taken = self._take(event.wish, asked, now)
        if not asked.waits or not taken:
            self._expected[asked.token] = (taken, False)

    def _take(self, wish: wishes.Wish, asked: Asked, now: Now) -> bool:
        taken: list[bool] = []
        match wish:
            case wishes.Acknowledge(occurrence) | wishes.Reset(occurrence):
                found = [each for each in self.lives if each.occurrence == occurrence]
                taken = [self._signal(type(wish).__name__, each, asked, now) for each in found]
            case wishes.Collected(occurrence):
                parts = [each for each in self.parts if each.occurrence == occurrence]
                taken = [self._collect(each, asked, now) for each in parts]
            case wishes.Press(what, printers):
                taken = self._press(what.capitalize(), printers, asked, now)
            case wishes.Hold(segments, scene, for_ms):
                if self.holds.hold(segments, scene, for_ms, asked, now):
                    taken = [self._wait_hold(name, asked, now) for name in segments]
            case wishes.Release(segments):
                freed = [name for name in segments if self.holds.release(name)]
                taken = [self._wait_hold(name, asked, now) for name in freed]
            case _:
                life = self.minds[wish.printer].lives.get(wish.alarm)
                return life is not None and self._overlay(wish, life, asked, now)
        return any(taken)

    def _overlay(self, wish: wishes.Wish, life: Life, asked: Asked, now: Now) -> bool:
        match wish:
            case wishes.Shelve(for_ms=for_ms):
                taken = life.shelve(asked, for_ms, now)
            case wishes.Unshelve():
                taken = life.unshelve()
            case wishes.OutOfService():
                taken = life.take_out(asked)
            case _:
                taken = life.put_back()
        return taken and self._wait_life(life, asked, now)

    def _press(self, what: str, printers: tuple[str, ...], asked: Asked, now: Now) -> list[bool]:
        """A button "means those that stand now"."""
        if what == "Collected":
            waits = [part for part in self.parts if part.occurrence is not None]
            return [self._collect(part, asked, now) for part in waits if part.printer in printers]
        meant = UNSEEN if what == "Acknowledge" else {"latched"}
        stands = [
            life
            for life in self.lives
            if life.printer in printers and life.state in meant and (life.symbol or "") not in QUIET
        ]
        return [self._signal(what, life, asked, now) for life in stands]

    def _signal(self, what: str, life: Life, asked: Asked, now: Now) -> bool:
        taken = life.acknowledge(asked, now) if what == "Acknowledge" else life.reset(asked)
        return taken and self._wait_life(life, asked, now)

    def _collect(self, part: Part, asked: Asked, now: Now) -> bool:
        part.collect(asked)
        return self._wait(
            ("prompt", "fetch", part.printer), lambda: part.confirm(asked), asked, now
        )

    def _wait_life(self, life: Life, asked: Asked, now: Now) -> bool:
        key = ("alarm", life.alarm.name, life.printer)
        return self._wait(key, lambda: life.confirm(asked), asked, now)

    def _wait_hold(self, name: str, asked: Asked, now: Now) -> bool:
        return self._wait(("hold", name, ""), lambda: self.holds.confirm(name, asked), asked, now)

    def _wait(self, key: Key, confirm: Callable[[], None], asked: Asked, now: Now) -> bool:
        if self._keeps:
            asked.waits += 1
            self._unbound.append(Waiting(asked, key, confirm, now.ms + ANSWER_MS))
        else:
            confirm()
        return True

    def journal(self, event: Recorded | NotRecorded) -> None:
        """The journal answers."""
        if isinstance(event, NotRecorded):
            self._failing = True
            self._confirm(event.number, kept=False)
            return
        for number in [each for each in self._waiting if each <= event.number]:
            self._confirm(number, kept=True)
        self._anew, self._failing = self._failing, False

    def _confirm(self, number: int, *, kept: bool) -> None:
        waiting = self._waiting.pop(number, None)
        if waiting is None:
            return
        waiting.confirm()
        asked = waiting.asked
        asked.waits, asked.kept = asked.waits - 1, asked.kept and kept
        if not asked.waits:
            self._expected[asked.token] = (True, asked.kept)

    # What the bridge does

    def recorded(self, key: Key, number: int) -> None:
        """It issues a record."""
        self._recorded.setdefault(key, []).append(number)

    def told(self, token: str, *, taken: bool, kept: bool) -> None:
        """It answers a wish."""
        if token in self._told:
            raise BrokenPromiseError("I4", f"{token} is answered twice")
        self._told[token] = (taken, kept)

    def raised(self, key: Key, occurrence: str) -> None:
        """It names what it raised."""
        self._raised.setdefault(key, []).append(occurrence)

    def called(self, printer: str) -> None:
        """It publishes that nobody acknowledged."""
        self._called.append(printer)

    def handled(self, now: Now) -> None:
        """It is done, and has recorded, named and answered what it must, and nothing else."""
        self._check_names()
        self._check_records(now)
        if self._told != self._expected:
            how = f"answered {self._told}, not {self._expected} (taken, kept)"
            raise BrokenPromiseError("I4", how)
        self._calm()

    def _check_names(self) -> None:
        calls = Counter[str]()
        for life in self.lives:
            self._check_name(("alarm", life.alarm.name, life.printer), life)
            if life.calls:
                calls[life.printer] += life.calls
                life.calls = 0
        for part in self.parts:
            self._check_name(("prompt", "fetch", part.printer), part)
        if Counter(self._called) != calls:
            raise BrokenPromiseError("I3", f"called for {self._called}, not {calls}")

    def _check_name(self, key: Key, subject: Life | Part) -> None:
        names = self._raised.get(key, [])
        if subject.raises != len(names):
            raise BrokenPromiseError(
                "I3", f"{key} is raised as {names}, not {subject.raises} times"
            )
        subject.raises = 0
        if not names:
            return
        # "An occurrence is named with the start's seed": no two are ever the same.
        if subject.occurrence == "":
            if names[-1] in self._names:
                raise BrokenPromiseError("I4", f"{names[-1]} names a second occurrence")
            subject.occurrence = names[-1]
        elif subject.occurrence not in {None, names[-1]}:
            raise BrokenPromiseError("I4", f"{key} is {names[-1]}, not {subject.occurrence}")
        self._names.update(names)

    def _check_records(self, now: Now) -> None:
        """With each change there is one: "the machine advances when the record is issued"."""
        if not self._keeps:
            return
        for key, subject, must in self._subjects():
            numbers = self._recorded.get(key)
            if numbers is None and must:
                raise BrokenPromiseError("I4", f"{key} changed, and that is not recorded")
            if numbers is not None:
                kept = self.holds.keep(key[1]) if subject is None else subject.keep(now)
                self._issued.setdefault(key, []).append((numbers[-1], kept))
        for waiting in self._unbound:
            # Its own comes first; what it made due at once comes after it.
            self._waiting[self._recorded[waiting.key][0]] = waiting
        self._unbound.clear()

    def _subjects(self) -> Iterator[tuple[Key, Any, bool]]:
        """Key, model, and whether it must be recorded now."""
        # "When writing works again, every state that is not normal is recorded anew."
        anew = self._anew
        for life in self.lives:
            must, life.news = life.news or (anew and not life.is_normal), False
            yield ("alarm", life.alarm.name, life.printer), life, must
        for part in self.parts:
            must, part.news = part.news or (anew and not part.is_normal), False
            yield ("prompt", "fetch", part.printer), part, must
        for printer, mind in self.minds.items():
            past = mind.past
            must, past.news = past.news or anew, False
            yield ("memory", printer, ""), past, must
        news, self.holds.news = self.holds.news, set()
        for strip in self._strips:
            must = strip.name in news or (anew and strip.name in self.holds.held)
            yield ("hold", strip.name, ""), None, must

    def viewed(self, view: View) -> None:
        """A picture of the bridge's: the same as here, also of what no lamp shows."""
        views: list[AlarmView | PromptView] = [*view.alarms, *view.prompts]
        for each in views:
            how = self.minds[each.printer].differs(each)
            if how:
                raise BrokenPromiseError("I4", how)
        theirs = {hold.segment: hold.scene for hold in view.holds}
        ours = {name: hold.scene for name, hold in self.holds.held.items()}
        if theirs != ours:
            raise BrokenPromiseError("I4", f"held are {theirs}, not {ours}")
