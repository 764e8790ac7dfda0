"""What one segment should show, what it was last told, and what it was seen to show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from bridge.lights.dialect.dialect import Prepared
from bridge.lights.look import Look, Still
from bridge.lights.place import Place


class Standing(Enum):
    """How much is known of what a segment shows."""

    NOT_KNOWN = "not known"
    TOLD = "told and answered"
    CONFIRMED = "read back"


#: After so many corrections that did not stick, a segment disagrees and is retried rarely.
INSISTS = 3


@dataclass(slots=True)
class SegmentState:
    """One segment of one controller. Mutable; owned by its reconciler."""

    place: Place
    desired: Look | None = None
    #: Graver goes first.
    gravity: int = 0
    desired_since_ms: int = 0
    told: Look | None = None
    standing: Standing = Standing.NOT_KNOWN
    #: Requests still to go of a painted look that does not fit one body.
    rest: tuple[Prepared, ...] = ()
    insisted: int = 0
    #: A disagreeing segment's next try.
    held_until_ms: int | None = None
    seen: Mapping[str, object] = field(default_factory=dict)

    @property
    def differs(self) -> bool:
        """Whether something must be sent."""
        return self.desired is not None and (
            bool(self.rest) or self.standing is Standing.NOT_KNOWN or self.told != self.desired
        )

    @property
    def disagrees(self) -> bool:
        """Whether corrections no longer stick."""
        return self.insisted >= INSISTS

    def ready_ms(self, now_ms: int) -> int | None:
        """When it may be sent, or ``None`` when there is nothing to send."""
        if not self.differs:
            return None
        return now_ms if self.held_until_ms is None else max(now_ms, self.held_until_ms)

    def frame_before(self) -> bytes | None:
        """The painted frame it is known to show, for painting only what changed."""
        if self.standing is Standing.NOT_KNOWN or not isinstance(self.told, Still):
            return None
        return self.told.frame

    def desire(self, look: Look, gravity: int, now_ms: int) -> bool:
        """A new desired look; returns whether it is another one. A new look is tried at once."""
        if look == self.desired:
            self.gravity = gravity
            return False
        self.desired, self.gravity, self.desired_since_ms = look, gravity, now_ms
        self.rest, self.held_until_ms = (), None
        return True

    def forget(self) -> None:
        """What it shows is no longer known."""
        self.standing, self.rest = Standing.NOT_KNOWN, ()
