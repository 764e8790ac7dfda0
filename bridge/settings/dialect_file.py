"""``dialects/NAME.yaml``: how one kind of controller is spoken to."""

from typing import Annotated, Any, Final, Literal

from pydantic import AfterValidator, Discriminator, Field, Tag

from bridge.settings.quantities import Duration, Requests, Size, SomeTime
from bridge.settings.reader_file import Method
from bridge.settings.shapes import BY_SHAPE, Json, Keys, Later, matching, sentence
from bridge.settings.site_file import Text

Written = Literal["number", "text"]
#: Which letters can follow each other is judged with the whole codec.
Order = Annotated[str, *matching(r"^[RGBW]{3,4}$", "an order of R, G, B and perhaps W")]


_NAMES: Final = frozenset(
    [
        "segment",
        "number",
        "first",
        "last",
        "length",
        "pixel",
        "colour",
        "level",
        "effect",
        "on",
        "red",
        "green",
        "blue",
        "white",
        "hue",
        "saturation",
        "value",
        "fade",
        "lasts",
        "kept",
    ]
)


def _template(value: Any) -> Any:  # noqa: ANN401 - what JSON holds
    """Refuse ``{number}`` without quotes, which YAML reads as a mapping with an empty value."""
    if isinstance(value, dict):
        for name, entry in value.items():
            if len(value) == 1 and entry is None and name in _NAMES:
                raise sentence(f'{{{name}}} is read as a mapping, put it in quotes: "{{{name}}}"')
            _template(entry)
    for entry in value if isinstance(value, list) else ():
        _template(entry)
    return value


#: JSON data whose texts may hold {names}.
Template = Annotated[Json, AfterValidator(_template)]


class Limits(Keys):
    """What the controller bears."""

    requests: Requests | None = Field(
        default=None,
        description="At most so many requests in any second or minute, for example 4/s.",
    )
    in_flight: int = Field(
        default=1, ge=1, le=16, description="Requests that may wait for an answer."
    )
    body: Size = Field(
        default="1500 B",
        validate_default=True,
        description="Longest body it takes, for example 1500 B.",
    )
    timeout: SomeTime = Field(
        default="3s",
        validate_default=True,
        description="How long an answer may take, for example 3s.",
    )
    settles_in: Duration = Field(
        default="300ms",
        validate_default=True,
        description="How long after a change a read-back is right, for example 300ms.",
    )


class Colour(Keys):
    """How a whole colour is written."""

    form: Literal["hex", "list", "object", "css", "integer"] = Field(
        default="hex",
        description="hex digits, a list, an object, rgb(r, g, b), or one packed integer.",
    )
    mark: str = Field(default="", description='What stands before hex digits, for example "#".')
    after: str = Field(
        default="", description="What stands after them: a white channel, always dark."
    )
    case: Literal["lower", "upper"] = Field(default="lower", description="Case of hex digits.")
    order: Order = Field(
        default="RGB",
        description="Order of the channels; with a W where the strip has a white of its own.",
    )
    white: Literal["dark", "extract"] = Field(
        default="dark",
        description="extract: the white channel takes what red, green and blue have in common.",
    )
    function: Literal["rgb", "hsl"] = Field(
        default="rgb", description="Which function of CSS the form css writes."
    )
    to: int = Field(default=255, ge=1, le=65_535, description="The largest number of a channel.")
    digits: int = Field(default=3, ge=0, le=9, description="Digits after the point where to is 1.")
    keys: Annotated[list[Text], Field(min_length=3, max_length=4)] = Field(
        default=["red", "green", "blue"],
        description="Keys of an object: red, green, blue, and white where there is one.",
    )
    between: str = Field(default=", ", description="What stands between the numbers of rgb().")
    level: Literal["own", "folded"] = Field(
        default="own", description="folded: the level is multiplied into the colour."
    )


class Scale(Keys):
    """How a proportion is written."""

    to: Annotated[list[float], Field(min_length=2, max_length=2)] | None = Field(
        default=None, description="The numbers for nothing and for all, for example [0, 4095]."
    )
    round: Literal["nearest", "down", "up"] = Field(
        default="nearest", description="How it is rounded."
    )
    digits: int = Field(default=0, ge=0, le=9, description="Digits after the point.")
    least: float | None = Field(default=None, description="What any lit look gets at least.")
    written: Written = Field(default="number", alias="as", description="As a number or as a text.")
    before: str = Field(default="", description="Text before the number.")
    after: str = Field(default="", description='Text after the number, for example " %".')


class Flag(Keys):
    """What stands for lit and for dark."""

    lit: Json = Field(default=True, description="What says that the segment is lit.")
    dark: Json = Field(default=False, description="What says that it is dark.")


class Count(Keys):
    """How numbers of pixels and segments are written."""

    start: Literal[0, 1] = Field(
        default=0, alias="from", description="What the first is counted as."
    )
    written: Written = Field(default="number", alias="as", description="As a number or as a text.")
    before: str = Field(default="", description="Text before the number.")
    after: str = Field(default="", description="Text after the number.")


class Time(Keys):
    """How a length of time is written: as a whole number."""

    unit: SomeTime = Field(description="What one means, for example 100ms.")


ColourCodec = Annotated[
    Annotated[Literal["hex", "list", "object", "css", "integer"], Tag("=scalar")]
    | Annotated[Colour, Tag("=mapping")],
    BY_SHAPE,
]


class Frame(Keys):
    """How painted pixels read back."""

    form: Literal["list", "text"] = Field(
        default="list", description="A list of colours, or one text of them."
    )
    colour_at: str | None = Field(
        default=None, description="Place of the colour in an item of the list."
    )
    between: str = Field(
        default="",
        description="What stands between the colours of a text; only hex can do without.",
    )


class Codecs(Keys):
    """How each value is written, both ways."""

    colour: ColourCodec = Field(default="hex", description="Whole colours.")
    pixel_colour: ColourCodec | None = Field(
        default=None, description="Colours of painted pixels, where they are written otherwise."
    )
    frame: Frame = Field(
        default={}, validate_default=True, description="How painted pixels read back."
    )
    level: Scale = Field(default={}, validate_default=True, description="Brightness.")
    hue: Scale = Field(default={}, validate_default=True, description="Hue, in parts of a turn.")
    saturation: Scale = Field(default={}, validate_default=True, description="Saturation.")
    value: Scale = Field(
        default={}, validate_default=True, description="Value of hue, saturation, value."
    )
    red: Scale = Field(default={}, validate_default=True, description="The red channel.")
    green: Scale = Field(default={}, validate_default=True, description="The green channel.")
    blue: Scale = Field(default={}, validate_default=True, description="The blue channel.")
    white: Scale = Field(default={}, validate_default=True, description="The white channel.")
    on: Flag = Field(
        default={}, validate_default=True, description="The flag that says lit or dark."
    )
    number: Count = Field(
        default={}, validate_default=True, description="The segment's number or name."
    )
    first: Count = Field(
        default={}, validate_default=True, description="The number of a first pixel."
    )
    last: Count = Field(
        default={}, validate_default=True, description="The number of a last pixel, included."
    )
    length: Count = Field(default={}, validate_default=True, description="A number of pixels.")
    pixel: Count = Field(default={}, validate_default=True, description="The number of one pixel.")
    fade: Time | None = Field(
        default=None, description="How long a change may take; milliseconds where not said."
    )
    lasts: Time | None = Field(
        default=None, description="How long a look stays; seconds where not said."
    )


class ToldAt(Keys):
    """What an answer holds only while the effect is shown."""

    at: str = Field(description="Place in the answer.")
    is_: Json = Field(
        default=None, alias="is", description="The value there; anything where not said."
    )


Told = Annotated[Annotated[str, Tag("=scalar")] | Annotated[ToldAt, Tag("=mapping")], BY_SHAPE]


class Effect(Keys):
    """One of the controller's own effects."""

    name: Json = Field(default=None, description="What the controller calls it.")
    period: SomeTime | None = Field(
        default=None, description="How long one flash takes, both halves."
    )
    worst: Literal["full", "steady"] = Field(
        default="full", description="Its brightest frame: every channel full, or the steady look."
    )
    adds: Template = Field(
        default=None, description="Merged into the body when it is used (RFC 7396)."
    )
    told: Told | None = Field(
        default=None, description="A place that is in the answer only while this effect is shown."
    )


EffectWays = Annotated[
    Annotated[Effect, Tag("=mapping")] | Annotated[list[Effect], Field(min_length=1), Tag("=list")],
    BY_SHAPE,
]


class Effects(Keys):
    """The controller's own effects, by ours."""

    steady: EffectWays | None = Field(default=None, description="A light that does not move.")
    flash: EffectWays | None = Field(default=None, description="Flashes, each with its period.")
    gauge: EffectWays | None = Field(default=None, description="A bar that fills.")
    swell: Later = None
    march: Later = None
    split: Later = None


class Reply(Keys):
    """What a good answer says."""

    at: str = Field(description="Place in the answer.")
    is_: Json = Field(alias="is", description="The value that must be there.")


#: A line end or a blank would end the request's first line.
PathText = Annotated[str, *matching(r"^/[^\s?#]*$", "a path that begins with /, without ? and #")]


class Bare(Keys):
    """One request; its texts may hold {names}."""

    method: Method = Field(description="HTTP method.")
    path: PathText = Field(description="Path after the controller's url, beginning with /.")
    query: dict[Text, Template] = Field(
        default={}, description="Parameters after the question mark."
    )
    headers: dict[Text, str] = Field(default={}, description="Headers.")
    body: Template = Field(
        default=None, description="Body: data that is sent as JSON, with {names} in it."
    )
    form: Literal["json", "form"] = Field(
        default="json", description="How the body is written: as JSON, or as a form."
    )
    reply: Reply | None = Field(default=None, description="What a good answer says.")
    accepts: list[Annotated[int, Field(ge=100, le=599)]] = Field(
        default=[], description="Statuses that mean taken; any 2xx where not said."
    )


class Request(Bare):
    """A request that changes what is shown."""

    sends: Literal["changed", "all"] = Field(
        default="changed",
        description="all: every request carries every segment, not only the changed.",
    )
    then: Bare | None = Field(
        default=None, description="A request that must follow before it shows."
    )


class Keyed(Keys):
    """The item under a key."""

    at: str = Field(default="", description="Place of the object that has the keys.")
    key: Template = Field(description="The segment's key in it, with {names}.")


class Uptime(Keys):
    """A number that grows from each start."""

    uptime: str = Field(description="Place of the time since the controller began.")
    unit: Literal["ms", "s", "min", "h", "h:m:s", "iso 8601"] = Field(
        description="What one of its units means, or the form of its text."
    )


class RestartMark(Keys):
    """A value that changes with each start."""

    mark: str = Field(description="Place of the value.")


def _restart(value: object) -> str:
    return "=mark" if isinstance(value, dict) and "mark" in value else "=uptime"


class Asked(Bare):
    """A request whose answer tells about segments."""

    each: str | None = Field(
        default=None, alias="list", description="Place of the list with one item for each segment."
    )
    match: dict[str, Template] = Field(
        default={}, description="For each place in an item what it is for the segment."
    )
    keyed: Keyed | None = Field(
        default=None, description="Items stand under keys instead of in a list."
    )


class Observed(Asked):
    """A request whose answer tells what segments look like."""

    values: dict[str, Text] = Field(
        min_length=1, description="For each place in an item the name of what stands there."
    )
    must: dict[str, Json] = Field(
        default={}, description="For each place in an item the value that must be there."
    )
    tolerance: float = Field(
        default=0.0, ge=0, description="How far a read-back number may lie from the one sent."
    )


class Read(Observed):
    """How the state is read back."""

    every: SomeTime = Field(
        default="15s", validate_default=True, description="How often it is read, for example 15s."
    )
    main: dict[str, Json] = Field(
        default={},
        description="For each place in the whole answer the value that must be there: a main"
        " switch, a main brightness.",
    )
    restart: (
        Annotated[
            Annotated[Uptime, Tag("=uptime")] | Annotated[RestartMark, Tag("=mark")],
            Discriminator(_restart),
        ]
        | None
    ) = Field(default=None, description="What tells that the controller began anew.")


class Capture(Asked):
    """How a segment's look is read so that it can be given back as it was."""

    kept: str | None = Field(
        default=None,
        description="Place in the segment's part of the answer that is kept; all of it where not"
        " said.",
    )


class Boot(Keys):
    """The look that the controller shows by itself at power-up."""

    a_day: int = Field(
        default=3,
        ge=1,
        le=24,
        description="It is written so often in 24 hours at most: stored settings wear out.",
    )
    read: Observed | None = Field(default=None, description="Reads what is stored.")
    write: Bare = Field(description="Stores another look.")


class Identify(Bare):
    """How the controller says who it is."""

    identity: str | None = Field(default=None, description="Place of its identity.")
    pixels: str | None = Field(default=None, description="Place of its number of pixels.")


class DialectFile(Keys):
    """How one kind of controller is spoken to."""

    limits: Limits = Field(
        default={}, validate_default=True, description="What the controller bears."
    )
    codecs: Codecs = Field(
        default={}, validate_default=True, description="How each value is written."
    )
    effects: Effects = Field(default={}, validate_default=True, description="Its own effects.")
    show: Request | None = Field(
        default=None, description="Shows a look with the controller's own effect."
    )
    paint: Request | None = Field(default=None, description="Shows pixels of our own.")
    read: Read | None = Field(default=None, description="Reads back what is shown.")
    read_paint: Read | None = Field(
        default=None, description="Reads back painted pixels, where that is another request."
    )
    identify: Identify | None = Field(default=None, description="Asks who the controller is.")
    define: Bare | None = Field(
        default=None, description="Tells the controller which of its pixels a segment is."
    )
    capture: Capture | None = Field(
        default=None, description="Reads a segment's look so that it can be given back."
    )
    restore: Bare | None = Field(
        default=None, description="Gives a captured look back: {kept} is what capture kept."
    )
    boot: Boot | None = Field(
        default=None, description="The controller's own look at power-up, set to off watch."
    )
    master: Bare | None = Field(
        default=None, description="Sets the main switch on and the main brightness to full."
    )
    lasts: SomeTime | None = Field(
        default=None,
        description="How long a look stays before the controller goes back to its own, for example"
        " 60s; {lasts} tells it where it wants to be told.",
    )
