"""One segment's own bookkeeping."""

from __future__ import annotations

import pytest

from bridge.lights.look import Look, Native, Still
from bridge.lights.place import Place
from bridge.lights.segment import INSISTS, Delivery, SegmentState, Standing

RED = Native("steady", (255, 0, 0), 1.0)
BLUE = Native("steady", (0, 0, 255), 1.0)
BAR = Still(bytes(12))
PLACE = Place("frame", 1, 0, 4)


@pytest.mark.parametrize(
    ("desired", "told", "standing", "differs"),
    [
        (None, None, Standing.NOT_KNOWN, False),
        (RED, None, Standing.NOT_KNOWN, True),
        (RED, RED, Standing.NOT_KNOWN, True),
        (RED, RED, Standing.TOLD, False),
        (RED, RED, Standing.CONFIRMED, False),
        (RED, BLUE, Standing.CONFIRMED, True),
        (BAR, Still(bytes(12)), Standing.TOLD, False),
    ],
)
def test_it_differs_until_it_was_told_and_that_is_known(
    desired: Look | None, told: Look | None, standing: Standing, *, differs: bool
) -> None:
    """What is not known is shown again; without a decision there is nothing to show."""
    state = SegmentState(PLACE, desired=desired, told=told, standing=standing)
    assert state.differs is differs


@pytest.mark.parametrize(
    ("told", "standing", "frame"),
    [
        (BAR, Standing.TOLD, BAR.frame),
        (BAR, Standing.CONFIRMED, BAR.frame),
        (BAR, Standing.NOT_KNOWN, None),
        (RED, Standing.CONFIRMED, None),
        (None, Standing.TOLD, None),
    ],
)
def test_only_a_known_frame_is_painted_over(
    told: Look | None, standing: Standing, frame: bytes | None
) -> None:
    """Else a difference would be painted over something else."""
    assert SegmentState(PLACE, told=told, standing=standing).frame_before() == frame


def test_a_new_look_is_tried_at_once() -> None:
    """Whatever held the old one up: a refusal, a disagreement, parts still to go."""
    state, other = SegmentState(PLACE), SegmentState(Place("sill", 2, 4, 4))
    state.desire(RED, 1, 10)
    delivery = Delivery("show", ((state, RED), (other, RED)), [])
    state.delivery = other.delivery = delivery
    state.not_before_ms, state.refused = 90_000, 4
    assert state.desire(BLUE, 1, 20)
    assert (state.not_before_ms, state.refused, state.desired_since_ms) == (0, 0, 20)
    assert delivery.abandoned
    assert state.delivery is other.delivery is None


def test_the_same_look_again_changes_its_gravity_only() -> None:
    """It goes on being shown, and has waited as long as before."""
    state = SegmentState(PLACE)
    state.desire(RED, 1, 10)
    state.not_before_ms = 500
    assert not state.desire(RED, 4, 20)
    assert (state.gravity, state.desired_since_ms, state.not_before_ms) == (4, 10, 500)


def test_urgency_orders_by_gravity_then_age_and_puts_the_refused_last() -> None:
    """What was refused just now must not starve what was not yet tried."""
    grave = SegmentState(PLACE, 3, gravity=5, desired_since_ms=9)
    old = SegmentState(PLACE, 2, gravity=1, desired_since_ms=1)
    young = SegmentState(PLACE, 1, gravity=1, desired_since_ms=2)
    refused = SegmentState(PLACE, 0, gravity=5, desired_since_ms=0, refused=1)
    ordered = sorted([young, refused, old, grave], key=lambda state: state.urgency)
    assert ordered == [grave, old, young, refused]


def test_it_disagrees_after_corrections_that_did_not_stick() -> None:
    """Each one more than allowed was tried in vain."""
    assert not SegmentState(PLACE, insisted=INSISTS).disagrees
    assert SegmentState(PLACE, insisted=INSISTS + 1).disagrees
