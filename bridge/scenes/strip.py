"""A strip that shows one look: its pixels at an instant, and how it goes round."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal, TypeAlias

from bridge.facts.values import FactValue, Unknown, Why
from bridge.scenes.frames import frame
from bridge.scenes.scene import CALM, CALM_MS, Scene
from bridge.scenes.sight import Sight, seen

#: What a gauge reads: it fills from nothing to whole, it stands at a part, or nothing is known.
Gauge: TypeAlias = Literal["filling", "part", "unknown"]

#: Where a gauge stands, and begins to fill: both its colours are seen.
_PART: Final = 0.4
#: A gauge is shown filling once in this time. Both rates of a flash go into it without a rest.
ROUND_MS: Final = 10_000
#: Sixteen pictures a second, five of them half a normal flash: no change of a flash is missed.
ROUND_STEPS: Final = 160
#: As many a second, as long as a swell or a march takes.
_CALM_STEPS: Final = ROUND_STEPS * CALM_MS // ROUND_MS


@dataclass(frozen=True, slots=True)
class Strip:
    """A look on so many pixels, as a kind of sight sees it."""

    scene: Scene
    pixels: int
    gauge: Gauge = "part"
    sight: Sight = "normal"

    def at(self, milliseconds: int) -> bytes:
        """Its pixels that long after it began, 3 bytes each."""
        inputs: dict[str, FactValue] = {self.scene.source: self._reading(milliseconds)}
        return _as_seen(frame(self.scene, self.pixels, milliseconds, inputs), self.sight)

    def round(self) -> tuple[bytes, ...]:
        """Its frames, a step apart, until they come again; one where it stands still.

        What does not come again within ``ROUND_MS`` begins anew then.
        """
        count = _CALM_STEPS if self.scene.effect in CALM else ROUND_STEPS
        frames = tuple(self.at(instant_ms(step)) for step in range(count))
        divisors = (steps for steps in range(1, count) if count % steps == 0)
        again = (steps for steps in divisors if frames[steps:] == frames[:-steps])
        return frames[: next(again, count)]

    def phases(self) -> tuple[bytes, ...]:
        """The look on paper: as it begins, and half a round later where it moves."""
        frames = self.round()
        return (frames[0],) if len(frames) == 1 else (frames[0], frames[len(frames) // 2])

    def _reading(self, milliseconds: int) -> FactValue:
        match self.gauge:
            case "unknown":
                return Unknown(Why.NOT_HEARD)
            case "part":
                return _PART * self.scene.fills
            case "filling":
                share = (milliseconds + int(_PART * ROUND_MS)) % ROUND_MS / ROUND_MS
                return share * self.scene.fills


def instant_ms(step: int) -> int:
    """When a step of a round begins: never before a change that falls on it."""
    return -(-step * ROUND_MS // ROUND_STEPS)


@lru_cache(1024)
def _as_seen(pixels: bytes, sight: Sight) -> bytes:
    if sight == "normal":
        return pixels
    colours = zip(pixels[0::3], pixels[1::3], pixels[2::3], strict=True)
    return b"".join(bytes(seen(colour, sight)) for colour in colours)
