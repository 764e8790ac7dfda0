"""A whole site, checked and compiled: what the ``Settings`` event carries."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, Literal, TypeAlias
from zoneinfo import ZoneInfo

from bridge.facts.places import Place as DocumentPlace
from bridge.facts.reader import Input, Reader
from bridge.facts.reader import Scalar as Word
from bridge.lights.dialect.grammar import DialectGrammar
from bridge.lights.place import Place
from bridge.rules.alarm import Alarm, Prompt
from bridge.rules.day_times import Location, Span
from bridge.rules.table import Source, Table
from bridge.scenes.scene import HAND_BACK, Scene

#: How a segment speaks of several printers.
Share: TypeAlias = Literal["worst", "split", "rotate"]
#: The set of every segment; no segment and no other set is called so.
ALL_SEGMENTS: Final = "all"


@dataclass(frozen=True, slots=True)
class Broker:
    """An MQTT broker. ``credential`` is a name; ``keep_alive_s`` is in seconds."""

    name: str
    host: str
    port: int
    tls: bool = False
    credential: str | None = None
    ca_file: str | None = None
    client_certificate: str | None = None
    #: SHA-256 of a self-signed certificate that is trusted and no other, as hex.
    pinned: str | None = None
    client_id: str = "lampwright"
    keep_alive_s: int = 30
    protocol: Literal["auto", "5", "3.1.1"] = "auto"


@dataclass(frozen=True, slots=True)
class Login:
    """A request that gives a token which expires: posted again when an answer says 401."""

    url: str
    token_at: str
    method: str = "POST"
    header: str = "Authorization"
    before: str = "Bearer "


@dataclass(frozen=True, slots=True)
class Access:
    """How requests to an address are allowed in. ``credential`` is a name, never a secret."""

    form: Literal["none", "basic", "digest", "bearer", "header", "log-in"] = "none"
    credential: str | None = None
    header: str | None = None
    login: Login | None = None
    ca_file: str | None = None
    pinned: str | None = None


@dataclass(frozen=True, slots=True)
class Endpoint:
    """One polled HTTP request; printers that need the same one share it. Times in ms."""

    id: str
    url: str
    method: str = "GET"
    headers: tuple[tuple[str, str], ...] = ()
    body: bytes | None = None
    access: Access = Access()
    timeout_ms: int = 5000
    working_ms: int = 5000
    resting_ms: int = 20000


@dataclass(frozen=True, slots=True)
class Asking:
    """What is published or posted so that a printer speaks, at connect and every ``every_ms``."""

    name: str
    source: str
    #: An MQTT topic, or a URL.
    address: str
    payload: bytes
    every_ms: int | None = None
    access: Access = Access()


@dataclass(frozen=True, slots=True)
class Printer:
    """One printer: how it is read and where from."""

    name: str
    reader: Reader
    inputs: tuple[Input, ...]
    asks: tuple[Asking, ...] = ()


@dataclass(frozen=True, slots=True)
class Draws:
    """What a pixel draws, in microamperes: a channel at its fullest code, and the pixel dark."""

    channel_ua: int
    idle_ua: int = 0


@dataclass(frozen=True, slots=True)
class Supply:
    """A supply of controllers. ``reserve_ua``: what else hangs on it, and what nobody knows."""

    name: str
    limit_ua: int
    feeds: tuple[str, ...]
    reserve_ua: int = 0
    source: Source = Source("site.yaml", 1, 1)


@dataclass(frozen=True, slots=True)
class Controller:
    """One controller of lights. ``identity`` is what it must answer when asked who it is."""

    name: str
    url: str
    dialect: str
    pixels: int
    identity: str | None = None
    access: Access = Access()
    draws: Draws | None = None


@dataclass(frozen=True, slots=True)
class Segment:
    """A named range of pixels. Without printers and table it shows its resting scene.

    ``dwell_ms`` is how long each printer's scene shows where they take turns (``rotate``).
    ``yields``: what somebody else set is left until the next decision, but not while it has an
    alarm to show.
    """

    name: str
    controller: str
    place: Place
    resting: str
    printers: tuple[str, ...] = ()
    table: str | None = None
    share: Share = "worst"
    dwell_ms: int = 5000
    yields: bool = False
    #: For how long what was there before is kept and given back, in ms; ``None``: not at all.
    kept_for_ms: int | None = None
    #: What it rests in at parts of the day; ``resting`` is for the rest of it.
    resting_by_day: tuple[tuple[Span, str], ...] = ()
    source: Source = Source("site.yaml", 1, 1)


@dataclass(frozen=True, slots=True)
class QuietHours:
    """A part of the day in which these segments are dimmed; alarms too, or not."""

    name: str
    span: Span
    brightness: float
    segments: tuple[str, ...]
    alarms: Literal["full", "dimmed"] = "full"
    source: Source = Source("site.yaml", 1, 1)


@dataclass(frozen=True, slots=True)
class Button:
    """Anything that can send text or JSON, and what is wished when it is pressed.

    ``at`` is a place in JSON; without one the message is a text. Empty ``values``: whatever it
    says. ``on_change``: only what differs from the last time counts, as with all that is polled.
    ``printers`` and ``names`` (alarms or prompts) narrow the wish; empty means all.
    """

    name: str
    source: str
    #: A topic filter, or an endpoint's id.
    address: str
    wish: Literal["acknowledge", "reset", "collected"]
    who: str
    at: DocumentPlace | None = None
    values: tuple[Word, ...] = ()
    on_change: bool = False
    printers: tuple[str, ...] = ()
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Accepted:
    """A kind of finding that somebody lives with, for these things (``("rule", NAME)``, …)."""

    finding: str
    about: tuple[tuple[str, str], ...]
    because: str
    source: Source


@dataclass(frozen=True, slots=True)
class Site:
    """Everything that the settings say. ``texts`` are the files they were read from."""

    zone: ZoneInfo
    brokers: Mapping[str, Broker]
    endpoints: Mapping[str, Endpoint]
    printers: Mapping[str, Printer]
    controllers: Mapping[str, Controller]
    dialects: Mapping[str, DialectGrammar]
    segments: Mapping[str, Segment]
    tables: Mapping[str, Table]
    scenes: Mapping[str, Scene]
    off_watch: str
    alarms: Mapping[str, Alarm] = field(default_factory=dict)
    prompts: Mapping[str, Prompt] = field(default_factory=dict)
    #: Named sets of segments, the one of all of them left out.
    sets: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    buttons: Mapping[str, Button] = field(default_factory=dict)
    supplies: Mapping[str, Supply] = field(default_factory=dict)
    quiet_hours: Mapping[str, QuietHours] = field(default_factory=dict)
    #: Where the sun is looked for; ``None``: nothing follows it.
    location: Location | None = None
    accepted: tuple[Accepted, ...] = ()
    #: Where each scene is written.
    scene_sources: Mapping[str, Source] = field(default_factory=dict, repr=False)
    texts: Mapping[str, str] = field(default_factory=dict, repr=False)


def scene_on(site: Site, segment: Segment, name: str) -> Scene:
    """A scene of the legend; of a segment that is handed back its resting scene, so named."""
    if name == HAND_BACK:
        return replace(site.scenes[segment.resting], name=HAND_BACK)
    return site.scenes[name]


def facts_read(site: Site, table: Table) -> frozenset[str]:
    """The facts that a table's conditions and the scenes that it shows read."""
    conditions = {condition.fact for row in table.rows for condition in row.tested}
    rows = [row for row in (*table.rows, table.otherwise) if row.show != HAND_BACK]
    scenes = (site.scenes[row.show] for row in rows)
    return frozenset(conditions | {scene.source for scene in scenes if scene.effect == "gauge"})


def segments_named(site: Site, names: Iterable[str]) -> tuple[str, ...]:
    """The segments of these names, of segments or sets, each once and in the site's order.

    Raises ``KeyError`` with the first name that is neither.
    """
    wanted = {segment for name in names for segment in _segments_of(site, name)}
    return tuple(name for name in site.segments if name in wanted)


def _segments_of(site: Site, name: str) -> Iterable[str]:
    if name == ALL_SEGMENTS:
        return site.segments
    return (name,) if name in site.segments else site.sets[name]
