"""Can a row decide, and in what situation: the matcher's own rule, asked of the whole space."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from bridge.rules.analysis.boxes import Box, Budget, Point, UndecidedError
from bridge.rules.analysis.relations import Relations, rows_in
from bridge.rules.analysis.space import Place, Space
from bridge.rules.analysis.splitting import Splitting

_AT_ONCE: Final = 50


class Deciding:
    """The questions about one space. Each may raise ``UndecidedError``."""

    def __init__(self, space: Space, budget: Budget) -> None:
        self.space, self.budget = space, budget
        self.relations = Relations(space.frame, space.places, space.otherwise.number)
        self.by_number = {place.number: place for place in space.places}
        self._known = [space.region(world, known=True) for world in space.offer.worlds]
        self._whole = [space.region(world) for world in space.offer.worlds]

    def situation(
        self, place: Place, within: Box | None = None, besides: Sequence[Box] = ()
    ) -> Point | None:
        """Where this row decides, ``within`` a box and outside others; ``None``: nowhere."""
        self.budget.begin()
        if place.hopeless:
            return None
        region = place.true if within is None else place.true.meet(within)
        if self.space.frame.is_empty(region):
            return None
        above = [*self._true_above(place), *besides]
        # Most rows decide somewhere with everything known, where no row can be unknown.
        found = self._outside(self._known, region, above)
        return found or self._when_not_known(place, region, besides)

    def anywhere(self, region: Box, boxes: list[Box]) -> Point | None:
        """A situation of the region that lies in none of the boxes."""
        self.budget.begin()
        return self._outside(self._whole, region, boxes)

    def _true_above(self, place: Place) -> list[Box]:
        number = place.number
        meets = self.relations.meets[number] if number < len(self.relations.meets) else -1
        near = meets & self.relations.every & ((1 << number) - 1)
        places = (self.by_number[each] for each in rows_in(near))
        return [each.true for each in places]

    def _when_not_known(self, place: Place, region: Box, besides: Sequence[Box]) -> Point | None:
        if not self.space.may_be_unknown:
            return None
        above = [each for each in self.space.places if each.number < place.number]
        if place.comfortable:
            boxes = [box for each in above for box in blocking(self.space, each)]
            return self._outside(self._whole, region, [*boxes, *besides])
        found = self._outside(self._whole, region, [*_true(above), *besides])
        return found or self._below_an_unsure_row(region, above, besides)

    def _below_an_unsure_row(
        self, region: Box, above: list[Place], besides: Sequence[Box]
    ) -> Point | None:
        """A grave row also decides below a comfortable one that is passed over."""
        if not any(each.comfortable for each in above):
            return None
        for unsure in above:
            self.budget.spend(1 + len(above) // 16)
            for part in unknown_where(self.space, unsure):
                there = region.meet(part)
                if self.space.frame.is_empty(there):
                    continue
                boxes = [*_true(_still_deciding(above, unsure)), *besides]
                found = self._outside(self._whole, there, boxes)
                if found is not None:
                    return found
        return None

    def gap(self) -> Point | None:
        """Where everything that is offered is known, and no row is true."""
        self.budget.begin()
        return self._split(self._known, self._that_ask())

    def gap_of_unknown(self) -> Point | None:
        """Where no row decides, known or not."""
        self.budget.begin()
        asking = self._that_ask()
        found = self._split(self._whole, asking)
        if found is not None:
            return found
        for unsure in asking:
            self.budget.spend(1 + len(asking) // 16)
            for part in unknown_where(self.space, unsure):
                regions = [region.meet(part) for region in self._whole]
                found = self._split(regions, _still_deciding(asking, unsure))
                if found is not None:
                    return found
        return None

    def _that_ask(self) -> list[Place]:
        """The rows without catch-alls."""
        return [each for each in self.space.places if each.row.when]

    def _split(self, regions: Iterable[Box], places: list[Place]) -> Point | None:
        boxes = _true(places)
        for region in regions:
            found = self._uncovered(region, boxes)
            if found is not None:
                return found
        return None

    def _uncovered(self, region: Box, boxes: list[Box]) -> Point | None:
        # A gap that is there is mostly found at once by taking boxes away; that there is none,
        # by splitting.
        try:
            return self.space.frame.hole(region, boxes, Budget(_AT_ONCE + len(boxes) // 4))
        except UndecidedError:
            return Splitting(self.space.frame, region, boxes, self.budget).search()

    def _outside(self, worlds: Iterable[Box], region: Box, boxes: list[Box]) -> Point | None:
        for world in worlds:
            found = self.space.frame.hole(region.meet(world), boxes, self.budget)
            if found is not None:
                return found
        return None


def _still_deciding(places: Iterable[Place], unsure: Place) -> list[Place]:
    """The rows that may decide although this one cannot be judged."""
    return [each for each in places if each.number < unsure.number or not each.comfortable]


def _true(places: Iterable[Place]) -> list[Box]:
    return [place.true for place in places if not place.hopeless]


def blocking(space: Space, place: Place) -> Iterator[Box]:
    """Where a row keeps those below it from reassuring: it is true, or unknown of what is offered.

    Where every axis counts, a row that is possible on all of them is one of the two, unless a
    fact that is never offered leaves it unknown everywhere.
    """
    if place.hopeless:
        yield from unknown_where(space, place)
    elif all(space.axes[n].counts for n, atoms in enumerate(place.open) if atoms):
        yield from _possible(space, place)
    else:
        yield place.true
        yield from unknown_where(space, place)


def _possible(space: Space, place: Place) -> list[Box]:
    """Where a row is not false: until all reasons are known, only what it refuses counts."""
    true, whole = place.true, Box(space.frame.pack(place.possible), (), place.true.refused)
    axis = _asked_reasons(space, place)
    if axis is None:
        return [whole]
    return [
        space.frame.narrowed(
            Box(whole.sets, true.clauses, true.refused), axis, space.axes[axis].known
        ),
        space.frame.narrowed(whole, axis, space.axes[axis].unknown),
    ]


def unknown_where(space: Space, place: Place) -> Iterator[Box]:
    """Where a row is unknown because of something that is offered."""
    of_reasons = _asked_reasons(space, place)
    for axis, atoms in enumerate(place.open):
        if atoms and axis != of_reasons and space.axes[axis].counts:
            yield from (space.frame.narrowed(box, axis, atoms) for box in _possible(space, place))
    if of_reasons is not None and space.axes[of_reasons].counts:
        atoms = space.axes[of_reasons].unknown
        whole = Box(space.frame.pack(place.possible), (), place.true.refused)
        box = space.frame.narrowed(whole, of_reasons, atoms)
        if not place.sets[of_reasons] & atoms:
            yield box
            return
        for clause in place.true.clauses:
            yield Box(box.sets, (), box.refused | clause)


def _asked_reasons(space: Space, place: Place) -> int | None:
    """The axis of the reasons, where the row has a test of them."""
    for axis, atoms in enumerate(place.open):
        if atoms and space.axes[axis].reasons:
            return axis
    return None
