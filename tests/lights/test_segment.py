"""One segment's own bookkeeping."""

from __future__ import annotations

import pytest

from bridge.lights.desired import Desired
from bridge.lights.look import Look, Native, Still
from bridge.lights.pace import LEAST_CHANGE_MS
from bridge.lights.place import Place
from bridge.lights.segment import Delivery, SegmentState
from bridge.lights.standing import Standing
from tests.lights.board import TWO_FRAMES

RED = Native("steady", (255, 0, 0), 1.0)
BLUE = Native("steady", (0, 0, 255), 1.0)
BAR = Still(bytes(12))
PLACE = Place("frame", 1, 0, 4)


def told(look: Look, *, frame: bytes | None = None, at_ms: int = 0) -> SegmentState:
    """A segment that should show a look and was told it."""
    state = SegmentState(PLACE)
    state.desire(Desired(look), at_ms)
    state.tell(look, at_ms, frame)
    return state


@pytest.mark.parametrize(
    ("desired", "told", "standing", "differs"),
    [
        (None, None, Standing.NOT_KNOWN, False),
        (RED, None, Standing.NOT_KNOWN, True),
        (RED, RED, Standing.NOT_KNOWN, True),
        (RED, RED, Standing.TOLD, False),
        (RED, RED, Standing.CONFIRMED, False),
        (RED, RED, Standing.DRIFTED, True),
        (RED, RED, Standing.DISAGREES, True),
        (RED, RED, Standing.RETOLD, False),
        (RED, BLUE, Standing.CONFIRMED, True),
        (RED, BLUE, Standing.YIELDED, False),
        (RED, BLUE, Standing.HANDED_BACK, False),
        (BAR, Still(bytes(12)), Standing.TOLD, False),
    ],
)
def test_it_differs_until_it_was_told_and_that_is_known(
    desired: Look | None, told: Look | None, standing: Standing, *, differs: bool
) -> None:
    """What is not known is shown again; what is left alone, or was not decided, is not."""
    wanted = None if desired is None else Desired(desired)
    state = SegmentState(PLACE, desired=wanted, told=told, standing=standing)
    assert state.differs is differs


def test_only_a_known_frame_is_painted_over() -> None:
    """Else a difference would be painted over something else."""
    state = told(BAR, frame=BAR.frame)
    assert state.frame_before() == BAR.frame
    state.forget()
    assert state.frame_before() is None
    assert told(RED).frame_before() is None


def test_a_new_look_is_tried_at_once() -> None:
    """Whatever held the old one up: a refusal, a disagreement, parts still to go."""
    state, other = SegmentState(PLACE), SegmentState(Place("sill", 2, 4, 4))
    state.desire(Desired(RED), 10)
    delivery = Delivery("show", ((state, RED), (other, RED)), [])
    state.delivery = other.delivery = delivery
    state.not_before_ms, state.refused = 90_000, 4
    assert state.desire(Desired(BLUE), 20)
    assert (state.not_before_ms, state.refused, state.desired_since_ms) == (0, 0, 20)
    assert delivery.abandoned
    assert state.delivery is other.delivery is None


def test_the_same_look_again_changes_only_what_it_weighs() -> None:
    """It goes on being shown, and has waited as long as before."""
    state = SegmentState(PLACE)
    state.desire(Desired(RED, 1), 10)
    state.not_before_ms = 500
    assert not state.desire(Desired(RED, 4), 20)
    assert (state.urgency[1], state.desired_since_ms, state.not_before_ms) == (-4, 10, 500)


def test_urgency_orders_by_gravity_then_age_and_puts_the_refused_last() -> None:
    """What was refused just now must not starve what was not yet tried."""
    grave = SegmentState(PLACE, 3, desired=Desired(RED, 5), desired_since_ms=9)
    old = SegmentState(PLACE, 2, desired=Desired(RED, 1), desired_since_ms=1)
    young = SegmentState(PLACE, 1, desired=Desired(RED, 1), desired_since_ms=2)
    refused = SegmentState(PLACE, 0, desired=Desired(RED, 5), desired_since_ms=0, refused=1)
    ordered = sorted([young, refused, old, grave], key=lambda state: state.urgency)
    assert ordered == [grave, old, young, refused]


@pytest.mark.parametrize("standing", list(Standing))
def test_what_is_left_to_somebody_else_is_taken_again_by_another_decision(
    standing: Standing,
) -> None:
    """The same decision with another share of a gauge is none."""
    state = SegmentState(PLACE, standing=standing)
    state.desire(Desired(BAR, decision="filling"), 0)
    state.standing = standing
    state.desire(Desired(Still(bytes([9] * 12)), decision="filling"), 10)
    assert state.standing is standing
    state.desire(Desired(RED, decision="halted"), 20)
    assert state.differs


def test_two_changes_keep_their_distance() -> None:
    """No light changes so often that it flashes too fast, whatever is decided."""
    state = told(RED, at_ms=1000)
    state.desire(Desired(BLUE), 1001)
    assert state.earliest_ms == 1000 + LEAST_CHANGE_MS


def may_show(state: SegmentState) -> list[str]:
    """What it may be showing, in words."""
    return [str(look) for look in state.possible]


def test_what_may_show_is_everything_between_known_and_known() -> None:
    """What was there, what was sent since, and anything after a restart."""
    assert may_show(SegmentState(PLACE)) == ["None"]
    state = told(RED)
    assert may_show(state) == [str(RED)]
    state.send(Delivery("show", ((state, BLUE),), []), BLUE)
    assert may_show(state) == [str(RED), str(BLUE)]
    state.forget(anything=False)
    assert may_show(state) == [str(RED), str(BLUE)]
    state.forget()
    assert may_show(state) == [str(RED), str(BLUE), "None"]
    state.tell(BLUE, 0)
    assert may_show(state) == [str(BLUE)]


def test_frames_follow_each_other_from_when_the_look_began() -> None:
    """At equal shares of the period; a frame that was missed is not caught up."""
    state = told(TWO_FRAMES, frame=TWO_FRAMES.frames[0], at_ms=100)
    assert state.next_frame_ms(1250, 101) == 725
    assert state.frame_of(TWO_FRAMES, 1250, 724) == TWO_FRAMES.frames[0]
    assert state.frame_of(TWO_FRAMES, 1250, 725) == TWO_FRAMES.frames[1]
    assert state.next_frame_ms(1250, 800) == 800
    assert state.next_frame_ms(1250, 1400) == 1975


def test_what_must_stand_still_stands_at_its_first_frame() -> None:
    """A flash whose link is too slow is never left in its dimmer half."""
    state = told(TWO_FRAMES, frame=TWO_FRAMES.frames[1], at_ms=100)
    assert state.next_frame_ms(None, 500) == 500
    state.tell(TWO_FRAMES, 500, TWO_FRAMES.frames[0])
    assert state.next_frame_ms(None, 900) is None
