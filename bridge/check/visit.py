"""A visit to a controller that changes nothing: what is asked of it, and what the answers mean.

It judges by the dialect's own reading, as the running bridge does.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from bridge.engine.leaving import telling_segments
from bridge.engine.site import Controller, Segment, Site
from bridge.lights.desire import choose_look, plain_look
from bridge.lights.dialect.dialect import Dialect, Misread, Observation, Prepared, Purpose
from bridge.lights.look import Native
from bridge.lights.place import Place


@dataclass(frozen=True, slots=True)
class Question:
    """One request of a visit."""

    purpose: Purpose
    prepared: Prepared
    places: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True)
class Reply:
    """What came of it: an answer and how long it took, or why there was none."""

    status: int = 0
    body: bytes = b""
    took_ms: int = 0
    failure: str = ""


@dataclass(slots=True)
class Visit:
    """What a visit to one controller found. ``wrong`` is to be mended before lights can be right.

    ``would_change``: what the bridge would tell it beside looks; of that ``undefined`` (segments)
    and ``boot_unlike`` (how many looks at power-up) is what the controller stores.
    """

    controller: str
    wrong: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    would_change: list[str] = field(default_factory=list)
    took_ms: list[int] = field(default_factory=list)
    undefined: list[str] = field(default_factory=list)
    #: What the answers about every lit segment lack; ``None`` while none was about one.
    unfound: tuple[str, ...] | None = None
    boot_unlike: int = 0

    @property
    def stored_unlike(self) -> int:
        """How many stored settings differ from what the site has."""
        return len(self.undefined) + self.boot_unlike


class Visiting:
    """One controller of a site, visited."""

    def __init__(self, site: Site, controller: Controller) -> None:
        self.controller, self._site = controller, site
        self.dialect = Dialect(site.dialects[controller.dialect])
        self._segments = [s for s in site.segments.values() if s.controller == controller.name]
        self._places = [segment.place for segment in self._segments]
        self._boot = plain_look(site.scenes[site.off_watch])

    def questions(self) -> list[Question]:
        """Everything that can be asked without changing anything."""
        dialect = self.dialect
        asked = [Question("identify", dialect.identify())] if dialect.identifies else []
        asked += [
            Question("read", prepared, at) for prepared, at in dialect.reads_for(self._places)
        ]
        if dialect.booting is not None:
            reads = dialect.booting.reads(self._places)
            asked += [Question("read boot", prepared, about) for prepared, about in reads]
        return asked

    def judged(self, replies: Sequence[tuple[Question, Reply]]) -> Visit:
        """What the replies say, in their order."""
        visit = Visit(self.controller.name)
        if not replies:
            visit.said.append("its dialect can ask it nothing: neither identify nor read")
        for question, reply in replies:
            self._judge(visit, question, reply)
        if visit.unfound is not None:
            visit.wrong += [f"no answer has anything at {at}" for at in visit.unfound]
        return visit

    def _judge(self, visit: Visit, question: Question, reply: Reply) -> None:
        what = f"{question.prepared.method} {question.prepared.path}"
        if reply.failure:
            visit.wrong.append(f"{what}: {reply.failure}")
            return
        visit.took_ms.append(reply.took_ms)
        answer = self.dialect.answer(question.purpose, reply.status, reply.body)
        if not answer.ok:
            visit.wrong.append(f"{what}: {answer}")
        elif question.purpose == "identify":
            self._identity(visit, reply.body)
        elif question.purpose == "read":
            self._state(visit, question.places, reply.body)
        else:
            self._boot_look(visit, question.places, reply.body)

    def _identity(self, visit: Visit, body: bytes) -> None:
        said = self.dialect.identity(body)
        if isinstance(said, Misread):
            visit.wrong.append(f"does not say who it is: {said}")
            return
        wanted, pixels = self.controller.identity, self.controller.pixels
        if wanted is None:
            visit.said.append(f"is {said.identity!r}; the site names no identity to expect")
        elif said.identity == wanted:
            visit.said.append(f"is {said.identity!r}, as the site says")
        else:
            others = {c.identity: c.name for c in self._site.controllers.values()}
            swapped = others.get(said.identity) if said.identity is not None else None
            hint = f"; that is {swapped}, are the two swapped?" if swapped is not None else ""
            visit.wrong.append(f"is {said.identity!r}, the site expects {wanted!r}{hint}")
        if said.pixels is not None and said.pixels < pixels:
            visit.wrong.append(f"has {said.pixels} pixels, the site says {pixels}")
        elif said.pixels is not None:
            visit.said.append(f"has {said.pixels} pixels, the site uses {pixels}")

    def _state(self, visit: Visit, places: Sequence[Place], body: bytes) -> None:
        seen = self.dialect.observed(body, places)
        if isinstance(seen, Misread):
            visit.wrong.append(f"its answer could not be understood: {seen}")
            return
        if seen.main_unlike:
            names = ", ".join(seen.main_unlike)
            how = "would be set right" if self.dialect.has_master else "no master can set it right"
            visit.would_change.append(f"main switch or brightness ({names}): {how}")
        for place in places:
            self._segment(visit, place, seen)

    def _segment(self, visit: Visit, place: Place, seen: Observation) -> None:
        values = seen.seen.get(place.segment, {})
        is_gone = place.segment in seen.missing
        if is_gone and not self.dialect.defines:
            visit.wrong.append(f"{place.segment}: the answer holds nothing about it")
            return
        misplaced = () if is_gone else self.dialect.misplaced(place, values)
        if is_gone or misplaced:
            if self.dialect.defines:
                visit.undefined.append(place.segment)
                visit.would_change.append(f"{place.segment}: would be told which pixels it is")
            else:
                lies = ", ".join(f"{name} {values.get(name)}" for name in misplaced)
                visit.wrong.append(f"{place.segment}: lies elsewhere ({lies})")
        if not is_gone:
            decoded = self.dialect.decode(values)
            visit.said.append(f"{place.segment}: {_shows(decoded)}")
            if decoded.get("on") is not False:
                # Of a dark one a controller may say no more than that it is dark.
                before, here = visit.unfound, self.dialect.unfound(values)
                visit.unfound = here if before is None else tuple(x for x in here if x in before)
        self._resting(visit, place, values)

    def _resting(self, visit: Visit, place: Place, values: Mapping[str, object]) -> None:
        """A segment of no printer shows what is known without hearing any."""
        segment = self._site.segments[place.segment]
        if segment.name in {each.name for each in telling_segments(self._site)}:
            return
        look = self._resting_look(segment)
        if look is not None and self.dialect.differences(place, look, values):
            visit.would_change.append(f"{place.segment}: would show {segment.resting}")

    def _resting_look(self, segment: Segment) -> Native | None:
        scene = self._site.scenes[segment.resting]
        look = choose_look(scene, self.dialect, segment.place, {}).look
        return look if isinstance(look, Native) else None

    def _boot_look(self, visit: Visit, places: Sequence[Place], body: bytes) -> None:
        for names in self._boot_differences(places, body, visit):
            visit.boot_unlike += 1
            visit.would_change.append(f"look at power-up ({', '.join(names)}): would be off watch")

    def _boot_differences(
        self, places: Sequence[Place], body: bytes, visit: Visit
    ) -> Iterator[tuple[str, ...]]:
        booting = self.dialect.booting
        if booting is None:
            return
        seen = booting.observed(body, places)
        if isinstance(seen, Misread):
            visit.wrong.append(f"its look at power-up could not be understood: {seen}")
            return
        for place in places:
            unlike = booting.differences(place, self._boot, seen.seen.get(place.segment, {}))
            if unlike:
                yield unlike

    def provisions(self, visit: Visit) -> list[Question]:
        """The requests that put right what is stored and would change; looks are the bridge's."""
        dialect = self.dialect
        requests: list[Question] = []
        requests += [
            Question("define", dialect.define(place), (place,))
            for place in self._places
            if place.segment in visit.undefined
        ]
        if dialect.booting is not None and visit.boot_unlike:
            items = [(place, self._boot) for place in dialect.booting.places(self._places)]
            requests += [Question("write boot", each) for each in dialect.booting.writes(items)]
        return requests


def _shows(decoded: Mapping[str, object]) -> str:
    """What was read back, in words."""
    parts = []
    if decoded.get("on") is False:
        return "is dark"
    effect = decoded.get("effect")
    parts.append(str(effect) if effect is not None else "shows")
    colour = decoded.get("colour")
    if isinstance(colour, tuple):
        parts.append("#" + bytes(colour).hex())
    level = decoded.get("level")
    if isinstance(level, float | int):
        parts.append(f"at {level:.0%}")
    if "frame" in decoded and colour is None:
        parts.append("painted pixels")
    return " ".join(parts) if len(parts) > 1 else "shows what is no look of ours"
