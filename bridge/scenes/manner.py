"""What a look is in words, for whoever edits it and for whoever cannot see its colours."""

from __future__ import annotations

import colorsys
from typing import Final

from bridge.scenes.scene import BLACK, PERIOD_MS, Colour, Rate, Scene

#: Where in a turn each hue ends; red goes on from the last to the first.
_HUES: Final = (
    (0.045, "red"),
    (0.09, "orange"),
    (0.18, "yellow"),
    (0.45, "green"),
    (0.53, "turquoise"),
    (0.72, "blue"),
    (0.92, "purple"),
    (1.0, "red"),
)
#: Paler than this it is a white; up to the other one and in these hues, the white of a warm lamp.
_WHITE: Final = 0.15
_WARM: Final = 0.85
_WARM_HUES: Final = frozenset({"orange", "yellow"})
_SPEEDS: Final[dict[Rate, str]] = {"slow": "slowly", "normal": "fast"}
_MOVES: Final[dict[str, str]] = {
    "gauge": "a bar that fills as the part grows",
    "swell": "slowly brighter and dimmer",
    "march": "a block that goes along",
}
_TWO_COLOURS: Final = frozenset({"gauge", "march"})
_PATTERNS: Final[dict[str, str]] = {"every-third": "every third pixel"}


def manner(scene: Scene) -> str:
    """In the words of the legend's keys."""
    rate = f" at the {scene.rate} rate" if scene.effect == "flash" else ""
    pattern = f", {scene.pattern}" if scene.pattern != "whole" else ""
    return f"{scene.effect}{rate}{pattern}, {scene.brightness:.0%}"


def plain_manner(scene: Scene) -> str:
    """In words that need no legend: colour, movement, rate in numbers, pattern, brightness."""
    lit = (scene.colour, scene.background) if scene.effect in _TWO_COLOURS else (scene.colour,)
    if scene.brightness == 0 or set(lit) == {BLACK}:
        return "dark"
    words = [colour_word(next(colour for colour in lit if colour != BLACK))]
    if scene.effect == "flash":
        times = f"{1000 / PERIOD_MS[scene.rate]:g} times a second"
        words.append(f"flashes {_SPEEDS[scene.rate]}, {times}")
    elif scene.effect == "gauge" and scene.source == "time-to-completion":
        words.append("a bar that runs down with the time that is left")
    else:
        words.append(_MOVES.get(scene.effect, scene.effect))
    if scene.pattern != "whole":
        words.append(_PATTERNS.get(scene.pattern, scene.pattern))
    words.append(f"{100 * scene.brightness:.0f} % bright")
    if scene.evening:
        words.append("warmer as the evening goes on")
    return ", ".join(words)


def colour_word(colour: Colour) -> str:
    """The plainest name of a colour; how bright it is does not count."""
    red, green, blue = (code / 255 for code in colour)
    hue, saturation, value = colorsys.rgb_to_hsv(red, green, blue)
    if value == 0:
        return "dark"
    if saturation < _WHITE:
        return "white"
    word = next(word for end, word in _HUES if hue < end)
    return "warm white" if word in _WARM_HUES and saturation < _WARM else word
