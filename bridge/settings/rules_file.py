"""``rules.yaml``: decision tables, first hit wins, with cases that say what must show."""

import re
from typing import Annotated, Any, Final

from pydantic import Field, PlainValidator, Tag
from pydantic_core import PydanticCustomError

from bridge.facts.vocabulary import FACTS, SITE_PREFIX, STALE
from bridge.settings.nearest import meant, shown
from bridge.settings.shapes import BY_SHAPE, LATER, KeepGoing, Keys, Later, Name, Value, sentence
from bridge.settings.site_file import Text

#: Columns of the full grammar that this version does not act on.
LATER_COLUMNS: Final = (
    "alarm",
    "prompt",
    "local_time",
    "in_state",
    "unchanged_for",
    "last-job",
    "time-in-state",
    "time-unchanged",
)
LATER_GIVEN: Final = (*LATER_COLUMNS, "alarms", "prompts")
FACT_NAMES: Final = (*FACTS, STALE.name)
SITE_FACT_PATTERN: Final = f"^{SITE_PREFIX}[a-z0-9][a-z0-9._-]*$"


def fact_key(later: tuple[str, ...], names: tuple[str, ...] = FACT_NAMES) -> PlainValidator:
    """The check of a mapping's keys that are facts; ``later`` are known but not acted on."""

    def check(value: Any) -> str:  # noqa: ANN401 - what YAML holds
        if value in later:
            raise PydanticCustomError(LATER, "later")
        if not isinstance(value, str) or not (value in names or _is_sites_own(value)):
            raise sentence(f"{shown(value)} is no fact{meant(value, names)}")
        return value

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


AnyTest = Annotated[
    Annotated[Value, Tag("=scalar")]
    | Annotated[list[Value], Tag("=list")]
    | Annotated[Test, Tag("=mapping")],
    BY_SHAPE,
]
When = dict[Annotated[str, fact_key(LATER_COLUMNS)], AnyTest]
GivenValue = Annotated[
    Annotated[Value, Tag("=scalar")] | Annotated[list[Text], Tag("=list")], BY_SHAPE
]
Given = dict[Annotated[str, fact_key(LATER_GIVEN)], GivenValue]


class Rule(Keys):
    """One rule: if all of ``when`` holds, show a scene."""

    name: Text = Field(description="What the rule is called where it is explained.")
    when: When = Field(min_length=1, description="Facts and what each must be; all must hold.")
    show: Text = Field(description="A scene of legend.yaml.")
    lasting: Later = None


class Case(Keys):
    """In this situation, this scene must show."""

    given: Given = Field(
        description="Facts; what is not given is fresh, linked and without reasons."
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


class RulesFile(Keys):
    """What shows when."""

    tables: Annotated[dict[Name, Table], KeepGoing] = Field(
        default={}, description="Decision tables by name."
    )
    alarms: Later = None
    prompts: Later = None
