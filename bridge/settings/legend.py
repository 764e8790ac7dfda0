"""The legend's scenes from the file's model."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from bridge.rules.day_times import DayTime
from bridge.scenes.colour import ColourError, parse_colour
from bridge.scenes.scene import BLACK, HAND_BACK, Colour, Scene
from bridge.scenes.temperature import kelvin_to_colour
from bridge.settings.day_times import day_time
from bridge.settings.legend_file import LegendFile, Roles, Variant
from bridge.settings.legend_file import Scene as SceneKeys
from bridge.settings.names import Names, refuse_clashes
from bridge.settings.nearest import nearest, shown
from bridge.settings.quantities import KELVIN
from bridge.settings.shapes import whole
from bridge.settings.spot import Spot

#: Keys that mean something for some effects only.
_ONLY_FOR: Final[Mapping[str, tuple[str, ...]]] = {
    "rate": ("flash",),
    "dimmer": ("flash", "swell"),
    "input": ("gauge",),
    "full": ("gauge",),
    "ticks": ("gauge",),
    "background": ("gauge", "march"),
    "direction": ("gauge", "march"),
}
_TWO_LOOKS: Final = {"flash": "flash alternates", "swell": "swell goes between"}
VARIANTS: Final = ("unacknowledged", "acknowledged", "returned")
_NOT_LOOKS: Final = frozenset({"like", "when_unknown", *VARIANTS})
_COLOURS: Final = frozenset({"colour", "background"})
#: What every scene begins with; its name, meaning and colour are always written over.
_PLAIN: Final = Scene("", "unknown", "steady", BLACK)
_LEAST_KELVIN: Final = 1000
_MOST_KELVIN: Final = 20_000


def scenes_of(legend: LegendFile, spot: Spot) -> dict[str, Scene]:
    """Every scene that is right, by name."""
    roles = _roles(legend.roles, spot.at("roles"))
    refuse_clashes(spot.at("scenes"), legend.scenes)
    for name in legend.scenes:
        if name.casefold() == HAND_BACK:
            why = "is what a rule shows that lets go of a segment, choose another name"
            spot.at("scenes", name).wrong_key(why)
    names = Names("scene", "legend.yaml", frozenset(legend.scenes))
    plain = replace(_PLAIN, fade_ms=legend.fade)
    return _Scenes(dict(whole(legend.scenes)), names, roles, spot.at("scenes"), plain).make()


def _roles(roles: Roles, spot: Spot) -> dict[str, Colour | None]:
    written: dict[str, str] = {name: getattr(roles, name) for name in Roles.model_fields}
    return {name: _colour(text, {}, spot.at(name)) for name, text in written.items()}


@dataclass(frozen=True, slots=True)
class _Made:
    """A scene, and what each of its variants changes in it."""

    scene: Scene
    variants: Mapping[str, Mapping[str, Any]]


@dataclass(slots=True)
class _Scenes:
    """Makes the scenes, those that others are like first."""

    keys: Mapping[str, SceneKeys]
    names: Names
    roles: Mapping[str, Colour | None]
    spot: Spot
    #: One with every default.
    plain: Scene
    #: ``None`` where a scene has a problem.
    made: dict[str, _Made | None] = field(default_factory=dict)

    def make(self) -> dict[str, Scene]:
        """By name, in written order."""
        for name in self.keys:
            self._made(name, ())
        made = ((name, self.made[name]) for name in self.keys)
        return {name: each.scene for name, each in made if each}

    def _made(self, name: str, above: tuple[str, ...]) -> _Made | None:
        """``above`` are the scenes that are like this one, the first one first."""
        if name not in self.made:
            keys, spot = self.keys[name], self.spot.at(name)
            base = self._base(name, keys, above, spot)
            self.made[name] = None if base is None else self._scene(name, base, keys, spot)
        return self.made[name]

    def _base(self, name: str, keys: SceneKeys, above: tuple[str, ...], spot: Spot) -> _Made | None:
        """What a scene changes: the one that it is like, or one with every default."""
        if keys.like is None:
            missing = [key for key in ("says", "colour") if key not in keys.model_fields_set]
            for key in missing:
                spot.wrong_key(f"needs '{key}'")
            return None if missing else _Made(self.plain, {})
        if keys.like in (*above, name):
            spot.at("like").wrong(f"{shown(keys.like)} is like this one, so that neither is made")
            return None
        if not self.names.has(spot.at("like"), keys.like):
            return None
        return self._made(keys.like, (*above, name)) if keys.like in self.keys else None

    def _scene(self, name: str, base: _Made, keys: SceneKeys, spot: Spot) -> _Made | None:
        changes = self._changes(base.scene, keys, spot)
        if changes is None:
            return None
        plain = replace(base.scene, **changes, name=name, variants=())
        variants = dict(base.variants)
        for key in VARIANTS:
            written: Variant | None = getattr(keys, key)
            if written is not None:
                found = self._changes(plain, written, spot.at(key))
                if found is None:
                    return None
                variants[key] = found
        looks = {key: replace(plain, **found) for key, found in variants.items()}
        if not all(_is_lit_flash(each) for each in (plain, *looks.values())):
            # A variant of the other scene does not go with what is written here.
            spot.at("like").wrong(f"has a variant that flashes, and {shown(name)} is not lit")
            return None
        return _Made(replace(plain, variants=tuple(looks.items())), variants)

    def _changes(self, base: Scene, keys: SceneKeys | Variant, spot: Spot) -> dict[str, Any] | None:
        """What the keys that are written here change, or ``None`` and problems."""
        written = {key: getattr(keys, key) for key in keys.model_fields_set - _NOT_LOOKS}
        effect = written.get("effect", base.effect)
        for key, only in _ONLY_FOR.items():
            if key in written and effect not in only:
                spot.at(key).wrong_key(
                    f"is for the effect {' or '.join(only)}, this one is {effect}"
                )
        self._read_colours(written, spot)
        if None in written.values():
            return None
        _rename(written)
        changed = replace(base, **written)
        if not _is_filled_by(changed, spot):
            return None
        if _is_lit_flash(changed):
            return written
        _refuse_dark_flash(changed, keys, spot)
        return None

    def _read_colours(self, written: dict[str, Any], spot: Spot) -> None:
        """Colours for what was written of them; ``None`` where that is wrong."""
        evening = written.get("colour")
        if isinstance(evening, Mapping):
            written["evening"] = found = _evening(evening, spot.at("colour"))
            warmest = min((kelvin for _, kelvin in found or ()), default=0.0)
            written["colour"] = f"{warmest:g} K" if found else None
        elif "colour" in written:
            written["evening"] = ()
        for key in _COLOURS & written.keys():
            if written[key] is not None:
                written[key] = _colour(written[key], self.roles, spot.at(key))


def _rename(written: dict[str, Any]) -> None:
    """The file's keys become the scene's."""
    if "input" in written:
        written["source"] = written.pop("input")
    if "fade" in written:
        written["fade_ms"] = written.pop("fade")
    if "full" in written:
        written["full_s"] = written.pop("full") / 1000
    elif written.get("source") == "progress":
        written["full_s"] = 0.0


def _is_filled_by(scene: Scene, spot: Spot) -> bool:
    """Whether a gauge of a time says what fills it, and one of a proportion does not."""
    if scene.effect != "gauge" or (scene.source == "time-to-completion") == (scene.full_s > 0):
        return True
    if scene.full_s:
        spot.at("full").wrong_key("is for the input time-to-completion; progress is full at 100 %")
    else:
        spot.at("input").wrong("needs 'full': the time that fills the gauge, for example 2h")
    return False


def _is_lit_flash(scene: Scene) -> bool:
    return scene.effect not in _TWO_LOOKS or (scene.brightness > 0 and 0 < scene.dimmer < 1)


def _refuse_dark_flash(scene: Scene, keys: SceneKeys | Variant, spot: Spot) -> None:
    key = "brightness" if scene.brightness == 0 else "dimmer"
    written = next(each for each in (key, "effect", "like") if each in keys.model_fields_set)
    spot.at(written).wrong(
        f"a {_TWO_LOOKS[scene.effect]} two lit looks, expected more than 0 %"
        + ("" if key == "brightness" else " and less than 100 %")
    )


def _evening(times: Mapping[str, str], spot: Spot) -> tuple[tuple[DayTime, float], ...] | None:
    """The temperatures and when, or ``None`` and problems."""
    found = []
    for text, warmth in times.items():
        at = spot.at(text)
        when = day_time(text, at)
        if not re.fullmatch(KELVIN.pattern, warmth):
            at.wrong(f"{shown(warmth)} is no colour temperature, write for example 2700 K")
        elif _colour(warmth, {}, at) is not None and when is not None:
            found.append((when, float(KELVIN.read(warmth))))
    return tuple(found) if len(found) == len(times) else None


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
