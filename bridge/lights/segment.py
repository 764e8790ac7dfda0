"""What one segment should show, what it was last told, and what it was seen to show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Literal

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


@dataclass(slots=True, eq=False)
class Delivery:
    """Looks on their way, in one request or in several that only together show them.

    ``parts`` are still to go. It is ``abandoned`` when one of its segments should show something
    else meanwhile, or what one shows is no longer known.
    """

    purpose: Literal["show", "paint"]
    looks: tuple[tuple[SegmentState, Look], ...]
    parts: list[Prepared]
    abandoned: bool = False


@dataclass(slots=True, eq=False)
class SegmentState:
    """One segment of one controller. Mutable; owned by its reconciler."""

    place: Place
    #: Its place among the controller's segments.
    order: int = 0
    desired: Look | None = None
    #: Graver goes first.
    gravity: int = 0
    desired_since_ms: int = 0
    told: Look | None = None
    standing: Standing = Standing.NOT_KNOWN
    delivery: Delivery | None = None
    #: How often in a row what it should show now was refused.
    refused: int = 0
    #: How often in a row it was read back to show something else.
    insisted: int = 0
    #: The next try of a segment that disagrees, or whose look was refused.
    not_before_ms: int = 0
    seen: Mapping[str, object] = field(default_factory=dict)

    @property
    def differs(self) -> bool:
        """Whether something must be sent."""
        return self.desired is not None and (
            self.standing is Standing.NOT_KNOWN or self.told != self.desired
        )

    @property
    def disagrees(self) -> bool:
        """Whether corrections no longer stick."""
        return self.insisted > INSISTS

    @property
    def urgency(self) -> tuple[int, int, int, int]:
        """The least goes first: not what was refused just now, then the graver, then the older."""
        return self.refused, -self.gravity, self.desired_since_ms, self.order

    def frame_before(self) -> bytes | None:
        """The painted frame it is known to show, for painting only what changed."""
        if self.standing is Standing.NOT_KNOWN or not isinstance(self.told, Still):
            return None
        return self.told.frame

    def desire(self, look: Look, gravity: int, now_ms: int) -> bool:
        """A new desired look; returns whether it is another one. A new look is tried at once."""
        self.gravity = gravity
        if look == self.desired:
            return False
        self.desired, self.desired_since_ms = look, now_ms
        self.refused, self.not_before_ms = 0, 0
        self.abandon()
        return True

    def tell(self, look: Look) -> None:
        """It was told all of a look, and answered."""
        self.told, self.standing, self.delivery, self.refused = look, Standing.TOLD, None, 0

    def forget(self) -> None:
        """What it shows is no longer known."""
        self.standing = Standing.NOT_KNOWN
        self.abandon()

    def abandon(self) -> None:
        """Send nothing more of what is on its way."""
        if self.delivery is not None:
            self.delivery.abandoned = True
            for state, _ in self.delivery.looks:
                state.delivery = None
