"""How a scene answers to its alarm: what it looks like unacknowledged, acknowledged, returned."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Literal, TypeAlias

from bridge.scenes.scene import Rate, Scene

Variant: TypeAlias = Literal["normal", "unacknowledged", "acknowledged", "returned"]


def variant(scene: Scene, name: Variant) -> Scene:
    """The scene's own variant, else that of ISA-18.1: flashing, as it is, slowly flashing.

    The same object for the same arguments: scenes are compared by identity.
    """
    own = dict(scene.variants).get(name)
    if own is not None:
        return own
    match name:
        case "unacknowledged":
            return _flashing(scene, "normal")
        case "returned":
            return _flashing(scene, "slow")
        case "normal" | "acknowledged":
            return scene


@lru_cache(maxsize=1024)
def _flashing(scene: Scene, rate: Rate) -> Scene:
    """The same colour, flashing, at once; a scene that is not lit has nothing to flash with."""
    if scene.brightness == 0:
        return scene
    return replace(scene, effect="flash", rate=rate, fade_ms=0, variants=())
