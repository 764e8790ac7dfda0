"""Segments that somebody holds, until a time or until freed."""

from __future__ import annotations

import pytest

from bridge.engine.holding import Held, Holding
from bridge.engine.records import HoldRecord
from bridge.facts.moment import Moment
from tests.engine.evening import HOUR_MS, SIX_PM, site

SCENES = ", ".join(site().scenes)

FREE, PRINTERS = "s3", "s1"


def at(ms: int) -> Moment:
    """An instant of the evening."""
    return Moment(ms, SIX_PM + ms)


def holding(scene: str = "dim", for_ms: int | None = HOUR_MS, segment: str = FREE) -> Holding:
    """One segment, held and confirmed."""
    there = Holding(site())
    there.confirm(segment, there.hold(segment, scene, for_ms, "ann", at(0)))
    return there


REFUSED = [
    ((FREE,), "nowhere", HOUR_MS, f"there is no scene 'nowhere'; there are {SCENES}"),
    ((FREE,), "filling", HOUR_MS, "'filling' is a gauge, which needs a printer"),
    ((FREE,), "dim", 0, "it must last for some time"),
    ((FREE,), "dim", -1, "it must last for some time"),
    ((PRINTERS,), "dim", None, "s1 shows a printer, so it must end: say for how long"),
    (
        (PRINTERS,),
        "ready",
        HOUR_MS,
        "s1 shows a printer, so the scene must say resting; 'ready' says well",
    ),
    (
        (FREE, PRINTERS),
        "see-me",
        HOUR_MS,
        "s1 shows a printer, so the scene must say resting; 'see-me' says trouble",
    ),
    ((FREE, PRINTERS), "dim", None, "s1 shows a printer, so it must end: say for how long"),
]


@pytest.mark.parametrize(("segments", "scene", "for_ms", "why"), REFUSED)
def test_what_cannot_be_held_so(
    segments: tuple[str, ...], scene: str, for_ms: int | None, why: str
) -> None:
    """One sentence, with what was asked; any one segment is enough."""
    assert Holding(site()).why_not(segments, scene, for_ms, at(0)) == why


@pytest.mark.parametrize(
    ("segments", "scene", "for_ms"),
    [
        ((FREE,), "see-me", None),
        ((FREE,), "ready", 1),
        ((PRINTERS,), "dim", 1),
        ((FREE, PRINTERS), "warm", HOUR_MS),
    ],
)
def test_what_can(segments: tuple[str, ...], scene: str, for_ms: int | None) -> None:
    """Freely where there is no printer; resting and with an end where there is one."""
    assert Holding(site()).why_not(segments, scene, for_ms, at(0)) is None


def test_without_a_wall_clock_nothing_can_end_by_it() -> None:
    """What has no end needs none."""
    there = Holding(site())
    unknown = Moment(0)
    assert there.why_not((FREE,), "dim", HOUR_MS, unknown) == "the wall clock is not known yet"
    assert there.why_not((FREE,), "dim", None, unknown) is None


def test_it_shows_only_once_it_is_confirmed() -> None:
    """Of a hold that is not kept yet nothing is seen."""
    there = Holding(site())
    number = there.hold(FREE, "dim", HOUR_MS, "ann", at(0))
    assert there.scene(FREE) is None
    there.confirm(FREE, number)
    assert there.scene(FREE) == "dim"
    assert there.scene("s5") is None


def test_it_ends_by_itself_at_the_very_millisecond() -> None:
    """And with it its record says that there is none."""
    there = holding()
    assert there.deadline() == HOUR_MS
    assert there.settle(at(HOUR_MS - 1)) == []
    assert there.record(FREE) == HoldRecord(FREE, "dim", SIX_PM + HOUR_MS, "ann")
    assert there.settle(at(HOUR_MS)) == [FREE]
    assert (there.scene(FREE), there.deadline()) == (None, None)
    assert there.record(FREE) == HoldRecord(FREE, None, None, "")
    assert list(there.records()) == []


def test_a_confirmation_is_of_one_hold() -> None:
    """A late one cannot show what was wished after it, nor what was released."""
    there = Holding(site())
    first = there.hold(FREE, "dim", HOUR_MS, "ann", at(0))
    there.release(FREE)
    second = there.hold(FREE, "warm", HOUR_MS, "ann", at(1))
    there.confirm(FREE, first)
    assert there.scene(FREE) is None
    there.confirm(FREE, second)
    assert there.scene(FREE) == "warm"
    there.confirm("s5", 99)
    assert there.scene("s5") is None


def test_the_hold_before_ends_at_its_own_time() -> None:
    """Also while another is not kept yet."""
    there = holding("dim", for_ms=1000)
    there.hold(FREE, "warm", HOUR_MS, "bob", at(500))
    assert (there.scene(FREE), there.deadline()) == ("dim", 1000)
    assert there.settle(at(1000)) == [FREE]
    assert (there.scene(FREE), there.deadline()) == (None, HOUR_MS + 500)
    assert there.record(FREE).scene == "warm"


def test_one_without_an_end_has_no_deadline() -> None:
    """Until somebody releases it."""
    there = holding(for_ms=None)
    assert there.deadline() is None
    assert there.settle(at(1000 * HOUR_MS)) == []
    assert there.release(FREE)
    assert not there.release(FREE)
    assert there.scene(FREE) is None


def test_holding_anew_replaces_the_end_and_the_scene() -> None:
    """The later one counts, once it is kept; until then the one before shows on."""
    there = holding(scene="dim")
    number = there.hold(FREE, "warm", 2 * HOUR_MS, "bob", at(1000))
    assert there.scene(FREE) == "dim"
    there.confirm(FREE, number)
    assert there.scene(FREE) == "warm"
    assert there.deadline() == 2 * HOUR_MS + 1000
    assert there.record(FREE).who == "bob"


@pytest.mark.parametrize("step_ms", [-HOUR_MS, HOUR_MS // 2, 0])
def test_the_end_is_one_of_the_wall_clock(step_ms: int) -> None:
    """It moves as the clock is stepped."""
    there = holding()
    there.clock(Moment(1000, SIX_PM + 1000 + step_ms))
    assert there.deadline() == HOUR_MS - step_ms


def test_a_clock_that_was_put_past_the_end_ends_it_now_and_not_in_the_past() -> None:
    """Nothing happens before what has happened already."""
    there = holding()
    now = Moment(1000, SIX_PM + 3 * HOUR_MS)
    there.clock(now)
    assert there.deadline() == 1000
    assert there.settle(now) == [FREE]


def test_a_clock_that_is_lost_leaves_the_end_where_it_was() -> None:
    """The monotonic one goes on."""
    there = holding()
    there.clock(Moment(1000))
    assert there.deadline() == HOUR_MS
    assert there.scene(FREE) == "dim"


# What an earlier start left


def restored(record: HoldRecord, now: Moment) -> tuple[Holding, str | None]:
    """Taken up."""
    there = Holding(site())
    return there, there.restore(record, now)


def test_a_restored_hold_waits_for_the_wall_clock() -> None:
    """Until then nobody knows whether it is over."""
    there, why = restored(HoldRecord(FREE, "dim", SIX_PM + HOUR_MS, "ann"), Moment(0))
    assert why is None
    assert (there.scene(FREE), there.deadline()) == (None, None)
    there.clock(Moment(500, SIX_PM))
    assert (there.scene(FREE), there.deadline()) == ("dim", HOUR_MS + 500)


def test_one_without_an_end_needs_no_clock() -> None:
    """It acts at once."""
    there, _ = restored(HoldRecord(FREE, "see-me", None, "ann"), Moment(0))
    assert there.scene(FREE) == "see-me"
    assert list(there.records()) == [HoldRecord(FREE, "see-me", None, "ann")]


def test_one_that_ended_meanwhile_is_due_at_once() -> None:
    """At the first instant at which that can be known."""
    there, _ = restored(HoldRecord(FREE, "dim", SIX_PM - 1, "ann"), at(0))
    assert there.settle(at(0)) == [FREE]


NOT_TAKEN_UP = [
    (HoldRecord("s9", "dim", None, "ann"), "there is no segment s9 any more"),
    (HoldRecord(FREE, "gone", None, "ann"), f"there is no scene 'gone'; there are {SCENES}"),
    (
        HoldRecord(PRINTERS, "dim", None, "ann"),
        "s1 shows a printer, so it must end: say for how long",
    ),
    (
        HoldRecord(PRINTERS, "ready", SIX_PM + HOUR_MS, "ann"),
        "s1 shows a printer, so the scene must say resting; 'ready' says well",
    ),
]


@pytest.mark.parametrize(("record", "why"), NOT_TAKEN_UP)
def test_what_the_site_no_longer_allows_is_not_taken_up(record: HoldRecord, why: str) -> None:
    """A segment that got a printer meanwhile included."""
    there, told = restored(record, at(0))
    assert told == why
    assert there.held == {}


def test_a_hold_that_was_released_is_none() -> None:
    """And nothing to tell of."""
    there, why = restored(HoldRecord("s9", None, None, ""), at(0))
    assert (why, there.held) == (None, {})


@pytest.mark.parametrize(
    ("until_wall_ms", "due_ms", "confirmed", "acts"),
    [
        (None, None, True, True),
        (None, None, False, False),
        (5, 5, True, True),
        (5, 5, False, False),
        (5, None, True, False),
    ],
)
def test_when_a_hold_acts(
    until_wall_ms: int | None, due_ms: int | None, confirmed: bool, acts: bool
) -> None:
    """Confirmed, and with an end that is known or none."""
    assert Held("dim", "ann", until_wall_ms, due_ms, confirmed).acts is acts
