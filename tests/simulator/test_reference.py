"""The reference interpreter: it must tell right from wrong by itself, as it is the judge."""

from __future__ import annotations

import pytest

from bridge.simulator.life import Closed, Condition, Doing, Life, Snag, Stretch
from bridge.simulator.reference import (
    LOOKS,
    Look,
    Press,
    Shows,
    Waiting,
    differs,
    glance_over,
    recognised,
    scenes_over,
)

PIXELS = 12
GREEN, TROUGH = (0, 106, 77), (0, 44, 54)


def condition(doing: Doing, snag: Snag | None = None, closed: Closed | None = None) -> Condition:
    """A condition of which only what decides a scene matters."""
    return Condition(doing, 0, 0.5, "keel", snag, closed, 20.0, 20.0, None)


@pytest.mark.parametrize(
    ("printer", "now", "scene"),
    [
        ("kestrel", condition(Doing.OFF), "not-known"),
        ("kestrel", condition(Doing.RESTING), "ready"),
        ("kestrel", condition(Doing.WARMING), "filling"),
        ("kestrel", condition(Doing.WORKING), "filling"),
        ("kestrel", condition(Doing.HELD), "look-in"),
        ("kestrel", condition(Doing.SNAGGED, Snag.SPOOL), "feed-me, new"),
        ("plover", condition(Doing.SNAGGED, Snag.FEED), "trouble, new"),
        ("plover", condition(Doing.SNAGGED, Snag.LID), "trouble, new"),
        ("heron", condition(Doing.SNAGGED, Snag.SPOOL), "look-in"),
        ("kestrel", condition(Doing.RESTING, closed=Closed.SOUND), "fetch-me"),
        ("kestrel", condition(Doing.RESTING, closed=Closed.SPOILED), "clear-me"),
        ("heron", condition(Doing.RESTING, closed=Closed.CALLED_OFF), "clear-me"),
    ],
)
def test_a_condition_asks_for_a_scene(printer: str, now: Condition, scene: str) -> None:
    """One scene for each condition; without reasons never one that needs them."""
    assert Waiting(printer).scene(now) == scene


def test_what_nobody_acknowledged_outlives_its_cause() -> None:
    """Acknowledged, it goes with it; a finished part waits until somebody takes it, or goes on."""
    life = Life(
        [
            Stretch(Doing.WORKING, 1000),
            Stretch(Doing.SNAGGED, 1000, snag=Snag.SPOOL),
            Stretch(Doing.WORKING, 2000),
            Stretch(Doing.SNAGGED, 2000, snag=Snag.LID),
            Stretch(Doing.WORKING, 1000, reaches=1.0),
            Stretch(Doing.RESTING, 1000, closed=Closed.SOUND),
            Stretch(Doing.RESTING, 2000),
            Stretch(Doing.WORKING, 1000),
        ]
    )
    presses = [Press(3000, "lathe"), Press(5000, "lathe"), Press(9000, "bench")]
    assert scenes_over("kestrel", life, presses, 20_000) == [
        (0, "filling"),
        (1000, "feed-me, new"),
        (3000, "filling"),
        (4000, "trouble, new"),
        (5000, "trouble"),
        (6000, "filling"),
        (7000, "fetch-me"),
        (9000, "ready"),
        (10_000, "filling"),
    ]
    assert scenes_over("kestrel", life, [], 20_000)[-1] == (4000, "trouble, new")


def test_a_glance_tells_the_worst_of_several() -> None:
    """New ones first; whoever is well is not told of."""
    one = [(0, "filling"), (10, "feed-me, new"), (20, "feed-me"), (30, "ready")]
    other = [
        (0, "look-in"),
        (15, "trouble, new"),
        (18, "trouble"),
        (25, "not-known"),
        (40, "ready"),
    ]
    assert glance_over([one, other]) == [
        (0, "warm"),
        (10, "feed-me, new"),
        (15, "trouble, new"),
        (18, "feed-me, new"),
        (20, "trouble"),
        (25, "feed-me"),
        (30, "not-known"),
        (40, "warm"),
    ]


def still(*pixels: tuple[int, int, int]) -> bytes:
    """A frame of these pixels."""
    return bytes(part for pixel in pixels for part in pixel)


def bar(lit: int, *edge: tuple[int, int, int]) -> bytes:
    """A bar of so many lit pixels, perhaps a mixed one, and the trough."""
    return still(*[GREEN] * lit, *edge, *[TROUGH] * (PIXELS - lit - len(edge)))


def beating(strong: bytes, weak: bytes, period_ms: int, now_ms: int) -> bytes:
    """A beat as a controller would make it."""
    return (strong if now_ms % period_ms * 2 < period_ms else weak) * PIXELS


BLUE, WEAK_BLUE = bytes((34, 77, 204)), bytes((8, 19, 51))
GREY, BLACK = (54, 54, 54), (0, 0, 0)


RIGHT = [
    ("dark", bytes(PIXELS * 3)),
    ("warm", still(*[(77, 50, 26)] * PIXELS)),
    ("fetch-me", still(*[(25, 58, 153)] * PIXELS)),
    ("fetch-me", still(*[(27, 56, 155)] * PIXELS)),
    ("not-known", still(*[GREY, BLACK, BLACK] * 4)),
    ("filling", bar(6)),
    ("filling", bar(5, (0, 80, 66))),
    ("filling", bar(6, (0, 80, 66))),
]


@pytest.mark.parametrize(("scene", "frame"), RIGHT)
def test_the_right_pixels_pass(scene: str, frame: bytes) -> None:
    """Rounding on the way and the pixel at the edge of a bar are forgiven."""
    assert differs(scene, lambda _: frame, 0, (0.5, 0.5)) is None


WRONG = [
    ("dark", still(*[BLACK] * 11, (3, 0, 0))),
    ("fetch-me", still(*[(25, 58, 153)] * 11, (25, 58, 157))),
    ("fetch-me", still(*[(25, 58, 153), BLACK, BLACK] * 4)),
    ("not-known", still(*[GREY] * PIXELS)),
    ("not-known", still(*[BLACK, GREY, BLACK] * 4)),
    ("not-known", bytes(PIXELS * 3)),
    ("filling", bar(3)),
    ("filling", bar(9)),
    ("filling", bar(6, BLACK)),
    ("filling", bar(6, (0, 90, 70), (0, 70, 60))),
    ("filling", bar(6, TROUGH, GREEN)),
    ("filling", bytes(PIXELS * 3)),
    ("feed-me", BLUE * PIXELS),
    ("feed-me", WEAK_BLUE * PIXELS),
    ("trouble, new", still(*[(255, 42, 26)] * PIXELS)),
]


@pytest.mark.parametrize(("scene", "frame"), WRONG)
def test_wrong_pixels_are_told(scene: str, frame: bytes) -> None:
    """One pixel is enough, and so is the right picture in the wrong share."""
    assert differs(scene, lambda _: frame, 0, (0.5, 0.5))


@pytest.mark.parametrize(
    ("scene", "strong", "weak", "period_ms", "passes"),
    [
        ("feed-me", BLUE, WEAK_BLUE, 1600, True),
        ("feed-me", BLUE, WEAK_BLUE, 2000, True),
        ("feed-me", BLUE, WEAK_BLUE, 500, False),
        ("feed-me", BLUE, WEAK_BLUE, 4000, False),
        ("feed-me", BLUE, bytes(3), 1600, False),
        ("feed-me", BLUE, bytes((30, 70, 190)), 1600, False),
        ("feed-me", bytes((255, 176, 0)), bytes((64, 44, 0)), 1600, False),
        ("see-me", bytes((255, 176, 0)), bytes((64, 44, 0)), 1600, True),
        ("feed-me, new", BLUE, WEAK_BLUE, 1600, False),
        ("trouble, new", bytes((255, 42, 26)), bytes((64, 11, 7)), 500, True),
        ("trouble, new", bytes((255, 42, 26)), bytes((64, 11, 7)), 1600, False),
        ("trouble", bytes((255, 42, 26)), bytes((64, 11, 7)), 500, False),
        ("fetch-me", bytes((25, 58, 153)), bytes((6, 14, 38)), 500, False),
    ],
)
def test_a_beat_is_judged_over_time(
    scene: str, strong: bytes, weak: bytes, period_ms: int, *, passes: bool
) -> None:
    """Its colour, its weak half, which is never black, and its period; from any instant on."""
    for begin in (0, 130, 999, 12_345):
        verdict = differs(scene, lambda at: beating(strong, weak, period_ms, at), begin, (0, 1))
        assert (verdict is None) is passes


@pytest.mark.parametrize(
    ("done", "passes"),
    [((0.4, 0.5), True), ((0.5, 0.6), True), ((0.0, 0.3), False), ((0.7, 1.0), False)],
)
def test_a_bar_must_tell_a_share_that_was_true(done: tuple[float, float], *, passes: bool) -> None:
    """Within the shares that were true since the last message, and a pixel to either side."""
    assert (differs("filling", lambda _: bar(6), 0, done) is None) is passes


@pytest.mark.parametrize(("scene", "frame"), [one for one in RIGHT if one[0] != "filling"])
def test_pixels_are_recognised(scene: str, frame: bytes) -> None:
    """As the scene that they are."""
    assert recognised(lambda _: frame, 0) == scene


def test_unknown_pixels_are_described() -> None:
    """By their colours."""
    assert recognised(lambda _: bytes((1, 99, 3)) * 4, 0) == "none of the scenes (#016303)"


def shown(look: Look) -> Shows:
    """Pixels that are this look."""
    strong = bytes(look.full)
    weak = bytes(part // 4 for part in strong)
    frames = {"whole": strong * PIXELS, "thirds": (strong + bytes(6)) * 4, "bar": bar(6)}
    if look.form == "beats":
        return lambda at: beating(strong, weak, sum(look.period_ms) // 2, at)
    return lambda _: frames[look.form]


@pytest.mark.parametrize("name", LOOKS)
def test_no_two_looks_pass_for_each_other(name: str) -> None:
    """A segment that shows one scene is never taken for another."""
    shows = shown(LOOKS[name])
    assert [other for other in LOOKS if differs(other, shows, 0, (0.0, 1.0)) is None] == [name]
