"""How bright a colour is to an eye, for tests that ask what somebody sees who sees no colours."""

from __future__ import annotations

from bridge.scenes.light import to_linear
from bridge.scenes.scene import Colour


def luminance(colour: Colour) -> float:
    """Relative luminance 0..1 (WCAG 2.2, the weights of IEC 61966-2-1)."""
    red, green, blue = (to_linear(code / 255) for code in colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
