"""What came of requests: what somebody else set, who answers, alarms that do not wait."""

from __future__ import annotations

from bridge.lights.contact import Contact, Remark
from bridge.lights.controller_state import BACKOFF_CAP_MS
from bridge.lights.desired import Desired
from bridge.lights.standing import Standing
from tests.lights.bench import Bench, settled
from tests.lights.board import (
    ALARM,
    BLUE,
    EVERY_MS,
    FOREIGN,
    FOREIGN_LOOK,
    LONGER_BAR,
    PLACES,
    RED,
    Board,
)


def test_what_somebody_else_set_is_left_where_the_site_says_so() -> None:
    """Until the next decision, which is shown at once."""
    bench = settled(yields=("s1",))
    bench.board.drift(1)
    bench.run_for(3 * EVERY_MS)
    assert bench.remarks() == [Remark.YIELDED]
    assert bench.standing() is Standing.YIELDED
    assert not bench.board.shows(PLACES[0], RED)
    bench.decide(Desired(BLUE, decision="another"))
    bench.run_for(1000)
    assert bench.board.shows(PLACES[0], BLUE)


def test_the_same_decision_with_other_inputs_leaves_it() -> None:
    """A person's switch-off outlives the next per cent of a gauge."""
    bench = settled(yields=("s3",))
    bench.board.drift(3)
    bench.run_for(2 * EVERY_MS)
    bench.desire(LONGER_BAR, "s3")
    bench.run_for(2 * EVERY_MS)
    assert bench.standing("s3") is Standing.YIELDED
    assert not bench.board.shows(PLACES[2], LONGER_BAR)


def test_an_alarm_insists_where_everything_else_yields() -> None:
    """Nobody can have meant to switch off what they had not seen."""
    bench = settled(yields=("s1",))
    bench.decide(Desired(ALARM, 5, is_alarm=True, decision="fault"))
    bench.run_for(1000)
    bench.board.drift(1)
    bench.run_for(EVERY_MS + 1000)
    assert bench.board.shows(PLACES[0], ALARM)


def test_a_look_that_was_never_confirmed_is_no_persons_wish() -> None:
    """It may simply not have got through."""
    bench = settled(yields=("s1",))
    bench.desire(BLUE)
    bench.step()
    bench.board.drift(1)
    bench.run_for(2000)
    assert bench.remarks() == [Remark.DRIFTED]
    assert bench.board.shows(PLACES[0], BLUE)


def test_what_somebody_set_back_is_ours_again() -> None:
    """As if nobody had touched it."""
    bench = settled(yields=("s1",))
    before = dict(bench.board.shown[1])
    bench.board.drift(1)
    bench.run_for(EVERY_MS + 1000)
    bench.board.shown[1] = before
    bench.run_for(EVERY_MS)
    assert bench.standing() is Standing.CONFIRMED


def test_a_restart_ends_what_somebody_set() -> None:
    """What it shows after that is nobody's wish."""
    bench = settled(yields=("s1",))
    bench.board.drift(1)
    bench.run_for(EVERY_MS + 1000)
    bench.board.restart(bench.now_ms)
    bench.run_for(EVERY_MS + 2000)
    assert bench.board.shows(PLACES[0], RED)


def test_two_swapped_controllers_are_refused_and_named() -> None:
    """Each would show what the other should."""
    bench = Bench(identity="dresser", others={"pegboard": "rail by the door"})
    bench.desire(RED)
    bench.run_for(3000)
    assert [noticed.remark for noticed in bench.noticed] == [Remark.STRANGER]
    assert bench.noticed[0].detail == (
        "it says 'pegboard', expected 'dresser'; that is rail by the door, are the two swapped?"
    )
    assert bench.contact() is Contact.STRANGER


def test_the_first_reply_after_an_outage_tells_a_restart() -> None:
    """It is asked before anything is shown."""
    bench = settled()
    bench.desire(BLUE)
    bench.step("lost")
    bench.board.restart(bench.now_ms)
    assert bench.step() == "GET /pegs"
    assert bench.remarks() == [Remark.UNREACHABLE, Remark.BACK, Remark.RESTARTED]


def test_another_controller_at_the_same_address_is_asked_who_it_is() -> None:
    """One that is longer awake than the one before can be."""
    bench = settled(identity="pegboard")
    bench.board.booted_ms -= 3_600_000
    bench.board.name = "stranger"
    bench.run_for(EVERY_MS + 1000)
    assert bench.contact() is Contact.STRANGER


def test_what_another_showed_is_not_given_to_the_one_that_is_back() -> None:
    """What is not ours is read of it anew, and what is ours is shown again."""
    bench = settled("whole board", identity="pegboard")
    mine = bench.board
    bench.board = Board("other pegboard", is_whole=True, booted_ms=bench.now_ms)
    bench.board.shown[FOREIGN] = {"tint": "654321", "push": 1, "act": "calm"}
    bench.run_for(EVERY_MS + 1000)
    assert bench.contact() is Contact.STRANGER
    bench.board = mine
    bench.board.drift(1)
    bench.run_for(BACKOFF_CAP_MS + 2000)
    assert bench.board.shown[FOREIGN] == FOREIGN_LOOK
    assert bench.board.shows(PLACES[0], RED)
    assert bench.remarks() == [Remark.RESTARTED, Remark.STRANGER, Remark.BACK]


def test_a_busy_reply_after_an_outage_tells_no_restart() -> None:
    """It is asked again before anything is shown."""
    bench = settled()
    bench.desire(BLUE)
    bench.step("lost")
    bench.board.restart(bench.now_ms)
    assert bench.step("busy") == "GET /pegs"
    assert bench.step() == "GET /pegs"
    assert Remark.RESTARTED in bench.remarks()


def test_a_new_alarm_cuts_a_backoff_short() -> None:
    """What was tried in vain for minutes may answer now, and there is something to say."""
    bench = settled()
    bench.desire(BLUE)
    for _ in range(9):
        bench.step("lost")
    waits = (bench.reconciler.ready_ms(bench.now_ms) or 0) - bench.now_ms
    bench.now_ms += 600
    bench.decide(Desired(ALARM, 5, is_alarm=True, is_new=True, decision="fault"))
    assert waits > 1000
    assert bench.reconciler.ready_ms(bench.now_ms) == bench.now_ms
    assert waits <= BACKOFF_CAP_MS


def test_a_controller_that_asked_for_time_is_given_it_also_before_an_alarm() -> None:
    """Whoever says when to come again is out of order until then."""
    bench = settled()
    bench.desire(BLUE)
    assert bench.reconciler.choose(bench.now_ms) is not None
    bench.reconciler.answered(429, b"", 5000, bench.now_ms)
    bench.decide(Desired(ALARM, 5, is_alarm=True, is_new=True, decision="fault"))
    assert bench.reconciler.ready_ms(bench.now_ms) == bench.now_ms + 5000


def test_what_the_answer_lacks_is_told_apart_from_what_differs() -> None:
    """A place that no answer has is a mistake in the dialect."""
    bench = settled()
    bench.board.shown[1] = {"tint": "ffffff", "act": "calm"}
    bench.run_for(EVERY_MS + 100)
    assert [noticed.detail for noticed in bench.noticed] == ["colour, level (not in the answer)"]
