"""How a scene answers to its alarm: what it looks like unacknowledged, acknowledged, returned."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Literal, TypeAlias

from bridge.scenes.scene import Scene

Variant: TypeAlias = Literal["normal", "unacknowledged", "acknowledged", "returned"]


@lru_cache(maxsize=1024)
def variant(scene: Scene, name: Variant) -> Scene:
    """The scene's own variant, else that of ISA-18.1: flashing, steady, slowly flashing.

    The same object for the same arguments: scenes are compared by identity.
    """
    own = dict(scene.variants).get(name)
    if own is not None:
        return own
    match name:
        case "unacknowledged":
            return replace(scene, effect="flash", rate="normal")
        case "returned":
            return replace(scene, effect="flash", rate="slow")
        case "normal" | "acknowledged":
            return scene
