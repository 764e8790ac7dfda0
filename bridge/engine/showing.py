"""From facts to what each segment should show, and on to requests."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from bridge.engine.actions import Action, Note, Request, Scalar
from bridge.engine.events import Answered, Fate, Unanswered
from bridge.engine.site import Segment, Site, facts_read
from bridge.facts.moment import Moment
from bridge.facts.printer import PrinterFacts
from bridge.facts.values import FactValue
from bridge.facts.vocabulary import gravity
from bridge.lights.contact import Noticed, Remark
from bridge.lights.desire import Chosen, Kept, choose_look
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.reconcile import Reconciler
from bridge.rules.decision import Decision, decide
from bridge.scenes.scene import Scene

_LEVELS: dict[Remark, Literal["info", "warning", "error"]] = {
    Remark.UNREACHABLE: "warning",
    Remark.REFUSING: "warning",
    Remark.STRANGER: "error",
    Remark.DISAGREES: "error",
    Remark.DRIFTED: "warning",
    Remark.MISREAD: "warning",
    Remark.RESTARTED: "warning",
    Remark.BACK: "info",
}


@dataclass(slots=True)
class Shown:
    """What a segment shows by decision. ``decision`` is ``None`` for its resting scene."""

    scene: Scene
    chosen: Chosen
    since_ms: int
    decision: Decision | None = None


class Showing:
    """The segments and the controllers of a site."""

    def __init__(self, site: Site, emit: Callable[[Action], None]) -> None:
        self.counts: Counter[str] = Counter()
        self.shown: dict[str, Shown] = {}
        self._site, self._emit = site, emit
        self._dialects = {name: Dialect(grammar) for name, grammar in site.dialects.items()}
        self.controllers = {
            controller.name: Reconciler(
                controller.name,
                self._dialects[controller.dialect],
                [s.place for s in site.segments.values() if s.controller == controller.name],
                controller.identity,
                controller.pixels,
            )
            for controller in site.controllers.values()
        }
        self._segments_of: dict[str, tuple[Segment, ...]] = {
            name: tuple(s for s in site.segments.values() if name in s.printers)
            for name in site.printers
        }
        self._columns = {name: facts_read(site, table) for name, table in site.tables.items()}
        self._number = 0
        self._controller_of: dict[int, str] = {}
        #: Controllers for which something changed since requests were last chosen.
        self.touched: set[str] = set()

    def start(self, seed: str, printers: Mapping[str, PrinterFacts], now: Moment) -> None:
        """Every segment is decided once, from what is known: nothing yet."""
        for reconciler in self.controllers.values():
            reconciler.start(seed, now.ms)
            self.touched.add(reconciler.name)
        for segment in self._site.segments.values():
            if segment.table is None:
                scene = self._site.scenes[segment.resting]
                self._show(segment, scene, None, {}, now)
            else:
                printer = printers[segment.printers[0]]
                self._decide(segment, segment.table, printer, now)

    def changed(self, printer: PrinterFacts, names: frozenset[str], now: Moment) -> None:
        """Facts of a printer changed: decide again where a table or a scene reads them."""
        for segment in self._segments_of[printer.name]:
            table = segment.table
            if table is not None and not names.isdisjoint(self._columns[table]):
                self._decide(segment, table, printer, now)

    def _decide(self, segment: Segment, table: str, printer: PrinterFacts, now: Moment) -> None:
        facts = printer.facts
        offered = self._site.printers[printer.name].reader.offers
        decision = decide(self._site.tables[table], facts, offered)
        self.counts["decisions"] += 1
        before = self.shown.get(segment.name)
        row_before = before.decision.row if before and before.decision else None
        scene = self._site.scenes[decision.row.show]
        self._show(segment, scene, decision, facts, now)
        if row_before is not decision.row:
            fields: dict[str, Scalar] = {
                "segment": segment.name,
                "printer": printer.name,
                "rule": decision.row.name,
                "scene": scene.name,
                "because": decision.because(facts),
            }
            self._emit(Note("info", "decided", fields))

    def _show(
        self,
        segment: Segment,
        scene: Scene,
        decision: Decision | None,
        inputs: Mapping[str, FactValue],
        now: Moment,
    ) -> None:
        controller = self.controllers[segment.controller]
        chosen = choose_look(scene, controller.dialect, segment.place, inputs)
        before = self.shown.get(segment.name)
        if before is None or before.scene is not scene:
            self.shown[segment.name] = Shown(scene, chosen, now.ms, decision)
            self._tell_lost(segment, scene, chosen)
        else:
            before.chosen, before.decision = chosen, decision
        look = chosen.look
        grave = gravity(scene.says)
        if look is not None and controller.desire(segment.name, look, grave, now.ms):
            self.touched.add(controller.name)

    def _tell_lost(self, segment: Segment, scene: Scene, chosen: Chosen) -> None:
        if chosen.kept is not Kept.WHOLE:
            fields = {"segment": segment.name, "scene": scene.name, "why": chosen.kept.value}
            self._emit(Note("debug", "scene not shown as written", fields))

    def request(self, name: str, now_ms: int) -> int | None:
        """Choose what goes to a controller now; returns when to look again."""
        controller = self.controllers[name]
        planned = controller.choose(now_ms)
        if planned is None:
            return controller.ready_ms(now_ms)
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
        return None

    def answered(self, event: Answered, now: Moment) -> None:
        """A controller answered."""
        name = self._controller_of.pop(event.request, None)
        if name is not None:
            noticed = self.controllers[name].answered(
                event.status, event.body, event.retry_after_ms, now.ms
            )
            self._tell(name, noticed)

    def unanswered(self, event: Unanswered, now: Moment) -> None:
        """A controller did not answer."""
        name = self._controller_of.pop(event.request, None)
        if name is not None:
            maybe = event.fate is Fate.MAYBE_APPLIED
            noticed = self.controllers[name].unanswered(
                maybe_applied=maybe, why=event.why, now_ms=now.ms
            )
            self._tell(name, noticed)

    def _tell(self, controller: str, noticed: list[Noticed]) -> None:
        self.touched.add(controller)
        for each in noticed:
            fields: dict[str, Scalar] = {"controller": controller}
            if each.segment:
                fields["segment"] = each.segment
            if each.detail:
                fields["detail"] = each.detail
            self._emit(Note(_LEVELS[each.remark], each.remark.value, fields))
