"""``readers/NAME.yaml``: which messages a kind of printer sends, and where its facts are."""

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, PlainValidator, Tag, WithJsonSchema

from bridge.facts.vocabulary import FACTS
from bridge.settings.nearest import listed, shown
from bridge.settings.quantities import SomeTime
from bridge.settings.rules_file import fact_key
from bridge.settings.shapes import BY_SHAPE, Json, KeepGoing, Keys, Name, Value, matching, sentence
from bridge.settings.site_file import OneOrMore, Text

InstantForm = Literal["epoch s", "epoch ms", "iso 8601"]


Method = Annotated[str, *matching("^[A-Z]{1,20}$", "a method in capitals, for example POST")]


class SentAt(Keys):
    """Where a message carries the instant it was sent."""

    at: str = Field(description="Place of the instant.")
    form: InstantForm = Field(description="How it is written: epoch s, epoch ms or iso 8601.")


class Request(Keys):
    """What a poll over HTTP sends."""

    method: Method = Field(default="GET", description="HTTP method, GET where not said.")
    body: Json = Field(default=None, description="Body: a text, or data that is sent as JSON.")
    headers: dict[Text, Text] = Field(
        default={}, description="Headers; secrets come by access, not from here."
    )


class Only(Keys):
    """What tells a message from others on the same address."""

    at: str = Field(description="Place that tells them apart.")
    is_: OneOrMore = Field(alias="is", description="What stands there in this message.")


class Message(Keys):
    """One message that the printer sends or answers."""

    kind: Literal["json", "text"] = Field(description="What its body is.")
    fresh_for: SomeTime | None = Field(
        default=None,
        description="How long it is trusted: at least twice the time between two of them.",
    )
    fresh_while: Literal["link"] | None = Field(
        default=None,
        description="link: trusted while the link is up, for devices that tell only changes.",
    )
    required: bool = Field(default=False, description="Without it the printer counts as stale.")
    joins: Literal["replace", "patch"] = Field(
        default="replace", description="patch: each message changes parts of the last (RFC 7396)."
    )
    full: str | None = Field(
        default=None, description="For patches: a place that only whole documents have."
    )
    retained: Literal["distrust", "trust"] = Field(
        default="distrust", description="Whether a message that the broker stored counts at first."
    )
    sent_at: SentAt | None = Field(
        default=None, description="Where it carries the instant it was sent, for its true age."
    )
    beat: str | None = Field(
        default=None, description="A place that must change for the message to count as fresh."
    )
    every: SomeTime | None = Field(default=None, description="How often it is expected.")
    only: Only | None = Field(
        default=None, description="What tells it from other messages on the same address."
    )
    within: str | None = Field(
        default=None,
        description="Place of the printer's own part in a body about several: there exactly once.",
    )
    request: Request | None = Field(default=None, description="What a poll sends, over HTTP only.")


class Ask(Keys):
    """What makes the printer speak: sent at connect, and every so often."""

    body: Json = Field(default=None, description="A text, or data that is sent as JSON.")
    every: SomeTime | None = Field(default=None, description="How often it is sent again.")


Gives = Annotated[Annotated[Value, Tag("=scalar")] | Annotated[list[Text], Tag("=list")], BY_SHAPE]
GivenFacts = Annotated[dict[Annotated[str, fact_key(FACTS, {})], Gives], KeepGoing]


class Form(Keys):
    """The form of a text, with named parts."""

    message: Name = Field(alias="in", description="The message it is the form of.")
    at: str | None = Field(default=None, description="Place of the text in a JSON message.")
    form: Text = Field(description='The text with its parts, for example "{layer} of {layers}".')
    gives: GivenFacts = Field(
        default={}, description="Facts that any text of this form gives, besides its parts."
    )


class IsKeys(Keys):
    """A test of a number or of one bit."""

    above: float | None = Field(default=None, description="It is above this number.")
    at_least: float | None = Field(default=None, description="It is this number or above.")
    below: float | None = Field(default=None, description="It is below this number.")
    at_most: float | None = Field(default=None, description="It is this number or below.")
    bit: int | None = Field(
        default=None, ge=0, le=63, description="This bit is set; the lowest is 0."
    )


Is = Annotated[
    Annotated[Value, Tag("=scalar")]
    | Annotated[list[Value], Tag("=list")]
    | Annotated[IsKeys, Tag("=mapping")],
    BY_SHAPE,
]


class Also(Keys):
    """A further test, at a place of its own."""

    at: str = Field(description="Place in the same message.")
    is_: Is = Field(default=None, alias="is", description="What must be there.")
    absent: Literal[True] | None = Field(
        default=None, description="true: the place must not be there at all."
    )


def _by_value(value: Any) -> dict[Any, Any]:  # noqa: ANN401 - what YAML holds
    """Words and codes keep their type: 20 and "20" are not the same."""
    if not isinstance(value, dict):
        raise sentence(f"is {shown(value)}, expected a mapping (word: meaning)")
    if not value:
        raise sentence("is an empty mapping, expected words and their meaning")
    for meaning in value.values():
        texts = meaning if isinstance(meaning, list) else [meaning]
        if isinstance(meaning, dict) or not all(isinstance(text, str) for text in texts):
            raise sentence(f"has the meaning {shown(meaning)}, expected a word or a list of words")
    return value


_MEANING = {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}
_MEANINGS = {"type": "object", "additionalProperties": _MEANING, "minProperties": 1}
Values = Annotated[dict[Any, Any], PlainValidator(_by_value), WithJsonSchema(_MEANINGS)]


def _by_bit(value: Any) -> dict[int, Any]:  # noqa: ANN401 - what YAML holds
    for bit in _by_value(value):
        if isinstance(bit, bool) or not isinstance(bit, int) or not 0 <= bit <= 63:
            raise sentence(f"{shown(bit)} is no bit, expected 0 (the lowest) to 63")
    return dict(value)


_BITS = _MEANINGS | {"propertyNames": {"pattern": "^([0-9]|[1-5][0-9]|6[0-3])$"}}
Bits = Annotated[dict[int, Any], PlainValidator(_by_bit), WithJsonSchema(_BITS)]


def _by_severity(value: Any) -> dict[Any, str]:  # noqa: ANN401 - what YAML holds
    for severity in _by_value(value).values():
        if severity not in SEVERITIES:
            raise sentence(f"{shown(severity)} is no severity, expected {listed(SEVERITIES)}")
    return dict(value)


SEVERITIES = ("report", "warning", "error")
_SEVERITIES = _MEANINGS | {"additionalProperties": {"enum": list(SEVERITIES)}}
SeverityValues = Annotated[
    dict[Any, str], PlainValidator(_by_severity), WithJsonSchema(_SEVERITIES)
]


class Graded(Keys):
    """Where a message says how severe a reason is."""

    at: str = Field(description="Place of the word or code.")
    values: SeverityValues = Field(
        description="What each word or code means: report, warning or error."
    )


UNIT_PATTERN = "^(([0-9]+(\\.[0-9]+)?|\\.[0-9]+) )?(°C|°F|K|s|ms|min|h|%)$|^(h:m:s|iso 8601)$"


UnitText = Annotated[
    str, *matching(UNIT_PATTERN, 'a unit, for example "0.1 °C", ms, min, %, h:m:s or iso 8601')
]


class Found(Keys):
    """One way to find a fact: where it is, and what it means."""

    message: Name = Field(alias="in", description="The message it is read from.")
    at: str | None = Field(
        default=None, description="Place in a JSON message: a JSON Pointer or a JSONPath."
    )
    part: Text | None = Field(default=None, description="A named part of the message's forms.")
    wildcard: int | None = Field(
        default=None, ge=1, description="The text of the nth wildcard of the message's topic."
    )
    expects: Annotated[list[Text], Field(min_length=1)] | None = Field(
        default=None,
        description="Texts of the wildcard that must be heard before the reasons are complete.",
    )
    also: Annotated[list[Also], Field(min_length=1)] | None = Field(
        default=None, description="Further tests at other places; all must hold."
    )
    each: str | None = Field(
        default=None,
        description="Place of a list whose elements are read one by one; at is then within one.",
    )
    absent: Literal["none"] | None = Field(
        default=None, description="none: where the place is absent there is no reason."
    )
    values: Values | None = Field(default=None, description="What each word or code means.")
    others: Literal["none"] | None = Field(
        default=None, description="none: a word that is not in values gives no reason."
    )
    split: Text | None = Field(default=None, description="What parts several words in one text.")
    is_: Is = Field(default=None, alias="is", description="What must be there for gives to count.")
    gives: Gives = Field(default=None, description="The value, when is holds.")
    unless: list[Value] = Field(
        default=[], description="Payloads that mean nothing, as if the place were absent."
    )
    no_value: list[Value] = Field(
        default=[], description="Payloads that say that there is no value: the fact is unknown."
    )
    bits: Bits | None = Field(
        default=None, description="The reason that each set bit of a number means."
    )
    base: Literal[2, 16] | None = Field(
        default=None, description="The base of a text that is a number with bits."
    )
    flags: Literal[True] | None = Field(
        default=None, description="true: the words are the names of an object's true members."
    )
    severity: Graded | None = Field(
        default=None, description="Where it says how severe the reasons are."
    )
    minus: str | None = Field(default=None, description="Place of a number to take away.")
    of: str | None = Field(default=None, description="Place of a number to divide by.")
    unit: UnitText | None = Field(
        default=None,
        description='What a raw 1 means, for example "0.1 °C", min, h:m:s or iso 8601.',
    )
    scale: Annotated[list[float], Field(min_length=2, max_length=2)] | None = Field(
        default=None, description="The raw numbers that mean 0 and 1."
    )
    ends_at: Literal["epoch s", "epoch ms", "iso 8601", "clock"] | None = Field(
        default=None,
        description="The raw value is the instant at which the job ends, in this form.",
    )
    least: float | None = Field(default=None, description="Below this the value is unknown.")
    most: float | None = Field(default=None, description="Above this the value is unknown.")


class Ratio(Keys):
    """A fact that is one other fact divided by another."""

    ratio: Annotated[list[Text], Field(min_length=2, max_length=2)] = Field(
        description="Two facts; the first is divided by the second."
    )


def _way(value: object) -> str:
    return "=ratio" if isinstance(value, dict) and "ratio" in value else "=found"


Alternative = Annotated[
    Annotated[Found, Tag("=found")] | Annotated[Ratio, Tag("=ratio")], Discriminator(_way)
]
Alternatives = Annotated[list[Alternative], Field(min_length=1)]


class AllOf(Keys):
    """Reasons from several places together."""

    all_of: Alternatives = Field(description="The places; each adds the reasons found there.")
    absent: Literal["none"] | None = Field(
        default=None, description="none: where nothing arrived there is no reason."
    )


FactWays = Annotated[
    Annotated[Alternatives, Tag("=list")] | Annotated[AllOf, Tag("=mapping")],
    Discriminator(lambda value: "=mapping" if isinstance(value, dict) else "=list"),
]
Facts = dict[Annotated[str, fact_key(FACTS, {})], FactWays]


class ReaderFile(Keys):
    """How one kind of printer is read."""

    messages: Annotated[dict[Name, Message], KeepGoing, Field(min_length=1)] = Field(
        description="Its messages by name."
    )
    asks: Annotated[dict[Name, Ask], KeepGoing] = Field(
        default={}, description="What makes it speak, by name."
    )
    forms: Annotated[list[Form], KeepGoing] = Field(
        default=[], description="Forms of texts whose parts are facts."
    )
    facts: Annotated[Facts, KeepGoing] = Field(
        default={}, description="For each fact the ways to find it, in order."
    )
