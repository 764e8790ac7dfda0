"""What each segment should show: its table for each of its printers, alarms it carries, holds.

On a segment an unacknowledged alarm comes first, its own or a carried one, then a hold, then its
table, then its resting scene.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from bridge.engine.actions import Note, Scalar
from bridge.engine.agenda import Agenda
from bridge.engine.dimming import Dimming
from bridge.engine.holding import Holding
from bridge.engine.keeping import Keeping
from bridge.engine.leaving import off_watch_look, telling_segments
from bridge.engine.mind import Mind
from bridge.engine.powering import Powering
from bridge.engine.records import Happening
from bridge.engine.site import Segment, Site, facts_read, scene_on, segments_named
from bridge.facts.moment import Moment
from bridge.facts.vocabulary import gravity
from bridge.lights.desire import Chosen, Kept, choose_look, choose_mark, choose_split
from bridge.lights.desired import Desired
from bridge.lights.look import Look
from bridge.rules.alarming import AlarmMachine
from bridge.rules.decision import Decision, decide
from bridge.rules.sharing import Standing, Turn, began_with, turn_at, turns, worst
from bridge.rules.table import STANDS, UNSEEN, Row, Table
from bridge.scenes.parts import shares
from bridge.scenes.scene import HAND_BACK, Scene
from bridge.scenes.variants import variant


@dataclass(slots=True)
class Judged:
    """What a segment's table decides for one of its printers, and since when it stands so."""

    decision: Decision
    standing: Standing


@dataclass(slots=True)
class Shown:
    """What a segment shows by decision.

    ``printer`` is the one it speaks of, empty where it speaks of none; ``judged`` is ``None`` for
    what no table decided; ``why`` says why then.
    """

    scene: Scene
    chosen: Chosen
    since_ms: int
    printer: str = ""
    judged: Judged | None = None
    why: str = ""


class _Said(NamedTuple):
    """One thing that a segment says, of a printer or of none; ``why`` where no row decided it."""

    scene: Scene
    printer: str
    row: Row | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class _Choice:
    """What a segment shows now; ``says``: all that it says, the other shares and turns too."""

    scene: Scene
    chosen: Chosen
    says: tuple[_Said, ...]
    printer: str = ""
    judged: Judged | None = None
    why: str = ""
    #: The alarm that it carries.
    carries: AlarmMachine | None = None
    #: Where it is shared out, each scene with its pixels.
    parts: tuple[tuple[Scene, int], ...] = ()


_AT_REST: Final = "its resting scene"


class Deciding:
    """The decisions about a site's segments. Mutable; owned by the core."""

    def __init__(
        self,
        site: Site,
        minds: Mapping[str, Mind],
        holding: Holding,
        powering: Powering,
        agenda: Agenda,
        keeping: Keeping,
    ) -> None:
        self.counts: Counter[str] = Counter()
        self.shown: dict[str, Shown] = {}
        self._site, self._agenda = site, agenda
        self._dimming = Dimming(site)
        self._minds, self._holding = minds, holding
        self._powering, self._keeping = powering, keeping
        self._showing = powering.showing
        self._judged: dict[str, dict[str, Judged]] = {name: {} for name in site.segments}
        self._segments_of: dict[str, tuple[Segment, ...]] = {
            name: tuple(
                each for each in site.segments.values() if name in each.printers and each.table
            )
            for name in site.printers
        }
        self._columns = {name: facts_read(site, table) for name, table in site.tables.items()}
        self._carried = _carried(site, minds)
        self._carriers: dict[str, list[str]] = {}
        for segment, alarms in self._carried.items():
            for printer in dict.fromkeys(carried.alarm.printer for carried in alarms):
                self._carriers.setdefault(printer, []).append(segment)
        self._turns_since: dict[str, tuple[tuple[tuple[str, int], ...], int]] = {}
        self._said: dict[str, tuple[_Said, ...]] = {}
        #: Nobody watches any more; what is still answered then decides nothing.
        self._has_left = False
        #: What each segment rests in at this time of day.
        self._resting = {name: segment.resting for name, segment in site.segments.items()}
        #: What a segment shows that is handed back, where nothing can be given back.
        self._handed_back = {
            (name, resting): scene_on(site, replace(segment, resting=resting), HAND_BACK)
            for name, segment in site.segments.items()
            for resting in {segment.resting, *(scene for _, scene in segment.resting_by_day)}
        }

    def start(self, now: Moment) -> None:
        """Every segment is decided once, from what is known: nothing yet, but what was kept."""
        for segment in self._site.segments.values():
            for printer in segment.printers:
                if segment.table is not None:
                    self._judge(segment, self._site.tables[segment.table], printer, now)
            self.choose(segment.name, now)

    def changed(self, mind: Mind, names: set[str], now: Moment) -> None:
        """Facts of a printer changed: decide again where a table or a scene reads them."""
        for segment in self._segments_of[mind.name]:
            table = segment.table
            if table is not None and not names.isdisjoint(self._columns[table]):
                self._judge(segment, self._site.tables[table], mind.name, now)
                self._choose(segment, now)
        for name in self._carriers.get(mind.name, ()):
            self.choose(name, now)

    def choose(self, name: str, now: Moment) -> None:
        """See anew what a segment shows: a hold, a carried alarm or its turn changed."""
        self._choose(self._site.segments[name], now)

    def time_of_day(self, now: Moment) -> None:
        """A time came at which something is dimmed, or rests otherwise."""
        for segment in self._site.segments.values():
            self._choose(segment, now)

    def next_time_ms(self, now: Moment) -> int | None:
        """When the next such time comes."""
        return self._dimming.next_ms(now)

    def dimmed_by(self, segment: Segment, now: Moment) -> str:
        """In words, by which quiet hours it is dimmed now; empty where by none."""
        shown = self.shown[segment.name]
        row = shown.judged.decision.row if shown.judged is not None else None
        is_alarm = row is not None and row.alarm is not None
        return self._dimming.words(segment, shown.scene, is_alarm=is_alarm, now=now)

    def leave(self, now: Moment) -> None:
        """Every segment that tells of a printer goes off watch, but what is somebody else's."""
        self._has_left = True
        for segment in telling_segments(self._site):
            look = off_watch_look(self._site, segment, self._showing.dialect_of(segment))
            if look is None or self._showing.is_left_alone(segment):
                continue
            scene = self._site.scenes[self._site.off_watch]
            desired = Desired(look, gravity(scene.says))
            self._powering.desire(segment, desired, ((scene, segment.place.length),), now.ms)

    def _judge(self, segment: Segment, table: Table, printer: str, now: Moment) -> None:
        mind = self._minds[printer]
        decision = decide(table, mind.facts, mind.offered)
        self.counts["decisions"] += 1
        before = self._judged[segment.name].get(printer)
        if before is not None and before.decision.position == decision.position:
            alarm = decision.row.alarm
            if alarm is None or before.standing.active == _is_active(mind, alarm):
                before.decision = decision
                return
        self._judged[segment.name][printer] = Judged(decision, _standing(mind, decision, now))

    def _choose(self, segment: Segment, now: Moment) -> None:
        if self._has_left:
            return
        self._resting[segment.name] = self._dimming.resting(segment, now)
        choice = self._choice(segment, now)
        before = self.shown.get(segment.name)
        if before is None or before.scene is not choice.scene:
            self.shown[segment.name] = Shown(
                choice.scene, choice.chosen, now.ms, choice.printer, choice.judged, choice.why
            )
            self._tell_lost(segment, choice)
        else:
            before.chosen, before.printer = choice.chosen, choice.printer
            before.judged, before.why = choice.judged, choice.why
        said = self._said.get(segment.name)
        if said != choice.says:
            self._said[segment.name] = choice.says
            self._tell(segment, said or (), choice.says, now)
        if choice.chosen.look is not None:
            desired = _desired(choice, choice.chosen.look)
            parts = choice.parts or ((choice.scene, segment.place.length),)
            self._powering.desire(segment, desired, parts, now.ms)

    def _tell(
        self, segment: Segment, before: tuple[_Said, ...], says: tuple[_Said, ...], now: Moment
    ) -> None:
        """Tell what is new; where something only went, what is left."""
        if not before and says[0].why == _AT_REST:
            return  # from the start
        for said in [each for each in says if each not in before] or says:
            self._tell_one(segment, said, now)

    def _tell_one(self, segment: Segment, said: _Said, now: Moment) -> None:
        rule, because = said.row.name if said.row else "", self._because(segment, said)
        fields: dict[str, Scalar] = {"segment": segment.name}
        if said.printer:
            fields["printer"] = said.printer
        fields |= {"rule": rule, "scene": said.scene.name, "because": because}
        self._keeping.emit(Note("info", "decided", fields))
        self._keeping.happened(
            Happening(
                "segment",
                said.scene.name,
                now.wall_ms,
                printer=said.printer,
                segment=segment.name,
                name=rule,
                cause=because,
            )
        )

    def _because(self, segment: Segment, said: _Said) -> str:
        if said.row is None:
            return said.why
        judged = self._judged[segment.name][said.printer]
        return judged.decision.because(self._minds[said.printer].facts)

    def _tell_lost(self, segment: Segment, choice: _Choice) -> None:
        if choice.chosen.kept is not Kept.WHOLE:
            fields = {
                "segment": segment.name,
                "scene": choice.scene.name,
                "why": choice.chosen.kept.value,
            }
            self._keeping.emit(Note("debug", "scene not shown as written", fields))

    # What comes before what

    def _choice(self, segment: Segment, now: Moment) -> _Choice:
        judged = self._judged[segment.name]
        first = self._worst(segment, judged) if judged else None
        is_new = first is not None and first.standing.unacknowledged
        alarm = None if is_new else self._carried_alarm(segment, unseen=True)
        if alarm is not None:
            return self._carrying(segment, alarm, now)
        held = None if is_new else self._holding.scene(segment.name)
        if held is not None:
            self._agenda.set("turn", segment.name, None)
            return self._plain(segment, self._site.scenes[held], "it is held", now)
        if first is not None:
            return self._by_table(segment, judged, first, now)
        alarm = self._carried_alarm(segment, unseen=False)
        if alarm is not None:
            return self._carrying(segment, alarm, now)
        resting = self._site.scenes[self._resting[segment.name]]
        return self._plain(segment, resting, _AT_REST, now)

    def _worst(self, segment: Segment, judged: Mapping[str, Judged]) -> Judged:
        if len(judged) == 1:
            return next(iter(judged.values()))
        table = self._site.tables[segment.table or ""]
        return judged[worst(table, (each.standing for each in judged.values())).printer]

    def _by_table(
        self, segment: Segment, judged: Mapping[str, Judged], first: Judged, now: Moment
    ) -> _Choice:
        if len(judged) > 1 and segment.share == "split":
            choice = self._split(segment, judged, first, now)
            if choice is not None:
                return choice
        if len(judged) > 1 and segment.share == "rotate":
            choice = self._rotated(segment, judged, now)
            if choice is not None:
                return choice
        return self._of(segment, first, now)

    def _of(self, segment: Segment, judged: Judged, now: Moment) -> _Choice:
        standing = judged.standing
        mind = self._minds[standing.printer]
        scene = self._scene(segment, mind, standing.row)
        shown = self._dimmed(segment, scene, standing.row, now)
        chosen = choose_look(shown, self._showing.dialect_of(segment), segment.place, mind.facts)
        says = (_Said(scene, standing.printer, standing.row),)
        return _Choice(scene, chosen, says, standing.printer, judged)

    def _dimmed(self, segment: Segment, scene: Scene, row: Row, now: Moment) -> Scene:
        """As bright and warm as it is at this time of day; what it is called stays."""
        return self._dimming.scene(segment, scene, is_alarm=row.alarm is not None, now=now)

    def _said_of(self, segment: Segment, standings: Iterable[Standing]) -> tuple[_Said, ...]:
        """What each of these printers has to say, in its share or its turn."""
        return tuple(
            _Said(self._scene(segment, self._minds[each.printer], each.row), each.printer, each.row)
            for each in standings
        )

    def _scene(self, segment: Segment, mind: Mind, row: Row) -> Scene:
        if row.show == HAND_BACK:
            return self._handed_back[segment.name, self._resting[segment.name]]
        scene = self._site.scenes[row.show]
        alarm = mind.alarms.get(row.alarm) if row.alarm is not None else None
        return scene if alarm is None else variant(scene, alarm.look())

    def _split(
        self, segment: Segment, judged: Mapping[str, Judged], first: Judged, now: Moment
    ) -> _Choice | None:
        parts = [
            (
                self._dimmed(
                    segment,
                    self._scene(segment, self._minds[name], judged[name].standing.row),
                    judged[name].standing.row,
                    now,
                ),
                self._minds[name].facts,
            )
            for name in segment.printers
        ]
        chosen = choose_split(parts, self._showing.dialect_of(segment), segment.place)
        if chosen.look is None:
            return None
        scene = self._scene(segment, self._minds[first.standing.printer], first.standing.row)
        says = self._said_of(segment, (judged[name].standing for name in segment.printers))
        counts = shares(segment.place.length, len(parts))
        of = tuple((part, pixels) for (part, _), pixels in zip(parts, counts, strict=True))
        return _Choice(scene, chosen, says, first.standing.printer, first, parts=of)

    def _rotated(
        self, segment: Segment, judged: Mapping[str, Judged], now: Moment
    ) -> _Choice | None:
        place, dialect = segment.place, self._showing.dialect_of(segment)
        marks = {
            name: choose_mark(number, len(segment.printers), dialect, place)
            for number, name in enumerate(segment.printers, start=1)
        }
        if any(mark.look is None for mark in marks.values()):
            return None  # nobody could tell whose turn it is
        taking = turns(each.standing for each in judged.values())
        turn = self._turn(segment, taking, now)
        judge = judged[taking[turn.index].printer]
        says = self._said_of(segment, taking)  # not each turn is news
        if turn.showing == "scene":
            return replace(self._of(segment, judge, now), says=says)
        mind = self._minds[judge.standing.printer]
        scene = self._scene(segment, mind, judge.standing.row)
        return _Choice(scene, marks[mind.name], says, mind.name, judge)

    def _turn(self, segment: Segment, taking: tuple[Standing, ...], now: Moment) -> Turn:
        # A new alarm is shown now, also that of a printer which has its turns already.
        who = tuple((each.printer, each.position if each.unacknowledged else 0) for each in taking)
        before = self._turns_since.get(segment.name)
        if before is None or before[0] != who:
            old = before[0] if before is not None else ()
            new = [each for each, its in zip(taking, who, strict=True) if its not in old]
            newest = max(new or taking, key=lambda each: (each.since_ms, each.printer))
            t0_ms = began_with(taking, newest.printer, now.ms, segment.dwell_ms)
            before = self._turns_since[segment.name] = (who, t0_ms)
        turn = turn_at(taking, now.ms, before[1], segment.dwell_ms)
        self._agenda.set("turn", segment.name, turn.until_ms)
        return turn

    def _carried_alarm(self, segment: Segment, *, unseen: bool) -> AlarmMachine | None:
        """The gravest, then oldest, alarm that this segment carries now."""
        states = UNSEEN if unseen else STANDS - UNSEEN
        found = [
            carried.alarm
            for carried in self._carried.get(segment.name, ())
            if carried.is_due and carried.alarm.symbol() in states
        ]
        scenes = self._site.scenes
        return min(
            found,
            key=lambda alarm: (
                -gravity(scenes[alarm.alarm.show].says),
                alarm.raised.ms if alarm.raised is not None and alarm.raised.ms is not None else 0,
                alarm.alarm.name,
                alarm.printer,
            ),
            default=None,
        )

    def _carrying(self, segment: Segment, alarm: AlarmMachine, now: Moment) -> _Choice:
        self._agenda.set("turn", segment.name, None)
        scene = variant(self._site.scenes[alarm.alarm.show], alarm.look())
        inputs = self._minds[alarm.printer].facts
        shown = self._dimming.scene(segment, scene, is_alarm=True, now=now)
        chosen = choose_look(shown, self._showing.dialect_of(segment), segment.place, inputs)
        why = f"it carries the alarm {alarm.alarm.name} of {alarm.printer}"
        says = (_Said(scene, alarm.printer, None, why),)
        return _Choice(scene, chosen, says, alarm.printer, None, why, alarm)

    def _plain(self, segment: Segment, scene: Scene, why: str, now: Moment) -> _Choice:
        shown = self._dimming.scene(segment, scene, is_alarm=False, now=now)
        chosen = choose_look(shown, self._showing.dialect_of(segment), segment.place, {})
        return _Choice(scene, chosen, (_Said(scene, "", None, why),), why=why)


def _desired(choice: _Choice, look: Look) -> Desired:
    if choice.judged is not None:
        row, is_new = choice.judged.decision.row, choice.judged.standing.unacknowledged
        is_alarm, rule = row.alarm is not None, row.name
    else:
        carried = choice.carries
        is_alarm, is_new = carried is not None, carried is not None and carried.symbol() in UNSEEN
        rule = choice.why
    decision = f"{choice.scene.name}, {rule}, {choice.printer}"
    hands_back = choice.scene.name == HAND_BACK
    return Desired(look, gravity(choice.scene.says), is_alarm, is_new, decision, hands_back)


def _is_active(mind: Mind, alarm: str) -> bool:
    machine = mind.alarms.get(alarm)
    return machine is None or machine.is_active


def _standing(mind: Mind, decision: Decision, now: Moment) -> Standing:
    row = decision.row
    active = row.alarm is None or _is_active(mind, row.alarm)
    return Standing(mind.name, decision.position, row, active, now.ms, row.cuts_in)


@dataclass(frozen=True, slots=True)
class _Carried:
    """An alarm that a segment may have to carry: ``always``, else only once it escalated."""

    alarm: AlarmMachine
    always: bool

    @property
    def is_due(self) -> bool:
        return self.always or self.alarm.escalated


def _carried(site: Site, minds: Mapping[str, Mind]) -> dict[str, tuple[_Carried, ...]]:
    """By segment, the alarms that it may have to carry."""
    found: dict[str, list[_Carried]] = {}
    for mind in minds.values():
        for machine in mind.alarms.values():
            always = segments_named(site, machine.alarm.segments)
            escalate = machine.alarm.escalate
            later = segments_named(site, escalate.segments) if escalate is not None else ()
            for name in dict.fromkeys((*always, *later)):
                found.setdefault(name, []).append(_Carried(machine, name in always))
    return {name: tuple(each) for name, each in found.items()}
