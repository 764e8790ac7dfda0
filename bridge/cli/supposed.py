"""``explain --given``: what a table decides in a situation, in the words of an ``expect`` case."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.check.expects import decision_of, situation
from bridge.cli.explained import decision_lines
from bridge.errors import LampwrightError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.rules.table import Expect, Table

_RULES = "rules.yaml"


class SupposedError(LampwrightError):
    """The situation cannot be taken."""


def supposed(directory: Path, table: str | None, given: str) -> Iterator[str]:
    """The lines; the situation is read as a case of the table, by the settings as ever."""
    from bridge.settings.load import load_site

    site = load_site(directory)
    if table is None and len(site.tables) > 1:
        raise SupposedError(f"say which table by --table, there are {', '.join(site.tables)}")
    name = table or next(iter(site.tables))
    if name not in site.tables:
        raise SupposedError(f"no table '{name}' in {_RULES}, there are {', '.join(site.tables)}")
    text = _with_case((directory / _RULES).read_text("utf-8"), name, given)
    supposing = load_site(directory, instead={_RULES: text}).tables[name]
    return _lines(supposing, supposing.expect[0])


def _with_case(text: str, table: str, given: str) -> str:
    """The rules with this one case; what shows in it is what is asked."""
    from ruamel.yaml import YAML
    from ruamel.yaml.error import YAMLError

    yaml = YAML()
    document = yaml.load(text)
    try:
        facts = yaml.load(given)
    except YAMLError as error:
        why = " ".join(str(error).split())
        raise SupposedError(f"--given is not YAML: {why}") from None
    if not isinstance(facts, dict):
        example = "{state: idle, alarms: {material-out: acknowledged}}"
        raise SupposedError(f"--given is no mapping, write for example {example}")
    keys = document["tables"][table]
    keys["expect"] = [{"given": facts, "shows": keys["otherwise"]}]
    out = io.StringIO()
    yaml.dump(document, out)
    return out.getvalue()


def _lines(table: Table, case: Expect) -> Iterator[str]:
    facts, decision = situation(table, case), decision_of(table, case)
    yield f"table {table.name}"
    passed_over = ((each.row.name, each.because(facts)) for each in decision.passed_over)
    row = decision.row
    yield from decision_lines(passed_over, row.name, decision.because(facts), row.show)
