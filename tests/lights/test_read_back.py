"""What a controller must be told beside looks: its segments, its main switch, what was there."""

from __future__ import annotations

from dataclasses import dataclass, field

from bridge.lights.boot_look import DAY_MS
from bridge.lights.contact import Noticed, Remark
from bridge.lights.desired import Desired
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Native
from bridge.lights.reconcile import Reconciler
from bridge.lights.standing import Standing
from tests.lights.mast import BLIND_DIALECT, DIALECT, PLACES, Mast

RED = Native("steady", (255, 0, 0), 1.0)
WARM = Native("steady", (255, 160, 80), 0.4)
GREY = Native("steady", (200, 200, 200), 0.25)
HOUR_MS = 3_600_000


@dataclass
class Deck:
    """A reconciler and its mast, over a network that loses nothing."""

    dialect: Dialect = DIALECT
    yields: tuple[str, ...] = ()
    keeps: dict[str, int] = field(default_factory=dict)
    boot: Native | None = None
    mast: Mast = field(default_factory=Mast)
    now_ms: int = 0
    noticed: list[Noticed] = field(default_factory=list)
    reconciler: Reconciler = field(init=False)

    def __post_init__(self) -> None:
        self.reconciler = Reconciler(
            "mast",
            self.dialect,
            PLACES,
            None,
            10,
            yields=self.yields,
            keeps_for_ms=self.keeps,
            boot_look=self.boot,
        )
        self.reconciler.start("seed", 0)

    def decide(self, look: Native, segment: str = "low", **weighs: bool) -> None:
        """A decision, another one each time."""
        desired = Desired(look, decision=f"{look} {self.now_ms}", **weighs)
        self.reconciler.desire(segment, desired, self.now_ms)

    def run_for(self, milliseconds: int) -> list[str]:
        """What was asked of the mast until then."""
        until, self.mast.done = self.now_ms + milliseconds, []
        while (ready := self.reconciler.ready_ms(self.now_ms)) is not None and ready <= until:
            self.now_ms = ready
            planned = self.reconciler.choose(self.now_ms)
            if planned is None:
                continue
            status, body = self.mast.perform(planned.prepared)
            self.now_ms += 10
            self.noticed += self.reconciler.answered(status, body, None, self.now_ms)
        self.now_ms = until
        return self.mast.done

    def remarks(self) -> list[Remark]:
        """Since the last call."""
        remarks, self.noticed = [each.remark for each in self.noticed], []
        return remarks

    def standing(self, segment: str = "low") -> Standing:
        """How much is known."""
        return self.reconciler.segments[segment].standing


def test_a_segment_is_defined_before_it_is_shown() -> None:
    """After a look at what is defined already; and again after a power cut."""
    deck = Deck()
    deck.decide(RED)
    done = deck.run_for(5000)
    assert done[:3] == ["GET /mast", "PUT /pennants/a/place", "PUT /pennants/a"]
    assert deck.mast.pennants["a"] == {
        "from": 0,
        "span": 4,
        "dye": "ff0000",
        "wind": 255,
        "cloth": "plain",
    }
    assert "b" not in deck.mast.pennants
    deck.mast.lose_power()
    deck.run_for(20_000)
    assert deck.mast.pennants["a"]["dye"] == "ff0000"
    assert deck.remarks() == [Remark.RESTARTED]


def test_what_is_defined_already_is_not_told_so_again() -> None:
    """Every start of the bridge would wear it out."""
    deck = Deck()
    deck.mast.pennants["a"] = {"from": 0, "span": 4, "dye": "000000", "wind": 0}
    deck.decide(RED)
    assert "PUT /pennants/a/place" not in deck.run_for(60_000)


def test_a_definition_that_somebody_changed_is_set_right() -> None:
    """And the look is shown again, where it should have been."""
    deck = Deck()
    deck.decide(RED)
    deck.run_for(5000)
    deck.mast.pennants["a"]["span"] = 2
    done = deck.run_for(20_000)
    assert done.index("PUT /pennants/a/place") < done.index("PUT /pennants/a")
    assert deck.mast.pennants["a"]["span"] == 4


def test_where_no_read_tells_it_a_segment_is_defined_at_the_start() -> None:
    """Once, and again after a restart."""
    deck = Deck(BLIND_DIALECT)
    deck.decide(RED)
    assert deck.run_for(60_000).count("PUT /pennants/a/place") == 1
    deck.mast.lose_power()
    assert deck.run_for(20_000).count("PUT /pennants/a/place") == 1


def test_a_main_switch_that_is_off_is_set_right() -> None:
    """And told once."""
    deck = Deck()
    deck.decide(RED)
    deck.run_for(5000)
    deck.mast.up = False
    deck.run_for(20_000)
    assert deck.mast.up
    assert deck.remarks() == [Remark.SWITCHED_OFF]


def test_a_persons_switch_off_is_left_until_the_next_decision() -> None:
    """Where every segment of the controller yields; an alarm is a decision."""
    deck = Deck(yields=("low", "high"))
    deck.decide(RED)
    deck.decide(WARM, "high")
    deck.run_for(20_000)
    deck.mast.up = False
    assert all(each == "GET /mast" for each in deck.run_for(60_000))
    assert deck.standing() is deck.standing("high") is Standing.YIELDED
    assert deck.remarks() == [Remark.SWITCHED_OFF]
    deck.decide(WARM)
    deck.run_for(2000)
    assert deck.mast.up
    assert deck.mast.pennants["a"]["wind"] == 102


def test_an_alarm_anywhere_on_it_keeps_it_switched_on() -> None:
    """Nobody can have meant that."""
    deck = Deck(yields=("low", "high"))
    deck.decide(RED, is_alarm=True)
    deck.run_for(20_000)
    deck.mast.up = False
    deck.run_for(20_000)
    assert deck.mast.up


def taken_from_somebody() -> Deck:
    """A segment that was handed back, set by somebody, and taken again."""
    deck = Deck(keeps={"low": HOUR_MS})
    deck.decide(WARM, hands_back=True)
    deck.run_for(20_000)
    deck.mast.somebody_sets("a", "stripes")
    deck.run_for(20_000)
    assert deck.standing() is Standing.YIELDED
    deck.decide(RED)
    deck.run_for(20_000)
    assert deck.mast.pennants["a"]["dye"] == "ff0000"
    return deck


def test_what_was_there_before_is_given_back() -> None:
    """As it was when we took it, and then it is left alone."""
    deck = taken_from_somebody()
    deck.decide(WARM, hands_back=True)
    deck.run_for(20_000)
    assert deck.mast.pennants["a"]["cloth"] == "stripes"
    assert deck.standing() is Standing.HANDED_BACK
    deck.mast.somebody_sets("a", "dots")
    assert all(each == "GET /mast" for each in deck.run_for(60_000))


def test_it_is_given_back_once_and_kept_anew() -> None:
    """The next time it is what was there the next time."""
    deck = taken_from_somebody()
    deck.decide(WARM, hands_back=True)
    deck.run_for(20_000)
    deck.mast.somebody_sets("a", "dots")
    deck.decide(RED)
    deck.run_for(20_000)
    deck.decide(WARM, hands_back=True)
    deck.run_for(20_000)
    assert deck.mast.pennants["a"]["cloth"] == "dots"


def test_what_is_older_than_stated_is_not_given_back() -> None:
    """The resting scene is shown instead."""
    deck = taken_from_somebody()
    deck.run_for(HOUR_MS)
    deck.decide(WARM, hands_back=True)
    deck.run_for(20_000)
    assert deck.mast.pennants["a"]["cloth"] == "plain"
    assert deck.mast.pennants["a"]["wind"] == 102


def test_a_look_of_ours_is_never_kept() -> None:
    """Nothing was set by anybody: there is nothing to give back but the resting scene."""
    deck = Deck(keeps={"low": HOUR_MS})
    deck.decide(WARM, hands_back=True)
    deck.run_for(20_000)
    deck.decide(RED)
    assert "GET /mast" not in deck.run_for(150)
    deck.run_for(20_000)
    deck.decide(WARM, hands_back=True)
    assert not any(each.endswith("cloth") for each in deck.run_for(20_000))


def test_what_was_kept_ends_with_the_controllers_power() -> None:
    """A look that it does not show by itself any more is nobody's."""
    deck = taken_from_somebody()
    deck.mast.lose_power()
    deck.run_for(20_000)
    deck.decide(WARM, hands_back=True)
    deck.run_for(20_000)
    assert deck.mast.pennants["a"]["cloth"] == "plain"


def test_its_own_look_is_set_to_off_watch_and_then_left() -> None:
    """Written once, read once more, looked at once a day."""
    deck = Deck(boot=GREY)
    deck.decide(RED)
    deck.run_for(60_000)
    assert deck.mast.dawn == {"dye": "c8c8c8", "wind": 64}
    assert deck.remarks() == [Remark.BOOT_WRITTEN]
    done = deck.run_for(3 * DAY_MS)
    assert done.count("GET /dawn") == 3
    assert deck.mast.dawns_written == 1


def test_a_look_that_is_not_kept_is_not_written_for_ever() -> None:
    """Stored settings wear out: so often a day at most, and it is said."""
    deck = Deck(boot=GREY)
    deck.mast.forgets_dawn = True
    deck.decide(RED)
    deck.run_for(5 * DAY_MS)
    assert Remark.BOOT_NOT_KEPT in deck.remarks()
    assert 2 <= deck.mast.dawns_written <= 6


def test_lights_go_before_it() -> None:
    """What it would show tomorrow can wait."""
    deck = Deck(boot=GREY)
    deck.decide(RED)
    done = deck.run_for(5000)
    assert done.index("PUT /pennants/a") < done.index("GET /dawn")
