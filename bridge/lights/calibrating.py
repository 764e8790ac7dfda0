"""Looks as a strip must be told them."""

from __future__ import annotations

from dataclasses import replace

from bridge.lights.look import Look, Moving, Native, Still
from bridge.scenes.calibration import AS_IT_IS, Calibration, calibrated_frame


def calibrated(look: Look, calibration: Calibration) -> Look:
    """The look as this strip must be told it."""
    if calibration == AS_IT_IS:
        return look
    match look:
        case Still():
            return replace(look, frame=calibrated_frame(look.frame, calibration))
        case Moving():
            frames = tuple(calibrated_frame(each, calibration) for each in look.frames)
            return replace(look, frames=frames)
        case Native():
            return calibrated_native(look, calibration)


def calibrated_native(look: Native, calibration: Calibration) -> Native:
    """Colour and level each by the power: so is their product, which the strip shows."""
    if calibration == AS_IT_IS:
        return look
    red, green, blue = calibrated_frame(bytes(look.colour), calibration)
    return replace(look, colour=(red, green, blue), level=look.level**calibration.gamma)
