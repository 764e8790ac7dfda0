"""``rules.yaml``: alarms and prompts, and the decision tables that show them, first hit wins."""

import re
from collections.abc import Collection, Mapping
from typing import Annotated, Any, ClassVar, Final, Literal

from pydantic import Field, PlainValidator, Tag

from bridge.facts.vocabulary import FACTS, SITE_PREFIX, STALE
from bridge.rules.conditions import LOCAL_TIME
from bridge.settings.nearest import meant, shown
from bridge.settings.quantities import DURATION, Duration, SomeTime
from bridge.settings.shapes import (
    BY_SHAPE,
    KeepGoing,
    Keys,
    Name,
    Value,
    patterned,
    sentence,
)
from bridge.settings.site_file import Text

#: Columns that are named otherwise than the fact that they test.
COLUMN_FACTS: Final = {
    "in_state": "time-in-state",
    "unchanged_for": "time-unchanged",
    "local_time": LOCAL_TIME,
}
LAST_JOB: Final = "last-job"
ALARM: Final = "alarm"
PROMPT: Final = "prompt"
#: What raises an alarm or a prompt, and the columns of a rule, which can name these too.
RAISING: Final = (*FACTS, STALE.name, LAST_JOB, *COLUMN_FACTS)
COLUMNS: Final = (*RAISING, ALARM, PROMPT)
#: What an expect case gives.
ALARMS: Final = "alarms"
PROMPTS: Final = "prompts"
LASTING: Final = "lasting"
GIVEN: Final = (*RAISING, ALARMS, PROMPTS, LASTING)
SITE_FACT_PATTERN: Final = f"^{SITE_PREFIX}[a-z0-9][a-z0-9._-]*$"
_DELAYS: Final = dict.fromkeys(("on_delay", "off_delay"), "is for alarms")
_RENAMED: Final = {fact: f"written {column}" for column, fact in COLUMN_FACTS.items()}
_NOT_RAISING: Final = dict.fromkeys(
    (ALARM, PROMPT), "for the rules of a table, alarms and prompts are raised by facts"
)
_NOT_GIVEN: Final = {
    name: f"a test, what is given are {name}s: {{NAME: its state}}" for name in (ALARM, PROMPT)
}


def fact_key(names: Collection[str], instead: Mapping[str, str]) -> PlainValidator:
    """The check of a mapping's keys that are facts; ``instead``: what is said of some others."""

    def check(value: Any) -> str:  # noqa: ANN401 - what YAML holds
        if isinstance(value, str) and (value in names or _is_sites_own(value)):
            return value
        if isinstance(value, str) and value in instead:
            raise sentence(f"{shown(value)} is {instead[value]}")
        raise sentence(f"{shown(value)} is no fact{meant(value, names)}")

    return PlainValidator(check)


def _is_sites_own(name: str) -> bool:
    return re.fullmatch(SITE_FACT_PATTERN, name) is not None


class Severity(Keys):
    """How severe a reason must be."""

    at_least: Text = Field(description="report, warning or error.")


Words = Annotated[Annotated[Value, Tag("=scalar")] | Annotated[list[Value], Tag("=list")], BY_SHAPE]


class Test(Keys):
    """A test of one fact; which keys fit depends on the fact."""

    not_: Words | None = Field(default=None, alias="not", description="It is none of these words.")
    above: Value = Field(default=None, description="The number is above this one.")
    at_least: Value = Field(default=None, description="The number is this one or above.")
    below: Value = Field(default=None, description="The number is below this one.")
    at_most: Value = Field(default=None, description="The number is this one or below.")
    any: list[Text] | None = Field(
        default=None,
        min_length=1,
        description="One of these reasons holds; no suffix: any severity.",
    )
    all: list[Text] | None = Field(
        default=None, min_length=1, description="All of these reasons hold."
    )
    none: list[Text] | None = Field(
        default=None, min_length=1, description="None of these reasons holds."
    )
    severity: Severity | None = Field(
        default=None, description="Some reason is at least this severe."
    )
    from_: Value = Field(
        default=None, alias="from", description="The local time is this one or later."
    )
    before: Value = Field(default=None, description="The local time is before this one.")


AnyTest = Annotated[
    Annotated[Value, Tag("=scalar")]
    | Annotated[list[Value], Tag("=list")]
    | Annotated[Test, Tag("=mapping")],
    BY_SHAPE,
]
When = dict[Annotated[str, fact_key(COLUMNS, _RENAMED)], AnyTest]
Raised = dict[Annotated[str, fact_key(RAISING, _RENAMED | _NOT_RAISING)], AnyTest]
GivenValue = Annotated[
    Annotated[Value, Tag("=scalar")]
    | Annotated[list[Text], Tag("=list")]
    | Annotated[dict[Name, Text], Tag("=mapping")],
    BY_SHAPE,
]
Given = dict[Annotated[str, fact_key(GIVEN, _RENAMED | _NOT_GIVEN)], GivenValue]


def _some_time(value: Any) -> str:  # noqa: ANN401 - what YAML holds
    if DURATION.whole(value) == 0:
        raise sentence(f"{shown(value)} is no time at all, leave the key out")
    return str(value)


#: A duration as it was written, for the sentences about it.
WrittenTime = Annotated[str, *patterned(DURATION.pattern, _some_time)]


class Publish(Keys):
    """A message to other machines."""

    broker: Name = Field(description="A broker of site.yaml.")
    topic: Text = Field(description="The topic that it is published to.")


class Escalate(Keys):
    """What happens when nobody acknowledges an alarm."""

    after: SomeTime = Field(description="How long nobody acknowledged it, for example 5m.")
    segments: list[Name] = Field(
        default=[], description="Segments, or sets of them, that show it from then on as well."
    )
    publish: Publish | None = Field(default=None, description="A message that is published then.")


class Alarm(Keys):
    """Something that is wrong and wants a person."""

    when: Raised = Field(min_length=1, description="Facts and what each must be; all must hold.")
    on_delay: Duration = Field(
        default="0s", validate_default=True, description="How long it must hold first."
    )
    off_delay: Duration = Field(
        default="0s", validate_default=True, description="How long it must be over first."
    )
    sequence: Literal["A", "M", "R"] = Field(
        default="A",
        description="What follows after ISA-18.1 once it is over and acknowledged: A normal, "
        "M steady until a reset, R slowly flashing until a reset.",
    )
    priority: Literal["low", "medium", "high"] = Field(
        default="medium", description="How soon a person must answer it."
    )
    cause: Text = Field(default="", description="What may be behind it, in words.")
    response: Text = Field(description="What a person does about it, in words.")
    segments: list[Name] = Field(
        default=[],
        description="Segments, or sets of them, that show it besides those whose table names it.",
    )
    show: Text | None = Field(
        default=None,
        description="The scene of these segments; that of the first rule that names it.",
    )
    escalate: Escalate | None = Field(
        default=None, description="What happens when nobody acknowledges it."
    )


class Prompt(Keys):
    """A person is wanted, and nothing is wrong."""

    elsewhere: ClassVar[Mapping[str, str]] = _DELAYS

    when: Raised = Field(min_length=1, description="Facts and what each must be; all must hold.")
    until: Raised | None = Field(
        default=None,
        min_length=1,
        description="What ends it, besides a person and the next job; all must hold.",
    )
    response: Text = Field(default="", description="What a person does about it, in words.")


class Rule(Keys):
    """One rule: if all of ``when`` holds, show a scene."""

    elsewhere: ClassVar[Mapping[str, str]] = {
        key: f"{why}, a rule waits with lasting" for key, why in _DELAYS.items()
    }

    name: Text = Field(description="What the rule is called where it is explained.")
    when: When = Field(min_length=1, description="Facts and what each must be; all must hold.")
    lasting: WrittenTime | None = Field(
        default=None, description="How long all of it must have held without a break."
    )
    show: Text = Field(description="A scene of legend.yaml.")


class Case(Keys):
    """In this situation, this scene must show."""

    given: Given = Field(
        description="Facts; what is not given is fresh, linked and without reasons, alarms and "
        "prompts are normal, and no rule has lasted long enough."
    )
    shows: Name = Field(description="The scene that must show.")


class Table(Keys):
    """A decision table: the first rule that holds decides."""

    rules: Annotated[list[Rule], KeepGoing] = Field(
        min_length=1, description="The rules, in order of precedence."
    )
    otherwise: Name = Field(
        description="The scene when no rule holds: it must say unknown or graver."
    )
    expect: Annotated[list[Case], KeepGoing] = Field(
        default=[], description="Cases that say what must show; lampwright check runs them."
    )


class Accept(Keys):
    """A finding of ``lampwright check`` that is as it should be."""

    finding: Text = Field(description="Its kind, as check --json names it.")
    table: Text | None = Field(default=None, description="The table that it is about.")
    rule: Text | None = Field(default=None, description="A rule that it is about.")
    alarm: Text | None = Field(default=None, description="The alarm that it is about.")
    prompt: Text | None = Field(default=None, description="The prompt that it is about.")
    segment: Text | None = Field(default=None, description="The segment that it is about.")
    scene: Text | None = Field(default=None, description="The scene that it is about.")
    reader: Text | None = Field(default=None, description="The reader that it is about.")
    dialect: Text | None = Field(default=None, description="The dialect that it is about.")
    because: Text = Field(description="Why, for whoever asks later.")


class RulesFile(Keys):
    """What shows when."""

    alarms: Annotated[dict[Name, Alarm], KeepGoing] = Field(
        default={}, description="Alarms by name: what is wrong and wants a person."
    )
    prompts: Annotated[dict[Name, Prompt], KeepGoing] = Field(
        default={}, description="Prompts by name: a person is wanted, and nothing is wrong."
    )
    tables: Annotated[dict[Name, Table], KeepGoing] = Field(
        default={}, description="Decision tables by name."
    )
    accept: Annotated[list[Accept], KeepGoing] = Field(
        default=[], description="Findings of lampwright check that are as they should be."
    )
