"""What the analysis proves about the tables of a site, for the readers that use them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from bridge.check.expects import situation
from bridge.check.finding import Finding, Kind
from bridge.engine.site import Site
from bridge.facts.reader import Reader
from bridge.facts.values import FactValue, Reasons, Unknown
from bridge.facts.vocabulary import UNKNOWN_WORD, fact_named
from bridge.rules.analysis import Kind as About
from bridge.rules.analysis import TableFinding, analyse, offer_of
from bridge.rules.conditions import shown
from bridge.rules.decision import decide
from bridge.rules.table import Table

#: What is found, how it is told, and how bad it is. ``{row}`` and ``{other}`` are rules in quotes.
_SENTENCES: Final[dict[About, tuple[Kind, str, str]]] = {
    About.GAP: (
        Kind.GAP,
        "warning",
        (
            "table {table} has no rule for this, though all that {reader} can tell is known, so "
            "{shows} shows: add a rule"
        ),
    ),
    About.GAP_OF_UNKNOWN: (
        Kind.GAP,
        "note",
        (
            "where something that {reader} tells is not known, table {table} shows {shows} by "
            "otherwise, which says {says}"
        ),
    ),
    About.MASKED: (
        Kind.MASKED,
        "error",
        "{row} never decides, {by} above it {always} before: move it up or take it away",
    ),
    About.IDENTICAL: (
        Kind.MASKED,
        "error",
        "{row} never decides, it has the same conditions as {other} above it: take one away",
    ),
    About.EQUIVALENT: (
        Kind.MASKED,
        "error",
        "{row} never decides, it is true just where {other} above it is: take one away",
    ),
    About.NEVER_FOR_READERS: (
        Kind.NEVER_DECIDES,
        "note",
        (
            "{row} never decides for the readers that use table {table}: they do not tell what it "
            "waits for, or rules above it always decide before"
        ),
    ),
    About.SUBSUMED: (
        Kind.SUBSUMED,
        "note",
        "without {row} the same scenes would show for every reader that uses table {table}",
    ),
    About.OVERLAP_MILDER: (
        Kind.OVERLAP,
        "warning",
        (
            "{row} ({says}) decides before the graver {other} ({other_says}) where both hold: "
            "move it down, or say in its conditions that the other does not hold"
        ),
    ),
    About.OVERLAP: (
        Kind.OVERLAP,
        "note",
        (
            "in table {table} {count} pairs of rules can hold at once, the graver scene winning in "
            "each, as {row} before {other}"
        ),
    ),
    About.GRAVER_REASONS_MILDER: (
        Kind.MILDER,
        "warning",
        (
            "{row} ({says}) takes the place of {other} ({other_says}) when a reason more is there: "
            "graver reasons may not show a milder scene"
        ),
    ),
    About.LOST_FACT_MILDER: (
        Kind.MILDER,
        "error",
        (
            "{row} ({says}) takes the place of {other} ({other_says}) when something is no longer "
            "known: not knowing may not reassure"
        ),
    ),
    About.NOT_NOTICED: (
        Kind.NOT_TOLD_APART,
        "warning",
        (
            "no expect case of table {table} notices when {row} is taken away: add one for the "
            "example, which shows {shows}"
        ),
    ),
    About.NOT_TOLD_APART: (
        Kind.NOT_TOLD_APART,
        "warning",
        (
            "no expect case of table {table} notices when {row} is moved past {other}: add one for "
            "the example, which shows {shows}"
        ),
    ),
    About.REASON_NOT_NAMED: (
        Kind.REASON_NOT_NAMED,
        "warning",
        (
            "{reader} can tell of {word}, which no rule of table {table} is about: name it, or "
            "ask for its severity"
        ),
    ),
    About.REASON_NOT_SENT: (
        Kind.REASON_NOT_SENT,
        "note",
        "{row} waits for {word}, which no reader that uses table {table} ever tells",
    ),
    About.NOT_DECIDED: (
        Kind.NOT_DECIDED,
        "note",
        "table {table} is too tangled to say of {row} whether it is right: {word} was not decided",
    ),
}


def table_findings(site: Site) -> Iterator[Finding]:
    """Everything that holds for a table whatever happens, or that an example shows."""
    for table in site.tables.values():
        offers = [offer_of(reader) for reader in readers_of(site, table)]
        cases = [situation(case) for case in table.expect]
        for each in analyse(table, offers, cases):
            if _is_worth_telling(each, table):
                yield _told(table, each)


def readers_of(site: Site, table: Table) -> tuple[Reader, ...]:
    """The readers of the printers that a table is used for, each once."""
    readers: dict[str, Reader] = {}
    for segment in site.segments.values():
        if segment.table == table.name:
            for printer in segment.printers:
                reader = site.printers[printer].reader
                readers.setdefault(reader.name, reader)
    return tuple(readers.values())


def _is_worth_telling(found: TableFinding, table: Table) -> bool:
    match found.kind:
        case About.GAP_OF_UNKNOWN:
            # That is what ``otherwise`` is for, where it says so.
            return found.row.says != "unknown"
        case About.SUBSUMED:
            # A rule that shows what ``otherwise`` would is there to say why.
            return found.row.show != table.otherwise.show
        case _:
            return True


def _told(table: Table, found: TableFinding) -> Finding:
    kind, severity, sentence = _SENTENCES[found.kind]
    other = found.other or table.otherwise
    message = sentence.format(
        table=table.name,
        row=_quoted(found.row.name),
        other=_quoted(other.name),
        reader=f"reader {found.offer}" if found.offer else "a reader",
        shows=_shows(table, found),
        says=found.row.says,
        other_says=other.says,
        by=_quoted(other.name) if found.other else "the rules",
        always="always does" if found.other else "always do",
        count=found.count,
        word=found.word,
    )
    return Finding(kind, severity, found.row.source, message, _example(found))


def _quoted(name: str) -> str:
    return f"rule '{name}'"


def _shows(table: Table, found: TableFinding) -> str:
    """The scene that shows in the example."""
    if found.situation is None:
        return found.row.show
    return decide(table, found.situation, found.offered).row.show


def _example(found: TableFinding) -> str:
    if found.situation is None:
        return ""
    after = given_words(found.situation)
    return after if found.before is None else f"{given_words(found.before)}, then {after}"


def given_words(facts: Mapping[str, FactValue]) -> str:
    """A situation as an ``expect`` case would give it, without what need not be given."""
    given = [f"{name}: {_word(name, value)}" for name, value in facts.items() if _says(name, value)]
    return f"{{{', '.join(given)}}}"


def _says(name: str, value: FactValue) -> bool:
    if isinstance(value, Reasons):
        return bool(value.known) or not value.complete
    return (name, value) not in {("link", "up"), ("stale", False)}


def _word(name: str, value: FactValue) -> str:
    if isinstance(value, Unknown):
        return UNKNOWN_WORD
    if isinstance(value, Reasons):
        if not value.known:
            return UNKNOWN_WORD
        known = f"[{', '.join(reason.said for reason in value.known)}]"
        return known if value.complete else f"{known} and perhaps more"
    fact = fact_named(name)
    unit = fact.unit if fact else ""
    if not unit or isinstance(value, bool | str):
        return shown(value)
    return f"{shown(value)}{'' if unit == 's' else ' '}{unit}"
