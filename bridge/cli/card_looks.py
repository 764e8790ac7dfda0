"""What the card has in both its forms: looks with words, and reasons with answers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bridge.check.meanings import SENTENCES, Meaning
from bridge.scenes.manner import plain_manner
from bridge.scenes.strip import Strip

TITLE: Final = "What the lights mean"
NO_SAFETY_DEVICE: Final = "The lights inform; they are no safety device."
ABOUT_COLOURS: Final = (
    "Colours on paper and on screens are only about those of a strip. Dark pixels are drawn small."
)
#: Enough for a pattern and a gauge, and three of them beside each other on a page.
_PIXELS: Final = 12


@dataclass(frozen=True, slots=True)
class Look:
    """One look: when it is so, what it is in words, on paper, and as it moves where it does."""

    when: str
    words: str
    phases: tuple[bytes, ...]
    moving: tuple[bytes, ...]


def looks(meaning: Meaning) -> Iterator[Look]:
    """Those of a scene; a gauge's without a known value is one of its own."""
    for when, scene in meaning.looks:
        strip = Strip(scene, _PIXELS)
        yield Look(when, plain_manner(scene), strip.phases(), _moving(strip))
        if scene.effect == "gauge":
            unknown = Strip(scene, _PIXELS, "unknown")
            words = "the same without a bar: how far it is nobody knows"
            yield Look(when, words, unknown.phases(), _moving(unknown))


def _moving(strip: Strip) -> tuple[bytes, ...]:
    frames = strip.round()
    return frames if len(frames) > 1 else ()


def answers(meaning: Meaning) -> Iterator[tuple[str, str, str]]:
    """For each occasion: what it is, what is to be done, and what may be behind it."""
    _, usual = SENTENCES[meaning.scene.says]
    for each in meaning.occasions:
        yield each.what, each.response or usual, each.cause
