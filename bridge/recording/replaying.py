"""The same engine over recorded events: what segments showed, and whether the same came of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from bridge.engine.actions import Action, Note
from bridge.engine.core import Core
from bridge.engine.events import Due, Event, Settings
from bridge.engine.site import Site
from bridge.engine.view import SegmentView, View
from bridge.facts.moment import Moment
from bridge.recording.lines import ActionsDigest, CutOff, Entry, Head, Mark, Occurred


@dataclass(frozen=True, slots=True)
class Decided:
    """From now on a segment shows this."""

    at: Moment
    segment: str
    printer: str
    rule: str
    scene: str
    because: str

    @classmethod
    def of(cls, view: SegmentView, at: Moment) -> Decided:
        """What a picture says of a segment."""
        return cls(at, view.name, view.printer, view.rule, view.scene, view.because)


class Verdict(Enum):
    """Whether the recorded actions came again."""

    IDENTICAL = "identical"
    DIFFERENT = "different"
    #: The recording begins in the middle, or has no mark.
    NOT_COMPARABLE = "not comparable"


def has_decided(actions: Iterable[Action]) -> bool:
    """Whether any segment may show something else: a whole picture a message is dear."""
    return any(isinstance(action, Note) and action.event == "decided" for action in actions)


class About:
    """What a recording is, apart from what comes of it: gathered as its lines go by."""

    def __init__(self) -> None:
        self.site: Site | None = None
        self.head: Head | None = None
        self.first: Moment | None = None
        self.last: Moment | None = None
        self.is_cut_off = False
        self.events = 0

    def take(self, entry: Entry) -> None:
        """The next line."""
        match entry:
            case Occurred(event, moment):
                self.first, self.last = self.first or moment, moment
                self.events += 1
                if isinstance(event, Settings):
                    self.site = event.site
            case Head():
                self.head = self.head or entry
            case CutOff():
                self.is_cut_off = True
            case Mark():
                pass

    @property
    def lasted_ms(self) -> int:
        """From the first event to the last."""
        return self.last.ms - self.first.ms if self.first and self.last else 0

    @property
    def part(self) -> int:
        """Which part it begins with; every one but the first begins in the middle."""
        return 1 if self.head is None else self.head.part


class Replay:
    """Feeds a core with what a recording holds."""

    def __init__(self) -> None:
        self.about = About()
        #: Marks that were met, and the first that differs.
        self.marks = 0
        self.first_different: Mark | None = None
        self._core = Core()
        self._digest = ActionsDigest()
        self._shown: dict[str, tuple[str, str, str]] = {}

    def take(self, entry: Entry) -> tuple[Decided, ...]:
        """The next line; what segments show from now on."""
        self.about.take(entry)
        match entry:
            case Occurred(event, moment):
                return self._occurred(event, moment)
            case Mark():
                self._compare(entry)
            case Head() | CutOff():
                pass
        return ()

    def view_at(self, moment: Moment) -> View:
        """What was known and shown at an instant, nothing more having happened until then."""
        self._core.handle(Due(), moment)
        return self._core.view()

    @property
    def verdict(self) -> Verdict:
        """Of all marks so far."""
        if not self._is_whole or not self.marks:
            return Verdict.NOT_COMPARABLE
        return Verdict.IDENTICAL if self.first_different is None else Verdict.DIFFERENT

    @property
    def _is_whole(self) -> bool:
        return self.about.head is not None and self.about.part == 1

    def _occurred(self, event: Event, moment: Moment) -> tuple[Decided, ...]:
        actions = self._core.handle(event, moment)
        self._digest.take(actions)
        if isinstance(event, Settings) or has_decided(actions):
            return tuple(self._changes(moment))
        return ()

    def _changes(self, moment: Moment) -> Iterable[Decided]:
        for name, segment in self._core.view().segments.items():
            shown = segment.printer, segment.rule, segment.scene
            if self._shown.get(name) != shown:
                self._shown[name] = shown
                yield Decided.of(segment, moment)

    def _compare(self, mark: Mark) -> None:
        self.marks += 1
        if self._is_whole and self.first_different is None and mark != self._digest.mark():
            self.first_different = mark
