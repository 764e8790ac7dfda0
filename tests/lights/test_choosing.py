"""What goes next: gates, frames that move, expiring looks, several requests at once."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from bridge.lights.choosing import STEPS
from bridge.lights.desired import Desired
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.dialect.grammar import DialectGrammar, RequestTemplate, TimeCodec
from bridge.lights.look import Moving
from bridge.lights.pace import LEAST_CHANGE_MS
from bridge.lights.reconcile import Reconciler
from bridge.lights.standing import Standing
from bridge.scenes.scene import PERIOD_MS
from tests.lights.bench import REPLY_MS, Bench, settled
from tests.lights.board import ALARM, BAR, BLUE, BOARD, EVERY_MS, PEGS, PLACES, RED, TOLD

SLOW = Moving((bytes((255, 0, 0)) * 4, bytes((60, 0, 0)) * 4), (PERIOD_MS["slow"],))
NORMAL = replace(SLOW, periods_ms=(PERIOD_MS["normal"], PERIOD_MS["slow"]))


def test_the_steps_stand_in_the_order_that_the_page_tells() -> None:
    """Who it is, whether it began anew, and only then anything that shows."""
    shows = [step.what for step in STEPS if not step.alone]
    assert shows == ["what differs", "the next frame"]
    before = STEPS[: [step.what for step in STEPS].index("what differs")]
    assert all(step.gate for step in before)


def painted(bench: Bench) -> list[tuple[int, str]]:
    """When which ink was painted on the first peg."""
    return [
        (at, (request.body or b"").decode().split('"ink":"')[1][:6])
        for at, request in bench.sent
        if request.path == "/pegs/1/strokes"
    ]


def flashing(look: Moving = SLOW, *, limits: int = 8) -> Bench:
    """A board that bears so many requests a second, with one segment that flashes."""
    bench = settled("board")
    dialect = Dialect(replace(BOARD, limits=replace(BOARD.limits, requests=limits)))
    bench.reconciler = Reconciler("rail", dialect, PLACES, None, 12)
    bench.reconciler.start("seed", bench.now_ms)
    bench.desire(look)
    return bench


def test_a_painted_flash_alternates_at_its_rate() -> None:
    """From its brighter half on, each half for half a period, to within a reply."""
    bench = flashing()
    bench.run_for(12_000)
    changes = painted(bench)
    assert [ink for _, ink in changes[:4]] == ["ff0000", "3c0000", "ff0000", "3c0000"]
    assert len(changes) >= 2 * 10_000 // PERIOD_MS["slow"]
    for (before, ink), (after, other) in pairwise(changes):
        if ink != other:
            half = PERIOD_MS["slow"] / 2
            assert half - 2 * REPLY_MS - 200 <= after - before <= half + 2 * REPLY_MS + 200


@pytest.mark.parametrize("look", [SLOW, NORMAL])
@pytest.mark.parametrize("limits", [1, 2, 4, 8, 20])
def test_no_painted_sequence_flashes_too_fast(look: Moving, limits: int) -> None:
    """Any two changes of a segment are apart by half a period of the fastest flash allowed."""
    bench = flashing(look, limits=limits)
    for number in range(40):
        bench.run_for(137 * (number % 5 + 1))
        bench.desire((look, BLUE, RED)[number % 3])
    changes = [at for at, request in bench.sent if request.method == "PUT"]
    assert len(changes) > 10
    assert all(b - a >= LEAST_CHANGE_MS for a, b in pairwise(changes))


def test_a_link_that_is_too_slow_shows_the_brighter_half() -> None:
    """And says so; where a longer period is carried, that."""
    bench = flashing(NORMAL, limits=4)
    bench.run_for(20_000)
    gaps = [b - a for (a, _), (b, _) in pairwise(painted(bench)[2:])]
    assert max(gaps) > PERIOD_MS["normal"] / 2 + 100
    assert ["slower" in noticed.remark.value for noticed in bench.noticed][-1:] == [True]
    bench = flashing(NORMAL, limits=1)
    bench.run_for(20_000)
    assert {ink for _, ink in painted(bench)} == {"ff0000"}
    assert "stands still" in bench.noticed[-1].detail


def test_what_is_new_goes_before_the_next_frame() -> None:
    """However often frames follow, another segment's alarm does not wait for them."""
    bench = flashing(limits=4)
    bench.run_for(5000)
    bench.desire(ALARM, "s2", gravity=5)
    begun = bench.now_ms
    bench.run_for(1000)
    shown = [at for at, request in bench.sent if at >= begun and request.path == "/pegs"]
    assert shown[0] - begun <= 251


def test_what_moves_is_painted_whole_once_in_a_while() -> None:
    """It is not compared, so that what somebody else painted there goes by itself."""
    bench = flashing()
    bench.run_for(5000)
    bench.board.drift(1)
    bench.run_for(EVERY_MS + 2 * PERIOD_MS["slow"])
    assert bench.board.shows(PLACES[0], SLOW)


def test_as_many_shows_are_under_way_as_the_dialect_bears() -> None:
    """One for a segment; reading waits until none is."""
    limits = replace(PEGS.limits, requests=None, in_flight=2)
    dialect = Dialect(replace(PEGS, limits=limits, identify=None))
    reconciler = Reconciler("rail", dialect, PLACES, None, 12)
    reconciler.start("seed", 0)
    for place in PLACES:
        reconciler.desire(place.segment, Desired(RED), 0)
    reconciler.desire("s1", Desired(BLUE), 0)
    first, second = reconciler.choose(0, 1), reconciler.choose(0, 2)
    assert first is not None
    assert second is not None
    assert first.places != second.places
    assert reconciler.choose(0, 3) is None
    reconciler.answered(200, b"{}", None, 10, 2)
    third = reconciler.choose(10, 4)
    assert third is not None
    assert third.places not in (first.places, second.places)


def test_a_frame_that_must_not_stay_goes_only_with_the_next_one_in_sight() -> None:
    """Where the limits are used up it is left out: the light stays in its brighter half."""
    bench = flashing(limits=2)
    bench.run_for(2000)
    for number in range(30):
        bench.desire((RED, BLUE)[number % 2], "s2")
        bench.run_for(400)
    dim = [at for at, ink in painted(bench) if ink == "3c0000"]
    bright = [at for at, ink in painted(bench) if ink == "ff0000"]
    for at in dim:
        assert min((each - at for each in bright if each > at), default=0) <= 2 * 1002


def test_a_look_that_expires_is_told_again_in_time() -> None:
    """At half its time, so that one that gets lost leaves time for another."""
    dialect = Dialect(replace(PEGS, lasts_ms=20_000, identify=None))
    bench = Bench()
    bench.reconciler = Reconciler("rail", dialect, PLACES, None, 12)
    bench.reconciler.start("seed", 0)
    bench.desire(RED)
    bench.run_for(60_000)
    told = [at for at, request in bench.sent if request.path == "/pegs/1"]
    assert len(told) >= 6
    assert all(9000 <= b - a <= 10_500 for a, b in pairwise(told))


FADING = replace(
    PEGS, show=RequestTemplate("PUT", "/pegs/{number}", body={**TOLD, "ease": "{fade}"})
)


@pytest.mark.parametrize(
    ("grammar", "told_ms"),
    [
        (replace(FADING, fade=TimeCodec(1)), 700),
        # The controller counts in halves of a second, and is told two of them.
        (replace(FADING, fade=TimeCodec(500)), 1000),
        # It is told of no fade, and makes none.
        (PEGS, 0),
    ],
)
def test_what_fades_is_read_back_when_it_is_there(grammar: DialectGrammar, told_ms: int) -> None:
    """Not while it is something in between, and not later."""
    bench = settled()
    bench.reconciler = Reconciler("rail", Dialect(grammar), PLACES, None, 12)
    bench.reconciler.start("seed", bench.now_ms)
    bench.desire(RED)
    bench.run_for(20_000)
    bench.desire(replace(BLUE, fade_ms=700))
    bench.step()
    shown_ms = bench.now_ms
    assert bench.step() == "GET /pegs"
    assert bench.sent[-1][0] == shown_ms + 300 + told_ms


def test_painted_pixels_are_read_back_when_they_are_there() -> None:
    """A still frame after its fade, in the controller's own units; what moves tells none."""
    assert PEGS.paint is not None
    paint = replace(PEGS.paint, body={**PEGS.paint.body, "ease": "{fade}"})
    grammar = replace(
        PEGS, paint=paint, fade=TimeCodec(500), limits=replace(PEGS.limits, body_bytes=200)
    )
    bench = settled()
    bench.reconciler = Reconciler("rail", Dialect(grammar), PLACES, None, 12)
    bench.reconciler.start("seed", bench.now_ms)
    bench.desire(RED)
    bench.run_for(20_000)
    bench.desire(replace(BAR, fade_ms=700))
    assert bench.step() == "PUT /pegs/1/row"
    assert b'"ease":2}' in (bench.sent[-1][1].body or b"")
    shown_ms = bench.now_ms
    assert bench.step() == "GET /pegs"
    assert bench.sent[-1][0] == shown_ms + 300 + 1000
    # Nothing differs then, so that it is the last of it.
    assert bench.reconciler.segments["s1"].standing is Standing.CONFIRMED
    bench.desire(SLOW)
    assert bench.step() == "PUT /pegs/1/row"
    assert b'"ease":0}' in (bench.sent[-1][1].body or b"")
