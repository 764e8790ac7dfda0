"""What is known of one controller."""

from __future__ import annotations

from bridge.lights.desired import Desired
from bridge.lights.look import Moving
from tests.lights.bench import Bench, settled
from tests.lights.board import ALARM, RED, TWO_FRAMES


def test_it_refuses_while_anything_of_it_is_refused() -> None:
    """Though it answers everything else."""
    bench = settled()
    bench.board.refuses = {1}
    bench.desire(ALARM)
    bench.run_for(2000)
    assert bench.contact().value == "answers with an error"
    assert "show: refuses the request" in bench.reconciler.detail


def test_only_what_must_be_told_differs() -> None:
    """A segment that shows what it should is not looked at again."""
    bench = Bench()
    bench.desire(RED)
    bench.run_for(3000)
    assert bench.reconciler.ready_ms(bench.now_ms) != bench.now_ms
    assert not bench.reconciler.segments["s1"].differs


def test_a_period_is_chosen_for_all_that_move() -> None:
    """Two segments take twice the requests, so that both go slower together."""
    bench = settled("board")
    look = Moving(TWO_FRAMES.frames, (1250, 4000))
    bench.desire(look, "s1")
    bench.run_for(5000)
    assert bench.reconciler.slower == ""
    bench.decide(Desired(look), "s2")
    bench.run_for(5000)
    assert bench.reconciler.slower == (
        "s1 every 4000 ms instead of every 1250 ms, s2 every 4000 ms instead of every 1250 ms"
    )
