"""The frozen shapes of a dialect, as the settings give them: how one kind of controller speaks.

A template is JSON data in which a text may hold ``{names}``. A text that is one placeholder takes
the codec's own type; else the placeholder's text form is put in. A mapping with the key ``each``
repeats: ``{each: pixel | range | segment, put: TEMPLATE}``. The repeated parts become a list, with
``joined: TEXT`` one text, with ``into: object`` one object of their members, with ``into: flat``
one list of their elements; ``most: N`` allows at most N of them in a request.

Names: ``segment``, ``number``, ``first``, ``last``, ``length``; ``colour``, ``level``, ``effect``,
``on``, ``red``, ``green``, ``blue``, ``white`` (what those three have in common, which they are
then written without), ``hue``, ``saturation``, ``value``, ``fade`` (how long the change may take),
``lasts`` (how long the look stays); inside ``each: pixel`` also ``pixel`` (its number); inside
``each: range`` first, last, length and colour are the range's; in ``restore`` ``kept`` is what
``capture`` found.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, TypeAlias

from bridge.facts.places import Place as JsonPlace

#: JSON data with placeholders in its texts.
Template: TypeAlias = Any
Rounding: TypeAlias = Literal["nearest", "down", "up"]


@dataclass(frozen=True, slots=True)
class ColourCodec:
    """How a whole colour is written.

    ``hex``: ``mark`` + two digits a channel in ``case`` + ``after``. ``list``/``object``: numbers
    0..``to`` (``to`` 1: fractions, rounded to ``digits``), an object's ``keys`` in the order red,
    green, blue (and white). ``css``: ``rgb(r, g, b)`` or ``hsl(h, s%, l%)`` with ``between`` its
    numbers. ``integer``: one packed integer. ``order`` is the channel order of hex, list and
    integer; with a ``W`` in it the strip has a white of its own, which is left dark, or takes what
    red, green and blue have in common.
    """

    form: Literal["hex", "list", "object", "css", "integer"] = "hex"
    mark: str = ""
    after: str = ""
    case: Literal["lower", "upper"] = "lower"
    #: The letters of the channels, each once; W where there is a white.
    order: str = "RGB"
    white: Literal["dark", "extract"] = "dark"
    function: Literal["rgb", "hsl"] = "rgb"
    to: int = 255
    digits: int = 3
    keys: tuple[str, ...] = ("red", "green", "blue")
    between: str = ", "
    #: The level is folded into the colour instead of standing in a place of its own.
    level: Literal["own", "folded"] = "own"


@dataclass(frozen=True, slots=True)
class ScaleCodec:
    """A proportion 0..1 (of a turn, for hue) as a number from ``low`` to ``high``.

    ``low`` may be the larger (darkness instead of level). ``digits`` 0: whole numbers. ``least``:
    what any lit look gets at least. A text may have affixes (``63 %``).
    """

    low: float = 0.0
    high: float = 255.0
    rounding: Rounding = "nearest"
    digits: int = 0
    least: float | None = None
    written: Literal["number", "text"] = "number"
    before: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True)
class TimeCodec:
    """A length of time as a whole number of ``unit_ms``."""

    unit_ms: int = 1000


@dataclass(frozen=True, slots=True)
class CountCodec:
    """Pixel and segment numbers: counted from ``start``, as a number or as text with affixes."""

    start: int = 0
    written: Literal["number", "text"] = "number"
    before: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True)
class WordCodec:
    """An on-flag: what stands for lit and for dark."""

    lit: Any = True
    dark: Any = False


@dataclass(frozen=True, slots=True)
class FrameCodec:
    """How painted pixels read back.

    A list of colours (each at ``colour_at`` of its element, or the element itself), or one text of
    them with ``between``.
    """

    form: Literal["list", "text"] = "list"
    colour_at: JsonPlace | None = None
    between: str = ""


@dataclass(frozen=True, slots=True)
class Told:
    """What an answer holds only while one effect is shown.

    Something at ``at``; where ``wanted`` is stated, that.
    """

    at: JsonPlace
    wanted: Any = None


@dataclass(frozen=True, slots=True)
class NativeEffect:
    """One effect of the controller's own. ``name`` ``None``: told by its absence.

    ``period_ms`` of a flash; ``adds`` is merged (RFC 7396) into the body, into what
    ``each: segment`` repeats, or without a body into the query, when it is used; ``worst`` says
    what its brightest frame is.
    """

    name: Any
    period_ms: int | None = None
    worst: Literal["full", "steady"] = "full"
    adds: Template = None
    #: Where the name of the effect is not a value of the answer.
    told: Told | None = None


@dataclass(frozen=True, slots=True)
class ReplyCheck:
    """Where a good answer says so: the value at ``at`` is ``wanted``."""

    at: JsonPlace
    wanted: Any


@dataclass(frozen=True, slots=True)
class RequestTemplate:
    """One request. ``body`` is ``None`` for none; ``form``: how the body is written.

    ``accepts``: the statuses that mean taken, any 2xx where none is stated. ``sends`` ``all``: a
    list of every segment, those that are not ours as last read. ``then``: a request that must
    follow before anything shows.
    """

    method: str
    path: str
    query: Mapping[str, Template] = field(default_factory=dict)
    headers: Mapping[str, str] = field(default_factory=dict)
    body: Template = None
    form: Literal["json", "form"] = "json"
    reply: ReplyCheck | None = None
    accepts: tuple[int, ...] = ()
    sends: Literal["changed", "all"] = "changed"
    then: RequestTemplate | None = None


@dataclass(frozen=True, slots=True)
class Restart:
    """What tells that a controller began anew: an uptime that fell, or a mark that changed.

    An uptime is a number of ``unit_ms``, or a text in ``written``.
    """

    at: JsonPlace
    form: Literal["uptime", "mark"]
    #: Milliseconds that one unit of the uptime means.
    unit_ms: float = 1000.0
    written: Literal["number", "h:m:s", "iso 8601"] = "number"


@dataclass(frozen=True, slots=True)
class ReadTemplate:
    """How the state is read back.

    ``each``: the items of an answer for several segments, each matched by ``match`` (a place in
    the item, a template of the segment's names); without ``each`` the answer is one segment's, or,
    with ``keyed`` (a template), the item under that key of the object at ``keyed_at``.
    ``values``: a place in the item to the name whose codec it carries; ``pixels`` is a painted
    frame. ``must``: places in the item that must hold a value; ``main``: places in the whole
    answer that must (a main switch, a main brightness left at full).
    """

    request: RequestTemplate
    every_ms: int
    values: tuple[tuple[JsonPlace, str], ...]
    each: JsonPlace | None = None
    match: tuple[tuple[JsonPlace, Template], ...] = ()
    keyed: Template = None
    keyed_at: JsonPlace | None = None
    must: tuple[ReplyCheck, ...] = ()
    main: tuple[ReplyCheck, ...] = ()
    restart: Restart | None = None
    #: How far a read-back number may lie from the one sent, in its own unit.
    tolerance: float = 0.0


@dataclass(frozen=True, slots=True)
class IdentifyTemplate:
    """How the controller says who it is and how many pixels it has."""

    request: RequestTemplate
    identity: JsonPlace | None = None
    pixels: JsonPlace | None = None


@dataclass(frozen=True, slots=True)
class CaptureTemplate:
    """How a segment's look is read so that it can be given back as it was.

    ``item`` finds the segment's part of the answer, as a read does; ``kept`` is a place in it, all
    of it where that is ``None``.
    """

    item: ReadTemplate
    kept: JsonPlace | None = None


@dataclass(frozen=True, slots=True)
class BootTemplate:
    """The controller's own look at power-up: how it is read and written.

    Stored settings wear out: it is written only when it differs, ``a_day`` times at most.
    """

    read: ReadTemplate
    write: RequestTemplate
    a_day: int = 3


@dataclass(frozen=True, slots=True)
class Limits:
    """What the controller bears: at most ``requests`` in any ``window_ms`` (``None``: no limit)."""

    requests: int | None = None
    window_ms: int = 1000
    in_flight: int = 1
    body_bytes: int = 1500
    timeout_ms: int = 3000
    settles_in_ms: int = 300


@dataclass(frozen=True, slots=True)
class DialectGrammar:
    """A dialect as written."""

    name: str
    limits: Limits
    show: RequestTemplate | None
    effects: Mapping[str, tuple[NativeEffect, ...]]
    colour: ColourCodec = ColourCodec()
    #: Of painted pixels, where it is another.
    pixel_colour: ColourCodec | None = None
    frame: FrameCodec = FrameCodec()
    level: ScaleCodec = ScaleCodec()
    hue: ScaleCodec = ScaleCodec(high=360.0)
    saturation: ScaleCodec = ScaleCodec(high=100.0)
    value: ScaleCodec = ScaleCodec(high=100.0)
    red: ScaleCodec = ScaleCodec()
    green: ScaleCodec = ScaleCodec()
    blue: ScaleCodec = ScaleCodec()
    white: ScaleCodec = ScaleCodec()
    on: WordCodec = WordCodec()
    number: CountCodec = CountCodec()
    first: CountCodec = CountCodec()
    last: CountCodec = CountCodec()
    length: CountCodec = CountCodec()
    pixel: CountCodec = CountCodec()
    fade: TimeCodec = TimeCodec(1)
    lasts: TimeCodec = TimeCodec()
    #: After how long a look expires; ``None``: it does not.
    lasts_ms: int | None = None
    paint: RequestTemplate | None = None
    read: ReadTemplate | None = None
    #: Of painted segments, where it is another request.
    read_paint: ReadTemplate | None = None
    identify: IdentifyTemplate | None = None
    #: Tells the controller which of its pixels a segment is.
    define: RequestTemplate | None = None
    capture: CaptureTemplate | None = None
    restore: RequestTemplate | None = None
    boot: BootTemplate | None = None
    #: Sets the main switch on and the main brightness to full.
    master: RequestTemplate | None = None
