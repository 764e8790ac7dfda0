"""All that is known of one controller, and what is under way with it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from bridge.facts.jitter import backoff_ms
from bridge.lights.boot_look import BootLook
from bridge.lights.contact import Contact
from bridge.lights.dialect.codecs import Json
from bridge.lights.dialect.dialect import Dialect, Prepared, Purpose
from bridge.lights.limiter import Limiter
from bridge.lights.look import Moving
from bridge.lights.pace import LEAST_CHANGE_MS, Pace
from bridge.lights.place import Place
from bridge.lights.restart import RestartWatch
from bridge.lights.segment import Delivery, SegmentState

BACKOFF_BASE_MS: Final = 500
BACKOFF_CAP_MS: Final = 30_000


@dataclass(frozen=True, slots=True)
class Planned:
    """A request on its way, or about to go."""

    purpose: Purpose
    prepared: Prepared
    places: tuple[Place, ...] = ()
    #: What it is a part of, where it shows something.
    delivery: Delivery | None = None


@dataclass(slots=True, eq=False)
class ControllerState:
    """One controller. Mutable; owned by its reconciler.

    ``others`` says whose identity is whose, so that a stranger that is another of the site's
    controllers can be named.
    """

    name: str
    dialect: Dialect
    segments: Mapping[str, SegmentState]
    identity: str | None
    pixels: int
    limiter: Limiter
    pace: Pace
    others: Mapping[str, str] = field(default_factory=dict)
    seed: str = ""
    # How it is doing
    contact: Contact = Contact.NOT_TRIED
    detail: str = ""
    stranger_why: str = ""
    misread: str = ""
    #: What is refused, by purpose and segment, and why.
    refused: dict[tuple[str, str], str] = field(default_factory=dict)
    attempt: int = 0
    restarts: int = 0
    #: No request before that, and no request at all before what it asked for.
    retry_ms: int = 0
    wait_until_ms: int = 0
    tried_ms: int = 0
    # What goes before showing
    identified: bool = True
    #: After an outage the first thing is whether it began anew.
    look_first: bool = False
    #: The main switch or brightness is not as it must be, and is to be set; how often in vain.
    master_due: bool = False
    master_insisted: int = 0
    master_not_before_ms: int = 0
    #: Somebody switched it off, or dimmed it, and that is left so.
    main_left: bool = False
    boot: BootLook | None = None
    #: Whether it was written since that was last recorded.
    boot_changed: bool = False
    #: Segments for which what is kept of before is another than was recorded.
    kept_changed: set[str] = field(default_factory=set)
    #: Everything that it was last read to show, where a show must carry it.
    echo: tuple[Json, ...] | None = None
    # What is under way
    flights: dict[int, tuple[Planned, int]] = field(default_factory=dict)
    # What differs, moves or expires, so that nothing is looked for where nothing does
    differing: dict[str, SegmentState] = field(default_factory=dict)
    moving: dict[str, SegmentState] = field(default_factory=dict)
    expiring: dict[str, SegmentState] = field(default_factory=dict)
    # Reading back
    read_ms: int | None = None
    read_all_ms: int = 0
    settled_ms: int = 0
    reads: list[Planned] = field(default_factory=list)
    shows_since_due: int = 0
    restart: RestartWatch = field(default_factory=RestartWatch)
    #: How many requests one frame of a moving segment takes, by segment.
    frame_requests: dict[str, int] = field(default_factory=dict)
    is_slower: bool = False

    @property
    def shown_contact(self) -> Contact:
        """How it is doing, with what it refuses of all that it is told."""
        refuses = self.contact is Contact.REACHABLE and self.refused
        return Contact.REFUSING if refuses else self.contact

    def mark(self, state: SegmentState) -> None:
        """See whether something must be sent to a segment."""
        name = state.place.segment
        if state.differs:
            self.differing[name] = state
        else:
            self.differing.pop(name, None)
        if isinstance(state.told, Moving):
            self.moving[name] = state
        else:
            self.moving.pop(name, None)
        if state.renew_ms is not None:
            self.expiring[name] = state
        else:
            self.expiring.pop(name, None)

    def forget(self, states: Iterable[SegmentState], *, anything: bool = True) -> None:
        """What these show is no longer known."""
        for state in states:
            state.forget(anything=anything)
            self.mark(state)

    @property
    def awaits_echo(self) -> bool:
        """Whether a show must wait for what is not ours to be read."""
        return self.dialect.echoes and self.dialect.reads and self.echo is None

    def read_due(self, now_ms: int) -> bool:
        """Whether something should be read back by now."""
        return bool(self.reads) or (self.read_ms is not None and self.read_ms <= now_ms)

    def in_flight(self, state: SegmentState) -> bool:
        """Whether something that shows it is under way."""
        return any(state.place in planned.places for planned, _ in self.flights.values())

    def period_of(self, look: Moving) -> int | None:
        """The period at which a moving look goes; ``None`` where it has to stand still."""
        frames = len(look.frames)
        requests = sum(self.frame_requests.get(name, 1) for name in self.moving)
        least_ms = max(self.pace.least_period_ms(frames * requests), frames * LEAST_CHANGE_MS)
        return next((each for each in look.periods_ms if each >= least_ms), None)

    def slower_than_wished(self) -> str:
        """Which segments move slower than they should, or not at all; empty where none does."""
        found = []
        for name, state in self.moving.items():
            look = state.told
            period_ms = self.period_of(look) if isinstance(look, Moving) else None
            if isinstance(look, Moving) and period_ms != look.periods_ms[0]:
                how = "stands still" if period_ms is None else f"every {period_ms} ms"
                found.append(f"{name} {how} instead of every {look.periods_ms[0]} ms")
        return ", ".join(found)

    def backoff_ms(self, name: str, attempt: int) -> int:
        """How long to wait before the next attempt."""
        return backoff_ms(self.seed, name, attempt, base_ms=BACKOFF_BASE_MS, cap_ms=BACKOFF_CAP_MS)
