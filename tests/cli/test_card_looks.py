"""What the card has of a scene."""

from __future__ import annotations

from bridge.check.meanings import Meaning, Occasion
from bridge.cli.card_looks import answers, looks
from bridge.scenes.frames import frame
from bridge.scenes.scene import Scene

FLASH = Scene("see-me", "act", "flash", (255, 176, 0), brightness=0.8, rate="slow")
GAUGE = Scene("filling", "well", "gauge", (0, 176, 96), brightness=0.6)


def test_a_flash_has_two_phases_and_moves() -> None:
    """Both halves on paper, and a rate in words."""
    [look] = looks(Meaning(FLASH, (("acknowledged", FLASH),), ()))
    assert look.when == "acknowledged"
    assert look.words == "yellow, flashes slowly, 0.8 times a second, 80 % bright"
    assert look.phases == (frame(FLASH, 12, 0, {}), frame(FLASH, 12, 1000, {}))
    assert set(look.moving) == set(look.phases)


def test_a_gauge_has_a_look_for_not_knowing() -> None:
    """Which is none of its others."""
    known, unknown = looks(Meaning(GAUGE, (("", GAUGE),), ()))
    assert known.phases == (frame(GAUGE, 12, 0, {"progress": 0.4}),)
    assert unknown.phases == (frame(GAUGE, 12, 0, {}),)
    assert (known.moving, unknown.moving) == ((), ())
    assert "nobody knows" in unknown.words


def test_what_to_do_is_the_site_s_own_word_where_it_has_one() -> None:
    """Else what its saying asks for."""
    occasions = (Occasion("jam", "too hot", "let it cool"), Occasion("stopped"))
    assert list(answers(Meaning(FLASH, (), occasions))) == [
        ("jam", "let it cool", "too hot"),
        ("stopped", "go to it", ""),
    ]
