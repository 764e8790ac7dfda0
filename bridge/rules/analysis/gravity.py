"""Where something gets graver, or is no longer known, and the light gets milder.

Of reasons it is enough to look at one step: one reason more, or one that turned graver. Along any
way from a milder set to a graver one the scene must get milder at some single step.

Of a fact that is lost nobody can ask that the scene stays as grave as it was: *unknown* is the
honest answer. But a scene that reassures may then not be milder than what was shown before.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bridge.facts.truth import Truth, all_of
from bridge.facts.values import FactValue, Reason, Severity
from bridge.facts.vocabulary import LINK_STATES, STALE, gravity
from bridge.rules.alarm_states import State
from bridge.rules.analysis.axes import LOST, Axis
from bridge.rules.analysis.boxes import Box, Point
from bridge.rules.analysis.deciding import Deciding
from bridge.rules.analysis.space import Place, Space
from bridge.rules.table import ALARM_PREFIX, PROMPT_PREFIX

LINK: Final = "link"
NORMAL: Final = State.NORMAL.value
DOWN: Final = LINK_STATES[1]


@dataclass(frozen=True, slots=True)
class Step:
    """Kinds of reasons (bits) that go and that come, and a reason of each."""

    goes: int
    comes: int
    gone: Reason | None
    come: Reason


@dataclass(frozen=True, slots=True)
class Milder:
    """``shown`` decides after, ``before`` decided before, and says something graver."""

    shown: Place
    before: Place
    from_situation: dict[str, FactValue]
    to_situation: dict[str, FactValue]


@dataclass(frozen=True, slots=True)
class Loss:
    """Facts that are no longer known, or known to be late; ``after`` is what they are then."""

    axes: tuple[int, ...]
    after: tuple[tuple[str, FactValue], ...]


def losses_of(space: Space) -> list[Loss]:
    """Each fact alone, and all of them with the link down."""
    after: dict[int, FactValue] = {}
    for n, axis in enumerate(space.axes):
        value = _when_lost(axis)
        if value is not None:
            after[n] = value
    each = [Loss((n,), ((space.axes[n].fact, value),)) for n, value in after.items()]
    if len(each) < 2:
        return each
    whole = {space.axes[n].fact: value for n, value in after.items()}
    link = space.index_of(LINK)
    if link is not None and DOWN in space.axes[link].values:
        whole[LINK] = DOWN
    return [*each, Loss(tuple(after), tuple(whole.items()))]


def _when_lost(axis: Axis) -> FactValue | None:
    if not axis.counts:
        return None
    if axis.fact == STALE.name:
        return True
    return LOST if axis.unknown else None


def after_loss(space: Space, place: Place, loss: Loss) -> Truth:
    """What the lost facts make of a row, as far as they go."""
    return all_of(_after(space.axes[axis], place, axis, dict(loss.after)) for axis in loss.axes)


def _after(axis: Axis, place: Place, number: int, after: dict[str, FactValue]) -> Truth:
    atom = axis.unknown if axis.reasons else axis.where(after[axis.fact])
    if place.open[number] & atom:
        return Truth.UNKNOWN
    return Truth.TRUE if place.sets[number] & atom else Truth.FALSE


def _blocks(after: Truth, place: Place) -> bool:
    """Whether a row keeps those below from reassuring, where all else of it is true."""
    if after is Truth.FALSE:
        return False
    return after is Truth.UNKNOWN or not place.hopeless


def _is_milder(shown: Place, before: Place) -> bool:
    return gravity(shown.row.says) < gravity(before.row.says)


def _is_moved(box: Box, step: Step) -> bool:
    """Whether a step can change what a row says of the reasons."""
    asked = (*box.clauses, box.refused)
    return any(bool(each & step.goes) != bool(each & step.comes) for each in asked)


def shifted(box: Box, there: int) -> Box | None:
    """What a row asks of the other reasons, when these kinds are there; ``None``: it is false."""
    if box.refused & there:
        return None
    clauses = tuple([clause for clause in box.clauses if not clause & there])
    return Box(box.sets, clauses, box.refused)


def steps_of(space: Space) -> list[Step]:
    """One reason more, warning or error, or a reason that turns into a graver one."""
    kinds = {space.kind_of(space.clauses, each): 1 << n for n, each in enumerate(space.reasons)}
    found = [
        Step(0, 1 << n, None, reason)
        for n, reason in enumerate(space.reasons)
        if reason.severity.value >= Severity.WARNING.value
    ]
    seen: set[tuple[int, int]] = set()
    for mild in space.all_reasons:
        for grave in space.all_reasons:
            if mild.keyword != grave.keyword or mild.severity.value >= grave.severity.value:
                continue
            goes = kinds.get(space.kind_of(space.clauses, mild), 0)
            comes = kinds.get(space.kind_of(space.clauses, grave), 0)
            is_step = goes and goes != comes and grave.severity.value >= Severity.WARNING.value
            if is_step and (goes, comes) not in seen:
                seen.add((goes, comes))
                found.append(Step(goes, comes, mild, grave))
    return found


class Milding:
    """The search for such pairs of rows in one space; it may raise ``UndecidedError``."""

    def __init__(self, deciding: Deciding) -> None:
        self._deciding, self._space = deciding, deciding.space
        space = self._space
        self._regions = [space.region(world, known=True) for world in space.offer.worlds]
        self._places = [each for each in space.places if not each.hopeless]
        self._all = [*self._places, space.otherwise]

    def by_reasons(self) -> Iterator[tuple[Place, Place, Step]]:
        """Pairs (shown after, before) of which a step might lead from one to the other."""
        for step in steps_of(self._space):
            for index, upper in enumerate(self._all):
                if not _is_moved(upper.true, step):
                    continue
                for lower in self._all[index + 1 :]:
                    if _is_milder(upper, lower):
                        yield upper, lower, step
                    elif _is_milder(lower, upper):
                        yield lower, upper, step

    def with_reason(self, shown: Place, before: Place, step: Step) -> Milder | None:
        """A situation in which the step leads from one row to the other."""
        old, new = shifted(before.true, step.goes), shifted(shown.true, step.comes)
        if old is None or new is None:
            return None
        region = old.meet(new)
        region = Box(region.sets, region.clauses, region.refused | step.goes | step.comes)
        if self._is_nowhere(region):
            return None
        boxes = [shifted(each.true, step.goes) for each in self._above(before)]
        boxes += [shifted(each.true, step.comes) for each in self._above(shown)]
        point = self._search(region, [box for box in boxes if box is not None])
        if point is None:
            return None
        gone = () if step.gone is None else (step.gone,)
        return Milder(
            shown,
            before,
            self._space.situation(point, gone),
            self._space.situation(point, (step.come,)),
        )

    def by_loss(self) -> Iterator[tuple[Place, Place, Loss]]:
        """Pairs (shown after, before) of which a loss might lead from one to the other."""
        for loss in losses_of(self._space):
            after = {each.number: after_loss(self._space, each, loss) for each in self._all}
            denied = [each for each in self._all if after[each.number] is Truth.FALSE]
            for shown in self._all:
                if not shown.comfortable or after[shown.number] is not Truth.TRUE:
                    continue
                # Where it does not ask what is lost, it was true before, above what decided.
                asks = any(shown.sets[n] != self._space.axes[n].every for n in loss.axes)
                for before in self._all if asks else denied:
                    # What is unknown above a row keeps it from reassuring; what is false does not.
                    above = shown.number < before.number
                    lost = after[before.number] is Truth.FALSE
                    if _is_milder(shown, before) and (above or lost):
                        yield shown, before, loss

    def with_loss(self, shown: Place, before: Place, loss: Loss) -> Milder | None:
        """A situation in which the loss leads from one row to the other."""
        region = self._normal(before.true.meet(self._wherever(shown, loss)), loss)
        if self._is_nowhere(region):
            return None
        boxes = [each.true for each in self._above(before)]
        boxes += [
            self._wherever(each, loss)
            for each in self._space.places
            if each.number < shown.number and _blocks(after_loss(self._space, each, loss), each)
        ]
        point = self._search(region, boxes)
        if point is None:
            return None
        facts = self._space.situation(point)
        return Milder(shown, before, facts, {**facts, **dict(loss.after)})

    def _wherever(self, place: Place, loss: Loss) -> Box:
        """Where a row is true as far as the facts go that are not lost."""
        frame, box = self._space.frame, place.true
        for axis in loss.axes:
            box = frame.narrowed(box, axis, self._space.axes[axis].every)
            if self._space.axes[axis].reasons:
                box = Box(box.sets)
        return box

    def _normal(self, region: Box, loss: Loss) -> Box:
        """Only an alarm or a prompt that is normal can become unknown: one that stands stays."""
        for number in loss.axes:
            axis = self._space.axes[number]
            if axis.fact.startswith((ALARM_PREFIX, PROMPT_PREFIX)):
                atoms = self._space.frame.atoms(region, number) & axis.where(NORMAL)
                region = self._space.frame.narrowed(region, number, atoms)
        return region

    def _above(self, place: Place) -> list[Place]:
        return [each for each in self._places if each.number < place.number]

    def _is_nowhere(self, region: Box) -> bool:
        return all(self._space.frame.is_empty(region.meet(each)) for each in self._regions)

    def _search(self, region: Box, boxes: list[Box]) -> Point | None:
        self._deciding.budget.begin()
        for world in self._regions:
            found = self._space.frame.hole(region.meet(world), boxes, self._deciding.budget)
            if found is not None:
                return found
        return None
