"""From what each segment should show on to requests: the controllers of a site."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from typing import Literal

from bridge.engine.actions import Action, Note, Request, Scalar
from bridge.engine.events import Answered, Fate, Unanswered
from bridge.engine.records import BootRecord, KeptRecord, StateRecord
from bridge.engine.site import Segment, Site
from bridge.facts.moment import Moment
from bridge.lights.contact import Noticed, Remark
from bridge.lights.controller_state import Planned
from bridge.lights.desire import plain_look
from bridge.lights.desired import Desired
from bridge.lights.dialect.codecs import Json
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.reconcile import Reconciler
from bridge.lights.standing import LEFT_ALONE

_LEVELS: dict[Remark, Literal["info", "warning", "error"]] = {
    Remark.UNREACHABLE: "warning",
    Remark.REFUSING: "warning",
    Remark.STRANGER: "error",
    Remark.DISAGREES: "error",
    Remark.DRIFTED: "warning",
    Remark.YIELDED: "info",
    Remark.SWITCHED_OFF: "warning",
    Remark.SLOWER: "warning",
    Remark.NOT_CAPTURED: "warning",
    Remark.BOOT_WRITTEN: "info",
    Remark.BOOT_NOT_KEPT: "warning",
    Remark.AS_FAST: "info",
    Remark.MISREAD: "warning",
    Remark.RESTARTED: "warning",
    Remark.BACK: "info",
}


class Showing:
    """The controllers of a site, and what is asked of them."""

    def __init__(
        self,
        site: Site,
        emit: Callable[[Action], None],
        keep: Callable[[StateRecord, Moment], None],
    ) -> None:
        self.counts: Counter[str] = Counter()
        self._emit, self._keep = emit, keep
        boot_look = plain_look(site.scenes[site.off_watch])
        self._dialects = {name: Dialect(grammar) for name, grammar in site.dialects.items()}
        self.controllers = {
            controller.name: Reconciler(
                controller.name,
                self._dialects[controller.dialect],
                [s.place for s in site.segments.values() if s.controller == controller.name],
                controller.identity,
                controller.pixels,
                yields=[s.name for s in site.segments.values() if s.yields],
                others={
                    each.identity: each.name
                    for each in site.controllers.values()
                    if each.identity is not None and each.name != controller.name
                },
                keeps_for_ms={
                    s.name: s.kept_for_ms
                    for s in site.segments.values()
                    if s.kept_for_ms is not None
                },
                boot_look=boot_look,
            )
            for controller in site.controllers.values()
        }
        self._controller_of_segment = {
            s.name: self.controllers[s.controller] for s in site.segments.values()
        }
        self._number = 0
        self._controller_of: dict[int, str] = {}
        #: Controllers for which something changed since requests were last chosen.
        self.touched: set[str] = set()

    def start(self, seed: str, now: Moment) -> None:
        """Every controller is looked at as soon as its limits allow."""
        for reconciler in self.controllers.values():
            reconciler.start(seed, now.ms)
            self.touched.add(reconciler.name)

    def restore(self, records: Iterable[StateRecord], now: Moment) -> None:
        """What an earlier start kept: looks of others, and how often stored looks were written."""
        for record in records:
            if isinstance(record, KeptRecord) and record.kept is not None:
                controller = self._controller_of_segment.get(record.segment)
                since_ms = now.ms_at(record.wall_ms)
                if controller is not None and since_ms is not None:
                    controller.restore_kept(record.segment, record.kept, since_ms)
            elif isinstance(record, BootRecord) and record.controller in self.controllers:
                times = [now.ms_at(wall_ms) for wall_ms in record.written_wall_ms]
                # Without a wall clock nobody knows how long ago: as if it were just now.
                written = [now.ms if at is None else at for at in times]
                self.controllers[record.controller].restore_boot_writes(written)

    def dialect_of(self, segment: Segment) -> Dialect:
        """What the segment's controller speaks."""
        return self.controllers[segment.controller].dialect

    def is_left_alone(self, segment: Segment) -> bool:
        """Whether what it shows is somebody else's."""
        state = self.controllers[segment.controller].segments[segment.name]
        return state.standing in LEFT_ALONE

    def foreign(self) -> dict[str, tuple[Json, ...]]:
        """By controller, what was last read that is not ours and has to be sent back."""
        return {
            name: foreign for name, each in self.controllers.items() if (foreign := each.foreign)
        }

    def is_leaving(self) -> bool:
        """Whether a controller that can be reached does not show what it should yet."""
        return any(not each.is_out_of_reach and each.differs for each in self.controllers.values())

    def not_left(self) -> tuple[str, ...]:
        """The controllers that do not show what they should."""
        return tuple(name for name, each in self.controllers.items() if each.differs)

    def desire(self, segment: Segment, desired: Desired, now_ms: int) -> None:
        """The segment should look so from now on."""
        if self.controllers[segment.controller].desire(segment.name, desired, now_ms):
            self.touched.add(segment.controller)

    def request(self, name: str, now_ms: int) -> int | None:
        """Choose what goes to a controller now; returns when to look again."""
        controller = self.controllers[name]
        while (planned := controller.choose(now_ms, self._number + 1)) is not None:
            self._send(controller, planned)
        return controller.ready_ms(now_ms)

    def _send(self, controller: Reconciler, planned: Planned) -> None:
        name = controller.name
        self._number += 1
        self._controller_of[self._number] = name
        self.counts["requests"] += 1
        self._emit(
            Request(
                number=self._number,
                controller=name,
                purpose=planned.purpose,
                method=planned.prepared.method,
                target=planned.prepared.path,
                headers=planned.prepared.headers,
                body=planned.prepared.body,
                timeout_ms=controller.dialect.limits.timeout_ms,
                segments=tuple(place.segment for place in planned.places),
            )
        )

    def answered(self, event: Answered, now: Moment) -> str | None:
        """A controller answered; which one, where something was asked of it."""
        name = self._controller_of.pop(event.request, None)
        if name is not None:
            noticed = self.controllers[name].answered(
                event.status, event.body, event.retry_after_ms, now.ms, event.request
            )
            if self.controllers[name].attempt:
                self.counts["answers of no use"] += 1
            self._tell(name, noticed)
            self._record(self.controllers[name], now)
        return name

    def _record(self, controller: Reconciler, now: Moment) -> None:
        for segment in controller.take_kept():
            state = controller.segments[segment]
            kept = None if state.kept is None else state.kept.text
            self._keep(KeptRecord(segment, kept, now.wall_ms), now)
        written = controller.take_boot_writes()
        if written is not None and now.wall_ms is not None:
            walls = tuple(now.wall_ms - (now.ms - at) for at in written)
            self._keep(BootRecord(controller.name, walls), now)

    def unanswered(self, event: Unanswered, now: Moment) -> str | None:
        """A controller did not answer; which one, where something was asked of it."""
        name = self._controller_of.pop(event.request, None)
        if name is not None:
            self.counts["requests unanswered"] += 1
            maybe = event.fate is Fate.MAYBE_APPLIED
            noticed = self.controllers[name].unanswered(
                maybe_applied=maybe, why=event.why, now_ms=now.ms, number=event.request
            )
            self._tell(name, noticed)
            self._record(self.controllers[name], now)
        return name

    def _tell(self, controller: str, noticed: list[Noticed]) -> None:
        self.touched.add(controller)
        for each in noticed:
            self.counts[each.remark.value] += 1
            fields: dict[str, Scalar] = {"controller": controller}
            if each.segment:
                fields["segment"] = each.segment
            if each.detail:
                fields["detail"] = each.detail
            self._emit(Note(_LEVELS[each.remark], each.remark.value, fields))
