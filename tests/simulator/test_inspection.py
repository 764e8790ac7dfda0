"""When a segment is judged, and that the judging can fail."""

from __future__ import annotations

import pytest

from bridge.simulator.evening import Mishap, controllers, evening, presses
from bridge.simulator.inspection import Judging, Settling, Verdict, judge, judgings, summed_up
from bridge.simulator.life import Doing, Life, Snag, Stretch
from bridge.simulator.pixels import Glow
from bridge.simulator.reference import SEGMENTS

SETTLING = Settling(heard_ms=1000, silent_ms=3000, mended_ms=5000)
LIVES = {
    "kestrel": Life(
        [
            Stretch(Doing.WARMING, 2000),
            Stretch(Doing.WORKING, 4000, reaches=0.5),
            Stretch(Doing.SNAGGED, 1500, snag=Snag.SPOOL),
            Stretch(Doing.OFF, 3700),
            Stretch(Doing.RESTING, 800),
        ]
    ),
    "plover": Life([Stretch(Doing.RESTING, 12_000)]),
    "heron": Life([Stretch(Doing.RESTING, 12_000)]),
}


def of_frame(mishaps: list[Mishap]) -> list[tuple[int, str, int]]:
    """When the frame of the door is judged, as what, and since when it may tell."""
    return [
        (one.at_ms, one.scene, one.since_ms)
        for one in judgings(LIVES, 12_000, SETTLING, mishaps)
        if one.segment.name == "door-frame"
    ]


def test_a_span_is_judged_once_settled_and_before_it_ends() -> None:
    """Neighbours of one scene are one span; two looks close together are one."""
    assert of_frame([]) == [
        (1000, "filling", 0),
        (5800, "filling", 4800),
        (7000, "feed-me, new", 6000),
        (11_800, "feed-me, new", 10_800),
    ]


def test_nothing_is_judged_while_its_controller_mends() -> None:
    """From a mishap on until it is over; other controllers are judged meanwhile."""
    assert of_frame([Mishap(900, "door", "reboots")]) == of_frame([])[2:]
    assert of_frame([Mishap(900, "rack", "reboots")]) == of_frame([])


def test_everything_is_in_order_of_time() -> None:
    """Of all the segments together."""
    times = [one.at_ms for one in judgings(LIVES, 12_000, SETTLING, [])]
    assert times == sorted(times)
    assert {one.segment for one in judgings(LIVES, 12_000, SETTLING, [])} == set(SEGMENTS)


def test_the_evening_judges_every_scene_on_the_way() -> None:
    """Each of the legend, and the truth at its end for every segment."""
    printers = evening(60)
    lives = {one.name: one.life for one in (printers.kestrel, printers.plover, printers.heron)}
    found = judgings(lives, 60_000, SETTLING, [], presses(60))
    assert {one.scene for one in found} == {
        *("dark", "warm", "ready", "filling", "not-known"),
        *("fetch-me", "clear-me", "look-in", "feed-me", "trouble"),
        *("feed-me, new", "trouble, new"),
    }
    last = {one.segment.name: one.at_ms for one in found}
    assert set(last.values()) == {59_800}


FEED_ME, GREEN, TROUGH = bytes((34, 77, 204)), bytes((0, 106, 77)), bytes((0, 44, 54))


@pytest.mark.parametrize(
    ("at_ms", "glow", "shows", "right"),
    [
        (7000, Glow(FEED_ME * 120, 600), "feed-me, new", True),
        (7000, Glow(FEED_ME * 120), "none of the scenes (#224dcc)", False),
        (7000, Glow(bytes((25, 58, 153)) * 120), "fetch-me", False),
        (5800, Glow(GREEN * 50 + TROUGH * 70), "filling", True),
        (5800, Glow(GREEN * 30 + TROUGH * 90), "filling", False),
    ],
)
def test_pixels_are_judged_by_the_truth(at_ms: int, glow: Glow, shows: str, *, right: bool) -> None:
    """What was wanted, what is seen, and what is wrong where they differ."""
    (judging,) = (
        one
        for one in judgings(LIVES, 12_000, SETTLING, [])
        if (one.segment.name, one.at_ms) == ("door-frame", at_ms)
    )
    door = controllers()["door"]
    door.board.put(0, glow)
    verdict = judge(judging, LIVES, door, at_ms, 123_456)
    assert (verdict.wanted, verdict.shows) == (judging.scene, shows)
    assert (verdict.wrong is None) is right


def test_a_segment_that_was_never_judged_stands_in_the_sum() -> None:
    """So that it cannot pass unseen."""
    verdict = Verdict(1, "shelf", "ready", "ready", None)
    found = summed_up([verdict])
    assert found["shelf"] == (verdict,)
    assert found["bench-left"] == ()
    assert list(found) == [segment.name for segment in SEGMENTS]


def test_judging_is_data() -> None:
    """Equal where it means the same, so that a campaign can compare."""
    assert Judging(1, SEGMENTS[0], "ready", 0) == Judging(1, SEGMENTS[0], "ready", 0)
