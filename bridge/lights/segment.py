"""What one segment should show, what it was last told, and what it was seen to show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

from bridge.lights.desired import Desired
from bridge.lights.dialect.capturing import Kept
from bridge.lights.dialect.dialect import Prepared
from bridge.lights.look import Look, Moving, Still
from bridge.lights.pace import LEAST_CHANGE_MS
from bridge.lights.place import Place
from bridge.lights.standing import BELIEVED, LEFT_ALONE, TO_BE_SHOWN, Incident, Standing, after

#: After so many corrections that did not stick, a segment disagrees and is retried rarely.
INSISTS: Final = 3


@dataclass(slots=True, eq=False)
class Delivery:
    """Looks on their way, in one request or in several that only together show them.

    ``parts`` are still to go. It is ``abandoned`` when one of its segments should show something
    else meanwhile, or what one shows is no longer known. ``frame`` is what is painted, of a still
    look or of a moving one.
    """

    purpose: Literal["show", "paint", "restore"]
    looks: tuple[tuple[SegmentState, Look], ...]
    parts: list[Prepared]
    abandoned: bool = False
    frame: bytes | None = None


@dataclass(slots=True, eq=False)
class SegmentState:
    """One segment of one controller. Mutable; owned by its reconciler."""

    place: Place
    #: Its place among the controller's segments.
    order: int = 0
    #: Whether what somebody else set is left until the next decision.
    yields: bool = False
    desired: Desired | None = None
    desired_since_ms: int = 0
    told: Look | None = None
    standing: Standing = Standing.NOT_KNOWN
    #: What it may be showing now, ``None`` for anything.
    possible: tuple[Look | None, ...] = (None,)
    #: The painted frame that it is known to show.
    frame: bytes | None = None
    #: Whether the next frame is painted whole, whatever is known of the one before.
    paint_whole: bool = False
    #: When the first frame of a moving look began.
    began_ms: int = 0
    delivery: Delivery | None = None
    #: How often in a row what it should show now was refused.
    refused: int = 0
    #: How often in a row it was read back to show something else.
    insisted: int = 0
    #: The next try of a segment that disagrees, or whose look was refused.
    not_before_ms: int = 0
    #: The next change of its light, lest it flash too fast.
    quiet_until_ms: int = 0
    #: When a look that expires has to be told again.
    renew_ms: int | None = None
    #: Whether the controller knows which pixels it is; ``None`` where nobody can tell.
    defined: bool | None = None
    #: For how long what was there before is kept to be given back; ``None``: it is not.
    keeps_for_ms: int | None = None
    kept: Kept | None = None
    kept_ms: int = 0
    #: Whether what shows is somebody's, and is to be kept before it is shown over.
    capture_due: bool = False
    seen: Mapping[str, object] = field(default_factory=dict)

    @property
    def differs(self) -> bool:
        """Whether something must be sent."""
        if self.desired is None or self.standing in LEFT_ALONE:
            return False
        return self.standing in TO_BE_SHOWN or self.told != self.desired.look

    @property
    def disagrees(self) -> bool:
        """Whether corrections no longer stick."""
        return self.standing in {Standing.DISAGREES, Standing.RETOLD}

    @property
    def urgency(self) -> tuple[int, int, int, int]:
        """The least goes first: not what was refused just now, then the graver, then the older."""
        gravity = self.desired.gravity if self.desired is not None else 0
        return self.refused, -gravity, self.desired_since_ms, self.order

    @property
    def earliest_ms(self) -> int:
        """Before that nothing goes to it; the parts of one look are one change."""
        if self.delivery is not None:
            return self.not_before_ms
        return max(self.not_before_ms, self.quiet_until_ms)

    def frame_before(self) -> bytes | None:
        """The painted frame it is known to show, for painting only what changed."""
        return self.frame if self.standing in BELIEVED and not self.paint_whole else None

    def desire(self, desired: Desired, now_ms: int) -> bool:
        """A new desired look; returns whether it is another one. A new look is tried at once."""
        before, self.desired = self.desired, desired
        if before is not None and before.decision != desired.decision:
            # Only what somebody else set is kept: never a look of ours.
            if self.standing in LEFT_ALONE and not desired.hands_back:
                self.capture_due, self.kept = self.keeps_for_ms is not None, None
            self.standing = after(self.standing, Incident.DECIDED)
        if before is not None and before.look == desired.look:
            return False
        self.desired_since_ms = self.began_ms = now_ms
        self.refused, self.not_before_ms = 0, 0
        self.abandon()
        return True

    def send(self, delivery: Delivery, look: Look) -> None:
        """A look is on its way."""
        self.abandon()
        self.delivery = delivery
        if look not in self.possible:
            self.possible = (*self.possible, look)

    def part_taken(self, now_ms: int) -> None:
        """A part of a look is there: it shows a mixture, and if that stays so, until shown anew."""
        self.standing = after(self.standing, Incident.LOST)
        self.frame = None
        self.quiet_until_ms = now_ms + LEAST_CHANGE_MS

    def tell(self, look: Look, now_ms: int, frame: bytes | None = None) -> None:
        """It was told all of a look, and answered."""
        self.told, self.possible, self.frame = look, (look,), frame
        self.standing = after(self.standing, Incident.TOLD)
        self.delivery, self.refused, self.paint_whole = None, 0, False
        self.quiet_until_ms = now_ms + LEAST_CHANGE_MS

    def give_back(self, look: Look, now_ms: int) -> None:
        """It was given back what was there before we took it; nobody knows what that looks like."""
        self.tell(look, now_ms)
        self.standing = after(self.standing, Incident.GIVEN_BACK)
        self.possible, self.kept = (None,), None

    def to_give_back(self, now_ms: int) -> Kept | None:
        """What was there before, where it is to be given back and is not too old."""
        wants = self.desired is not None and self.desired.hands_back
        if not wants or self.kept is None or self.keeps_for_ms is None:
            return None
        return self.kept if now_ms - self.kept_ms <= self.keeps_for_ms else None

    def forget(self, *, anything: bool = True) -> None:
        """What it shows is no longer known: ``anything``, or what it showed or was just sent."""
        self.standing = after(self.standing, Incident.LOST)
        self.frame, self.renew_ms = None, None
        if anything and None not in self.possible:
            self.possible = (*self.possible, None)
        self.abandon()

    def abandon(self) -> None:
        """Send nothing more of what is on its way."""
        if self.delivery is not None:
            self.delivery.abandoned = True
            for state, _ in self.delivery.looks:
                state.delivery = None

    # Frames that follow each other ------------------------------------------------------------

    def frame_of(self, look: Still | Moving, period_ms: int | None, now_ms: int) -> bytes:
        """The frame to paint now; ``period_ms`` is ``None`` where the look has to stand still."""
        if isinstance(look, Still):
            return look.frame
        if period_ms is None:
            return look.frames[0]
        return look.frames[look.number_at(now_ms - self.began_ms, period_ms)]

    def next_frame_ms(self, period_ms: int | None, now_ms: int) -> int | None:
        """When its painted frame is another one; now, where it is that already."""
        look = self.told
        if not isinstance(look, Moving) or self.differs or self.standing in LEFT_ALONE:
            return None
        # What stands still is painted again as often as what moves is painted whole: neither is
        # compared with what is read back.
        is_due = self.paint_whole and period_ms is None
        if is_due or self.frame != self.frame_of(look, period_ms, now_ms):
            return max(now_ms, self.earliest_ms)
        if period_ms is None:
            return None
        next_ms = self.began_ms + look.next_ms(now_ms - self.began_ms, period_ms)
        return max(next_ms, self.earliest_ms)
