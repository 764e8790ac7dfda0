"""What a strip must be told, so that it looks as a colour is meant.

A colour's codes are meant for a screen: half of the code is a fifth of the light. A strip that
turns codes straight into on-time is far too bright in between (``gamma``), and its three chips
together are seldom white (``white``). Nothing gets more than its code: what a supply bears is
reckoned without this.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from bridge.scenes.scene import Colour

_FULL: Final = 255


@dataclass(frozen=True, slots=True)
class Calibration:
    """``white``: what the strip is told to look white; ``gamma``: 1 where it does that itself."""

    white: Colour = (_FULL, _FULL, _FULL)
    gamma: float = 1.0


#: A strip that is as a screen would be.
AS_IT_IS: Final = Calibration()


def calibrated_frame(frame: bytes, calibration: Calibration) -> bytes:
    """Three bytes a pixel."""
    if calibration == AS_IT_IS:
        return frame
    told = bytearray(frame)
    for channel, table in enumerate(_tables(calibration)):
        told[channel::3] = frame[channel::3].translate(table)
    return bytes(told)


@lru_cache(256)
def _tables(calibration: Calibration) -> tuple[bytes, bytes, bytes]:
    """For each channel, what every code becomes; what is lit stays lit."""
    red, green, blue = (
        bytes(_told(code, full, calibration.gamma) for code in range(_FULL + 1))
        for full in calibration.white
    )
    return red, green, blue


def _told(code: int, full: int, gamma: float) -> int:
    if code == 0 or full == 0:
        return 0
    return max(1, int(full * (code / _FULL) ** gamma + 0.5))
