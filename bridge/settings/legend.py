"""The legend's scenes from the file's model."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from bridge.scenes.colour import ColourError, parse_colour
from bridge.scenes.scene import Colour, Scene
from bridge.scenes.temperature import kelvin_to_colour
from bridge.settings.legend_file import LegendFile, Roles
from bridge.settings.legend_file import Scene as SceneKeys
from bridge.settings.names import refuse_clashes
from bridge.settings.nearest import nearest
from bridge.settings.quantities import KELVIN
from bridge.settings.shapes import whole
from bridge.settings.spot import Spot

#: Keys that mean something for one effect only.
_ONLY_FOR: Final = {
    "rate": "flash",
    "dimmer": "flash",
    "input": "gauge",
    "background": "gauge",
    "direction": "gauge",
}
_LEAST_KELVIN: Final = 1000
_MOST_KELVIN: Final = 20_000


def scenes_of(legend: LegendFile, spot: Spot) -> dict[str, Scene]:
    """Every scene that is right, by name."""
    roles = _roles(legend.roles, spot.at("roles"))
    refuse_clashes(spot.at("scenes"), legend.scenes)
    scenes = (
        _scene(name, keys, roles, spot.at("scenes", name)) for name, keys in whole(legend.scenes)
    )
    return {scene.name: scene for scene in scenes if scene}


def _roles(roles: Roles, spot: Spot) -> dict[str, Colour | None]:
    written: dict[str, str] = {name: getattr(roles, name) for name in Roles.model_fields}
    return {name: _colour(text, {}, spot.at(name)) for name, text in written.items()}


def _scene(
    name: str, keys: SceneKeys, roles: Mapping[str, Colour | None], spot: Spot
) -> Scene | None:
    for key, effect in _ONLY_FOR.items():
        if key in keys.model_fields_set and keys.effect != effect:
            spot.at(key).wrong_key(f"is for the effect {effect}, this one is {keys.effect}")
    colour = _colour(keys.colour, roles, spot.at("colour"))
    background = _colour(keys.background, roles, spot.at("background"))
    if keys.effect == "flash" and (keys.brightness == 0 or not 0 < keys.dimmer < 1):
        key = "brightness" if keys.brightness == 0 else "dimmer"
        spot.at(key).wrong(
            "a flash alternates two lit looks, expected more than 0 %"
            + ("" if key == "brightness" else " and less than 100 %")
        )
    if colour is None or background is None:
        return None
    return Scene(
        name=name,
        says=keys.says,
        effect=keys.effect,
        colour=colour,
        brightness=keys.brightness,
        pattern=keys.pattern,
        rate=keys.rate,
        dimmer=keys.dimmer,
        background=background,
        source=keys.input,
        direction=keys.direction,
    )


def _colour(text: str, roles: Mapping[str, Colour | None], spot: Spot) -> Colour | None:
    """``None`` where it is wrong, and where it is a role that is."""
    if text in roles:
        return roles[text]
    if re.fullmatch(KELVIN.pattern, text):
        kelvin = float(KELVIN.read(text))
        if _LEAST_KELVIN <= kelvin <= _MOST_KELVIN:
            return kelvin_to_colour(kelvin)
        spot.wrong(f"'{text}' is no light's colour, expected {_LEAST_KELVIN} K to {_MOST_KELVIN} K")
        return None
    try:
        return parse_colour(text)
    except ColourError as error:
        role = nearest(text, roles)
        hint = f"; did you mean the role '{role}'?" if role and "?" not in str(error) else ""
        spot.wrong(f"{error}{hint}")
        return None
