"""``legend.yaml``: what each scene looks like, and what it says to a person."""

from typing import Annotated, Any, Literal

from pydantic import Field, PlainValidator, Tag, WithJsonSchema

from bridge.settings.nearest import shown
from bridge.settings.quantities import Duration, Proportion
from bridge.settings.shapes import BY_SHAPE, KeepGoing, Keys, Later, Name, sentence


def _colour_text(value: Any) -> str:  # noqa: ANN401 - what YAML holds
    if value is None:
        raise sentence('is empty; a colour like "#ff2a1a" needs quotes, as # begins a comment')
    if not isinstance(value, str):
        raise sentence(
            f"{shown(value)} is no colour, write a role, a CSS colour in quotes or 2700 K"
        )
    return value


ColourText = Annotated[
    str, PlainValidator(_colour_text), WithJsonSchema({"type": "string", "minLength": 1})
]


#: One colour, or colour temperatures at times of the day.
ColourOrEvening = Annotated[
    Annotated[ColourText, Tag("=scalar")]
    | Annotated[Annotated[dict[str, ColourText], Field(min_length=2)], Tag("=mapping")],
    BY_SHAPE,
]


class Roles(Keys):
    """The colours of the five roles: CSS colours, or temperatures like 2700 K."""

    danger: ColourText = Field(default="#ff2a1a", description="Colour of the role danger (red).")
    abnormal: ColourText = Field(
        default="#ffb000", description="Colour of the role abnormal (yellow)."
    )
    action: ColourText = Field(default="#2a60ff", description="Colour of the role action (blue).")
    healthy: ColourText = Field(
        default="#00b080", description="Colour of the role healthy (green)."
    )
    neutral: ColourText = Field(
        default="#d8d8d0", description="Colour of the role neutral (white)."
    )


class Variant(Keys):
    """How a scene looks while its alarm is answered: what is not said is as in the scene."""

    effect: Literal["steady", "flash", "gauge", "swell", "march"] | None = Field(
        default=None, description="How it moves, as a scene does."
    )
    colour: ColourText = Field(
        default="", description='A role, a CSS colour in quotes, or "2700 K".'
    )
    brightness: Proportion | None = Field(default=None, description="Brightness in %.")
    pattern: Literal["whole", "every-third"] | None = Field(
        default=None, description="Which pixels are lit: all, or every third."
    )
    rate: Literal["slow", "normal"] | None = Field(default=None, description="How fast a flash is.")
    dimmer: Proportion | None = Field(
        default=None,
        description="The dimmer half of a flash, or the least of a swell, in % of its brightness.",
    )


class Scene(Keys):
    """One scene: says and colour must be there, or like."""

    like: Name | None = Field(
        default=None, description="Another scene, from which comes whatever is not said here."
    )
    says: Literal["resting", "well", "unknown", "notice", "act", "trouble"] | None = Field(
        default=None,
        description="What it says to a person, mildest first: resting, well, unknown, notice, act,"
        " trouble.",
    )
    effect: Literal["steady", "flash", "gauge", "swell", "march"] = Field(
        default="steady",
        description="How it moves: steady, flash, gauge (a bar that fills), swell (slowly brighter"
        " and dimmer), or march (a block that goes along, for work without a known fraction).",
    )
    colour: ColourOrEvening = Field(
        default="",
        description='A role, a CSS colour in quotes, or "2700 K"; or temperatures at times of the'
        ' day, for example {sunset: 4000 K, "22:00": 2200 K}.',
    )
    brightness: Proportion = Field(
        default="100 %", validate_default=True, description="Brightness in %, 100 % where not said."
    )
    pattern: Literal["whole", "every-third"] = Field(
        default="whole", description="Which pixels are lit: all, or every third."
    )
    rate: Literal["slow", "normal"] = Field(default="normal", description="How fast a flash is.")
    dimmer: Proportion = Field(
        default="25 %",
        validate_default=True,
        description="The dimmer half of a flash, or the least of a swell, in % of its brightness.",
    )
    input: Literal["progress", "time-to-completion"] = Field(
        default="progress", description="The fact that a gauge shows."
    )
    full: Duration | None = Field(
        default=None,
        description="The time that fills a gauge of time-to-completion, for example 2h; more does"
        " not fill it further.",
    )
    ticks: Annotated[int, Field(ge=2, le=20)] | None = Field(
        default=None,
        description="Into how many parts ticks divide a gauge, for example 4 for quarters.",
    )
    background: ColourText = Field(
        default="#000000",
        description="Colour of a gauge's unfilled rest, or of what a march goes over.",
    )
    direction: Literal["forward", "backward"] = Field(
        default="forward",
        description="Whether a gauge fills, or a march goes, from the first pixel or from the"
        " last.",
    )
    fade: Duration | None = Field(
        default=None,
        description="How long the change to it may take where the controller can fade, for example"
        " 400ms; a new alarm is there at once.",
    )
    when_unknown: Later = None
    unacknowledged: Variant | None = Field(
        default=None,
        description="While nobody acknowledged its alarm: flashing at the normal rate.",
    )
    acknowledged: Variant | None = Field(
        default=None, description="Once somebody acknowledged its alarm: as the scene is."
    )
    returned: Variant | None = Field(
        default=None,
        description="While its alarm is over and waits for a reset: slowly flashing.",
    )


class LegendFile(Keys):
    """The colours of the roles, and the scenes."""

    roles: Roles = Field(
        default={}, validate_default=True, description="Colours of the five roles."
    )
    fade: Duration = Field(
        default="0ms",
        validate_default=True,
        description="The same for every scene that does not say it.",
    )
    scenes: Annotated[dict[Name, Scene], KeepGoing] = Field(description="Scenes by name.")
