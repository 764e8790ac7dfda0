"""What the analysis proves about the tables of a site, for the readers that use them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bridge.check.expects import situation
from bridge.check.finding import About, Finding, Kind, about_table
from bridge.check.words import given_words
from bridge.engine.offered import applies
from bridge.engine.site import Site
from bridge.facts.reader import Reader
from bridge.rules.alarm import Alarm, Prompt
from bridge.rules.analysis import Kind as Of
from bridge.rules.analysis import Offer, TableFinding, analyse, offer_of
from bridge.rules.conditions import Condition
from bridge.rules.decision import decide
from bridge.rules.table import Table

#: What is found, how it is told, and how bad it is. ``{row}`` and ``{other}`` are rules in quotes.
_SENTENCES: Final[dict[Of, tuple[Kind, str, str]]] = {
    Of.GAP: (
        Kind.GAP,
        "warning",
        (
            "table {table} has no rule for this, though all that {reader} can tell is known, so "
            "{shows} shows: add a rule"
        ),
    ),
    Of.GAP_OF_UNKNOWN: (
        Kind.GAP,
        "note",
        (
            "where something that {reader} tells is not known, table {table} shows {shows} by "
            "otherwise, which says {says}"
        ),
    ),
    Of.MASKED: (
        Kind.MASKED,
        "error",
        "{row} never decides, {by} above it {always} before: move it up or take it away",
    ),
    Of.IDENTICAL: (
        Kind.MASKED,
        "error",
        "{row} never decides, it has the same conditions as {other} above it: take one away",
    ),
    Of.EQUIVALENT: (
        Kind.MASKED,
        "error",
        "{row} never decides, it is true just where {other} above it is: take one away",
    ),
    Of.NEVER_FOR_READERS: (
        Kind.NEVER_DECIDES,
        "note",
        (
            "{row} never decides for the readers that use table {table}: they do not tell what it "
            "waits for, or rules above it always decide before"
        ),
    ),
    Of.SUBSUMED: (
        Kind.SUBSUMED,
        "note",
        "without {row} the same scenes would show for every reader that uses table {table}",
    ),
    Of.OVERLAP_MILDER: (
        Kind.OVERLAP,
        "warning",
        (
            "{row} ({says}) decides before the graver {other} ({other_says}) where both hold: "
            "move it down, or say in its conditions that the other does not hold"
        ),
    ),
    Of.CUTS_IN: (
        Kind.OVERLAP,
        "warning",
        (
            "{row} ({says}) hides the graver {other} ({other_says}) until somebody acknowledges "
            "its alarm: let {other} be about an alarm too, above it"
        ),
    ),
    Of.OVERLAP: (
        Kind.OVERLAP,
        "note",
        (
            "in table {table} {count} pairs of rules can hold at once, the graver scene winning in "
            "each, as {row} before {other}"
        ),
    ),
    Of.GRAVER_REASONS_MILDER: (
        Kind.MILDER,
        "warning",
        (
            "{row} ({says}) takes the place of {other} ({other_says}) when a reason more is there: "
            "graver reasons may not show a milder scene"
        ),
    ),
    Of.LOST_FACT_MILDER: (
        Kind.MILDER,
        "error",
        (
            "{row} ({says}) takes the place of {other} ({other_says}) when something is no longer "
            "known: not knowing may not reassure"
        ),
    ),
    Of.NOT_NOTICED: (
        Kind.NOT_TOLD_APART,
        "warning",
        (
            "no expect case of table {table} notices when {row} is taken away: add one for the "
            "example, which shows {shows}"
        ),
    ),
    Of.NOT_TOLD_APART: (
        Kind.NOT_TOLD_APART,
        "warning",
        (
            "no expect case of table {table} notices when {row} is moved past {other}: add one for "
            "the example, which shows {shows}"
        ),
    ),
    Of.REASON_NOT_NAMED: (
        Kind.REASON_NOT_NAMED,
        "warning",
        (
            "{reader} can tell of {word}, which no alarm and no rule of table {table} is about: "
            "name it, or ask for its severity"
        ),
    ),
    Of.OWN_REASON_NOT_NAMED: (
        Kind.REASON_NOT_NAMED,
        "note",
        (
            "the bridge itself can tell of {word}, which no alarm and no rule of table {table} is "
            "about: name it"
        ),
    ),
    Of.REASON_NOT_SENT: (
        Kind.REASON_NOT_SENT,
        "warning",
        (
            "{row} waits for {word}, which no reader that uses table {table} ever tells: name what "
            "they do"
        ),
    ),
    Of.NOT_DECIDED: (
        Kind.NOT_DECIDED,
        "note",
        "table {table} is too tangled to say of {row} whether it is right: {word} was not decided",
    ),
}


def table_findings(site: Site) -> Iterator[Finding]:
    """Everything that holds for a table whatever happens, or that an example shows."""
    for table in site.tables.values():
        offers = [offer_for(site, reader) for reader in readers_of(site, table)]
        cases = [situation(table, case) for case in table.expect]
        for each in analyse(table, offers, cases, raising(site)):
            if _is_worth_telling(each, table):
                yield _told(table, each)


def offer_for(site: Site, reader: Reader) -> Offer:
    """What a reader can give, with the alarms and prompts that its printers can raise."""
    raised: list[Alarm | Prompt] = [*site.alarms.values(), *site.prompts.values()]
    return offer_of(reader, [each for each in raised if applies(each, reader)])


def raising(site: Site) -> tuple[Condition, ...]:
    """What raises the site's alarms and prompts."""
    raised: list[Alarm | Prompt] = [*site.alarms.values(), *site.prompts.values()]
    return tuple(condition for each in raised for condition in each.when)


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
        case Of.GAP_OF_UNKNOWN:
            # That is what ``otherwise`` is for, where it says so.
            return found.row.says != "unknown"
        case Of.SUBSUMED:
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
    rows = [each.name for each in (found.row, found.other) if each]
    about = (*about_table(table, *rows), *_reader(found))
    return Finding(kind, severity, found.row.source, message, _example(found), about)


def _reader(found: TableFinding) -> About:
    return (("reader", found.offer),) if found.offer else ()


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
