"""A reconciler, its board, and a clock that only the steps move."""

from __future__ import annotations

from dataclasses import dataclass, field

from bridge.lights.contact import Contact, Noticed, Remark
from bridge.lights.desired import Desired
from bridge.lights.dialect.dialect import Prepared
from bridge.lights.look import Look
from bridge.lights.place import Place
from bridge.lights.reconcile import Reconciler
from bridge.lights.standing import Standing
from tests.lights.board import BAR, BLUE, DIALECTS, GRAMMARS, PLACES, RED, Board, Fate, board_for

REPLY_MS = 20
TIMEOUT_MS = 2000
#: What a settled bench shows.
SETTLED: list[tuple[Place, Look]] = list(zip(PLACES, (RED, BLUE, BAR), strict=True))


@dataclass
class Bench:
    """A reconciler, its board, and a clock that only these steps move."""

    dialect: str = "pegs"
    identity: str | None = None
    now_ms: int = 0
    yields: tuple[str, ...] = ()
    others: dict[str, str] = field(default_factory=dict)
    board: Board = field(init=False)
    reconciler: Reconciler = field(init=False)
    sent: list[tuple[int, Prepared]] = field(default_factory=list)
    noticed: list[Noticed] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.board = board_for(GRAMMARS[self.dialect])
        pixels = PLACES[-1].last + 1
        dialect = DIALECTS[self.dialect]
        self.reconciler = Reconciler(
            "rail",
            dialect,
            PLACES,
            self.identity,
            pixels,
            yields=self.yields,
            others=self.others,
        )
        self.reconciler.start("seed", self.now_ms)

    def desire(self, look: Look, segment: str = "s1", gravity: int = 1) -> None:
        """A decision."""
        self.decide(Desired(look, gravity), segment)

    def decide(self, desired: Desired, segment: str = "s1") -> None:
        """A decision, with all that it weighs."""
        self.reconciler.desire(segment, desired, self.now_ms)

    def step(self, fate: Fate = "answered") -> str:
        """Wait for the next request, send it, and let this become of it; what was sent."""
        ready = self.reconciler.ready_ms(self.now_ms)
        assert ready is not None
        self.now_ms = ready
        planned = self.reconciler.choose(self.now_ms)
        if planned is None:
            return ""
        self.sent.append((self.now_ms, planned.prepared))
        self.report(planned.prepared, fate)
        return f"{planned.prepared.method} {planned.prepared.path}"

    def report(self, prepared: Prepared, fate: Fate) -> None:
        """What became of the request in flight."""
        if fate in ("answered", "reply lost"):
            status, body = self.board.perform(prepared, self.now_ms)
        else:
            status, body = 503, b""
        if fate in ("answered", "busy"):
            self.now_ms += REPLY_MS
            self.noticed += self.reconciler.answered(status, body, None, self.now_ms)
        else:
            self.now_ms += TIMEOUT_MS
            self.noticed += self.reconciler.unanswered(
                maybe_applied=fate != "never left", why="no answer", now_ms=self.now_ms
            )

    def run_for(self, milliseconds: int) -> list[str]:
        """Everything sent until then, over a network that loses nothing."""
        until = self.now_ms + milliseconds
        sent = []
        while (ready := self.reconciler.ready_ms(self.now_ms)) is not None and ready <= until:
            sent.append(self.step())
        self.now_ms = until
        return sent

    def remarks(self) -> list[Remark]:
        """What was noticed since the last call."""
        remarks = [noticed.remark for noticed in self.noticed]
        self.noticed = []
        return remarks

    def contact(self) -> Contact:
        """How the controller is doing."""
        return self.reconciler.contact

    def standing(self, segment: str = "s1") -> Standing:
        """How much is known of a segment."""
        return self.reconciler.segments[segment].standing


def settled(
    dialect: str = "pegs", identity: str | None = None, yields: tuple[str, ...] = ()
) -> Bench:
    """A bench whose three segments show red, blue and a bar, confirmed where that can be."""
    bench = Bench(dialect, identity, yields=yields)
    for place, look in SETTLED:
        bench.desire(look, place.segment)
    bench.run_for(20_000)
    bench.sent.clear()
    bench.noticed.clear()
    return bench
