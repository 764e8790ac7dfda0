"""A scene: what a segment looks like, and what that look says to a person."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from bridge.facts.vocabulary import Says
from bridge.rules.day_times import DayTime

#: 8-bit red, green, blue, as sent.
Colour: TypeAlias = tuple[int, int, int]
Effect: TypeAlias = Literal["steady", "flash", "gauge", "swell", "march"]
#: The facts that a gauge can show: a proportion, or a time left.
GaugeInput: TypeAlias = Literal["progress", "time-to-completion"]
Pattern: TypeAlias = Literal["whole", "every-third"]
Rate: TypeAlias = Literal["slow", "normal"]

BLACK: Final[Colour] = (0, 0, 0)
#: What a rule shows that lets go of a segment; no scene of the legend is called so.
HAND_BACK: Final = "hand-back"
#: Periods in ms. Slow is 0.8 Hz and normal 1.6 Hz: inside IEC 60073's 0.4–0.8 and 1.4–2.8 Hz,
#: one half of the other as NUREG-0700 asks, and below WCAG 2.3.1's three flashes in a second.
PERIOD_MS: Final[dict[Rate, int]] = {"slow": 1250, "normal": 625}
#: The periods that count as each rate (IEC 60073, second hand), inclusive, in ms.
PERIOD_BAND_MS: Final[dict[Rate, tuple[int, int]]] = {"slow": (1250, 2500), "normal": (358, 714)}
#: Effects that move so slowly that standing still takes nothing from what they say.
CALM: Final = frozenset({"swell", "march"})
#: How long a swell takes from full to full, and a march from end to end: far slower than any flash.
CALM_MS: Final = 6000


@dataclass(frozen=True, slots=True)
class Scene:
    """One scene of the legend.

    ``brightness`` and ``dimmer`` are proportions 0..1 of the drive level; a flash alternates the
    look at ``brightness`` with the same look at ``brightness * dimmer`` (two lit looks, never
    black), and a swell goes to and fro between them. ``background`` is the rest of a gauge, and
    what a march goes over.
    """

    name: str
    says: Says
    effect: Effect
    colour: Colour
    brightness: float = 1.0
    pattern: Pattern = "whole"
    rate: Rate = "normal"
    dimmer: float = 0.25
    background: Colour = BLACK
    #: The fact that a gauge shows.
    source: GaugeInput = "progress"
    #: Of a time left: so many seconds fill the gauge, and more do not fill it further.
    full_s: float = 0.0
    #: Into how many parts ticks divide a gauge; fewer than 2 are none.
    ticks: int = 0
    direction: Literal["forward", "backward"] = "forward"
    #: How long the change to it may take, where the controller can fade.
    fade_ms: int = 0
    #: Colour temperatures, in kelvin, that it has at these times of the day, and between them.
    evening: tuple[tuple[DayTime, float], ...] = ()
    #: What it looks like as its alarm is answered, by the name of the variant, where written.
    variants: tuple[tuple[str, Scene], ...] = ()

    @property
    def fills(self) -> float:
        """The value of its input that fills a gauge."""
        return self.full_s or 1.0
