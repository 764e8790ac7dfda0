"""``site.yaml``: what there is in this workroom, and which lights tell of which printer."""

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag

from bridge.settings.legend_file import ColourText
from bridge.settings.quantities import Current, Length, Proportion, SomeTime
from bridge.settings.shapes import BY_SHAPE, Credential, KeepGoing, Keys, Later, Name, Value

Text = Annotated[str, Field(min_length=1)]
OneOrMore = Annotated[
    Annotated[Value, Tag("=scalar")] | Annotated[list[Value], Tag("=list")], BY_SHAPE
]


class Tls(Keys):
    """How a broker proves who it is."""

    ca: Text | None = Field(
        default=None, description="File with the certificates of the authorities that are trusted."
    )
    certificate: Text | None = Field(
        default=None, description="File with the certificate and key that the bridge shows."
    )
    pinned: Text | None = Field(
        default=None,
        description="SHA-256 of the one certificate that is trusted, as 64 hex digits.",
    )


class Broker(Keys):
    """An MQTT broker."""

    url: Text = Field(description="mqtt://host or mqtts://host, with :port where it is unusual.")
    credential: Credential | None = Field(
        default=None, description="Name of the credential whose text is user:password."
    )
    protocol: Literal["auto", "5", "3.1.1"] = Field(
        default="auto", description="Version of MQTT; auto tries 5 and falls back to 3.1.1."
    )
    keep_alive: SomeTime = Field(
        default="30s",
        validate_default=True,
        description="How long the connection may be silent, for example 30s.",
    )
    client_id: Text = Field(default="lampwright", description="The bridge's name at this broker.")
    tls: Tls | None = Field(default=None, description="Certificates, for mqtts only.")


class HeaderAccess(Keys):
    """A secret in a header of its own."""

    name: Text = Field(description="The header's name.")
    credential: Credential = Field(description="Name of the credential whose text is its value.")


class LogIn(Keys):
    """A request that gives a token which expires."""

    credential: Credential = Field(
        description="Name of the credential whose text is user:password."
    )
    url: Text = Field(description="Where to log in.")
    token_at: str = Field(description="Place of the token in the answer, for example /token.")
    header: Text = Field(default="Authorization", description="The header that carries the token.")
    before: str = Field(
        default="Bearer ", description="What stands before the token in the header."
    )


class AccessKeys(Keys):
    """How requests are let in: at most one of basic, digest, bearer, header and log_in."""

    basic: Credential | None = Field(
        default=None, description="Credential user:password for HTTP basic authentication."
    )
    digest: Credential | None = Field(
        default=None, description="Credential user:password for HTTP digest authentication."
    )
    bearer: Credential | None = Field(
        default=None, description="Credential that is a bearer token."
    )
    header: HeaderAccess | None = Field(
        default=None, description="A credential in a header of its own."
    )
    log_in: LogIn | None = Field(
        default=None, description="A request that gives a token which expires."
    )
    ca: Text | None = Field(
        default=None, description="File with the certificates of the authorities that are trusted."
    )
    pinned: Text | None = Field(
        default=None,
        description="SHA-256 of the one certificate that is trusted, as 64 hex digits.",
    )


Access = Annotated[
    Annotated[Literal["none"], Tag("=scalar")] | Annotated[AccessKeys, Tag("=mapping")], BY_SHAPE
]


class TopicAddress(Keys):
    """An MQTT topic at a broker that is not the printer's own."""

    broker: Name = Field(description="A broker of this site.")
    topic: Text = Field(description="Topic filter, + and # are wildcards.")


class UrlAddress(Keys):
    """A URL with an access of its own."""

    url: Text = Field(description="http:// or https:// address.")
    access: Access | None = Field(default=None, description="How its requests are let in.")


def _address_shape(value: object) -> str:
    if not isinstance(value, dict):
        return "=text"
    return "=url" if "url" in value else "=topic"


Address = Annotated[
    Annotated[Text, Tag("=text")]
    | Annotated[TopicAddress, Tag("=topic")]
    | Annotated[UrlAddress, Tag("=url")],
    Discriminator(_address_shape),
]


class Poll(Keys):
    """How often a printer is asked over HTTP; never under 1 s."""

    working: SomeTime = Field(
        default="5s", validate_default=True, description="Interval while it works, for example 5s."
    )
    resting: SomeTime = Field(
        default="20s",
        validate_default=True,
        description="Interval while it rests, for example 20s.",
    )


class Printer(Keys):
    """One printer."""

    reader: Name = Field(description="How it is read: readers/NAME.yaml.")
    broker: Name | None = Field(default=None, description="The broker of its MQTT topics.")
    messages: Annotated[dict[Name, Address], KeepGoing] = Field(
        description="For each message of its reader, the MQTT topic or the URL it comes from."
    )
    asks: Annotated[dict[Name, Address], KeepGoing] = Field(
        default={}, description="For each ask of its reader, the topic or URL it goes to."
    )
    parameters: dict[Name, Value] = Field(
        default={},
        alias="with",
        description="Values for the {placeholders} of its reader, topics and URLs.",
    )
    poll: Poll | None = Field(default=None, description="How often its URLs are asked.")
    access: Access | None = Field(default=None, description="How requests to its URLs are let in.")


class Draws(Keys):
    """What a pixel draws from the supply."""

    channel: Current = Field(
        description="One channel of one pixel at its fullest, from the chip's data sheet, for"
        " example 12 mA."
    )
    idle: Current = Field(
        default="0 mA",
        validate_default=True,
        description="A dark pixel, for example 1 mA.",
    )


class Supply(Keys):
    """A supply, and how much may be drawn from it. It limits what is decided and is no fuse."""

    limit: Current = Field(description="The most that may be drawn, for example 10 A.")
    feeds: Annotated[list[Name], Field(min_length=1)] = Field(
        description="The controllers whose strips hang on it."
    )
    reserve: Current = Field(
        default="0 A",
        validate_default=True,
        description="What else hangs on it: controllers, pixels that are not ours.",
    )


class Calibration(Keys):
    """How a strip must be told a colour, so that it looks as it is meant."""

    white: ColourText = Field(
        default="#ffffff",
        description="What it must be told to look white: lower the channels that are too strong,"
        ' for example "#ffd8b0".',
    )
    gamma: float = Field(
        default=1.0,
        ge=1.0,
        le=3.0,
        description="2.2 for a controller that turns codes straight into on-time, so that what is"
        " half as bright looks too bright; 1 for one that corrects that itself.",
    )


class Controller(Keys):
    """One controller of lights."""

    url: Text = Field(description="http:// or https:// address, without a path where it has none.")
    dialect: Name = Field(description="How it is spoken to: dialects/NAME.yaml.")
    pixels: int = Field(ge=1, le=100_000, description="How many pixels its data run has.")
    pitch: Length | None = Field(
        default=None, description="Distance from pixel to pixel, for example 1000/60 mm."
    )
    identity: Text | None = Field(
        default=None, description="What it must answer when it is asked who it is."
    )
    access: Access | None = Field(default=None, description="How requests to it are let in.")
    draws: Draws | None = Field(
        default=None, description="What its pixels draw; must be there where a supply feeds it."
    )
    calibration: Calibration | None = Field(
        default=None, description="How its strips must be told a colour."
    )


class Location(Keys):
    """Where the workroom is, for when the sun rises and sets there."""

    latitude: float = Field(ge=-90, le=90, description="Degrees, north positive.")
    longitude: float = Field(ge=-180, le=180, description="Degrees, east positive.")


class QuietHours(Keys):
    """A part of each day in which segments are dimmed."""

    start: Text = Field(
        alias="from",
        description='Local time such as "22:00", or sunset or sunrise, also with an offset such as'
        ' "sunset + 30m".',
    )
    before: Text = Field(description="Until when, likewise; over midnight where it is earlier.")
    brightness: Proportion = Field(description="What is left of each scene's brightness.")
    alarms: Literal["full", "dimmed"] = Field(
        default="full",
        description="full: alarms, and scenes that say act or trouble, stay as bright as they are.",
    )
    segments: Annotated[list[Name], Field(min_length=1)] | None = Field(
        default=None, description="Segments or sets; all of them where left out."
    )


class RestingAt(Keys):
    """What is rested in during a part of each day; the last entry has no times."""

    start: Text | None = Field(
        default=None, alias="from", description="As in quiet hours; the last entry has none."
    )
    before: Text | None = Field(default=None, description="Until when, likewise.")
    show: Name = Field(description="A scene that says resting.")


Resting = Annotated[
    Annotated[Name, Tag("=scalar")]
    | Annotated[Annotated[list[RestingAt], Field(min_length=1)], Tag("=list")],
    BY_SHAPE,
]


class Segment(Keys):
    """A named range of pixels."""

    on: Name = Field(description="The controller that drives it.")
    number: int | Text | None = Field(
        default=None, description="The controller's own number or name for the segment."
    )
    first: int = Field(default=0, ge=0, description="Its first pixel; the controller's first is 0.")
    length: int = Field(ge=1, description="How many pixels it has.")
    printers: list[Name] = Field(
        default=[], description="The printers it tells of, in the order of their shares."
    )
    table: Name | None = Field(
        default=None, description="The table of rules.yaml that decides its scene."
    )
    resting: Resting | None = Field(
        default=None,
        description="The scene it shows when it has nothing to tell; or a list by time of day.",
    )
    share: Literal["worst", "split", "rotate"] = Field(
        default="worst",
        description="How it tells of several printers: the worst of them, a share of its pixels"
        " each, or one after the other.",
    )
    each: SomeTime = Field(
        default="5s",
        validate_default=True,
        description="How long each printer's scene shows where they take turns (share: rotate).",
    )
    calibration: Calibration | None = Field(
        default=None,
        description="Of its strip, where that is another than the controller's others.",
    )
    drift: Literal["insist", "yield"] = Field(
        default="insist",
        description="What somebody else set at the controller: insist corrects it, yield leaves it"
        " until the next decision; alarms always insist.",
    )
    kept_for: SomeTime | None = Field(
        default=None,
        description="show: hand-back gives back what somebody else had set here before, if that is"
        " no longer ago than this, for example 12h; without, it shows the resting scene.",
    )


class Button(Keys):
    """A push-button, or anything else that sends text or JSON: what is wished by pressing it."""

    broker: Name | None = Field(default=None, description="The broker of its topic.")
    topic: Text | None = Field(
        default=None, description="MQTT topic filter that it is heard on, + and # are wildcards."
    )
    url: Text | None = Field(
        default=None,
        description="http:// or https:// address that is asked, where it has no topic.",
    )
    every: SomeTime | None = Field(
        default=None, description="How often its URL is asked, at least 1s; 1s where not said."
    )
    access: Access | None = Field(default=None, description="How requests to its URL are let in.")
    at: str | None = Field(
        default=None,
        description="Place in a JSON message: a JSON Pointer or a JSONPath; without, it is a text.",
    )
    is_: OneOrMore | None = Field(
        default=None,
        alias="is",
        description="What it says when it is pressed, or a list; without, whatever it says.",
    )
    counts: Literal["messages", "changes"] | None = Field(
        default=None,
        description="messages: each one presses, as topics do where not said; changes: only what"
        " differs from the one before, as URLs always do, and a number only when it grew.",
    )
    wishes: Literal["acknowledge", "reset", "collected"] = Field(
        description="What is wished of all that waits for it at that moment."
    )
    printers: Annotated[list[Name], Field(min_length=1)] | None = Field(
        default=None, description="The printers it is about; all of them where left out."
    )
    alarms: Annotated[list[Name], Field(min_length=1)] | None = Field(
        default=None, description="The alarms that it acknowledges or resets; else all."
    )
    prompts: Annotated[list[Name], Field(min_length=1)] | None = Field(
        default=None, description="The prompts of which it says that they are collected; else all."
    )
    who: Text | None = Field(
        default=None, description="Who is said to have wished it; where left out, the button."
    )


class SiteFile(Keys):
    """The workroom: brokers, printers, controllers and segments."""

    zone: Text = Field(
        default="UTC", description="Time zone by its IANA name, for example Europe/Dublin."
    )
    brokers: Annotated[dict[Name, Broker], KeepGoing] = Field(
        default={}, description="MQTT brokers by name."
    )
    printers: Annotated[dict[Name, Printer], KeepGoing] = Field(description="Printers by name.")
    controllers: Annotated[dict[Name, Controller], KeepGoing] = Field(
        description="Controllers of lights by name."
    )
    segments: Annotated[dict[Name, Segment], KeepGoing] = Field(
        description="Segments of light by name."
    )
    sets: Annotated[dict[Name, Annotated[list[Name], Field(min_length=1)]], KeepGoing] = Field(
        default={},
        description="Names for several segments at once; the set of them all is called all.",
    )
    buttons: Annotated[dict[Name, Button], KeepGoing] = Field(
        default={}, description="Push-buttons by name, for wishes about alarms and prompts."
    )
    supplies: Annotated[dict[Name, Supply], KeepGoing] = Field(
        default={},
        description="Supplies by name: looks are dimmed so that none is asked for more than it"
        " bears.",
    )
    resting: Resting | None = Field(
        default=None,
        description="The resting scene of segments that name none of their own; or a list by time"
        " of day.",
    )
    location: Location | None = Field(
        default=None, description="Where the sun is looked for, where times follow it."
    )
    quiet_hours: Annotated[dict[Name, QuietHours], KeepGoing] = Field(
        default={}, description="Parts of the day in which segments are dimmed, by name."
    )
    off_watch: Name = Field(
        description="The scene left behind when nobody watches: it must say unknown or graver."
    )
    view: Later = None
    bridges: Later = None
