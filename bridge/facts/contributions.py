"""What one place contributes to the reasons, and how contributions go together."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Final, TypeAlias

from bridge.facts.codes import key_of, shown, table_of, written
from bridge.facts.judging import NOTHING, JudgeDocument, Nothing
from bridge.facts.places import ABSENT, Absent, Document, Place
from bridge.facts.reader import Graded
from bridge.facts.reasons import SUFFIXES
from bridge.facts.values import Reason, Reasons, Severity, Unknown, Why

#: A printer has a handful of reasons; a list of thousands is no list of reasons.
MOST_WORDS: Final = 256

NO_REASONS: Final = Reasons(())


@dataclass(frozen=True, slots=True)
class Contribution:
    """The reasons that an alternative knows of, and why there may be more."""

    known: tuple[Reason, ...] = ()
    open_because: tuple[Unknown, ...] = ()


#: No reason, and that is known.
NO_CONTRIBUTION: Final = Contribution()

#: Document and wildcards to a contribution, ``NOTHING`` (no reason, and that is known) or
#: ``ABSENT``.
ReadReasons: TypeAlias = Callable[[Document, tuple[str, ...]], "Contribution | Nothing | Absent"]


def open_for(why: Why, detail: str) -> Contribution:
    """No known reason, and one thing that stays open."""
    return Contribution((), (Unknown(why, detail),))


def joined(contributions: Iterable[Contribution]) -> Contribution:
    """Several contributions as one, in their order."""
    several = tuple(contributions)
    return Contribution(
        tuple(reason for each in several for reason in each.known),
        tuple(unknown for each in several for unknown in each.open_because),
    )


def together(contributions: Iterable[Contribution]) -> Reasons:
    """The union of contributions, each reason once, sorted."""
    known: set[Reason] = set()
    open_because: Unknown | None = None
    for contribution in contributions:
        known.update(contribution.known)
        if open_because is None and contribution.open_because:
            open_because = contribution.open_because[0]
    if not known and open_because is None:
        return NO_REASONS
    return Reasons(tuple(sorted(known, key=_in_order)), open_because)


def _in_order(reason: Reason) -> tuple[str, int, str]:
    return reason.keyword, reason.severity.value, reason.said


def guarded(also: JudgeDocument, read: ReadReasons, *, ordered: bool) -> ReadReasons:
    """The same read, once the further tests hold.

    In a union, an alternative that is not meant contributes nothing, and what cannot be tested
    stays open. In an ordered list both leave it to the next one: that a word was not meant here
    says nothing of what is.
    """

    def guarded_read(
        document: Document, wildcards: tuple[str, ...]
    ) -> Contribution | Nothing | Absent:
        verdict = also(document)
        if verdict is None:
            return read(document, wildcards)
        if isinstance(verdict, Unknown):
            return Contribution((), (verdict,))
        if ordered:
            return ABSENT
        return open_for(Why.ABSENT, "of a further test") if verdict is ABSENT else NOTHING

    return guarded_read


def none_if_absent(read: ReadReasons) -> ReadReasons:
    """The same read, where that the place is absent says that there is no reason."""

    def read_again(document: Document, wildcards: tuple[str, ...]) -> Contribution | Nothing:
        found = read(document, wildcards)
        return NO_CONTRIBUTION if found is ABSENT else found

    return read_again


def in_containers(read: ReadReasons) -> ReadReasons:
    """The same read, where a document in which nothing can be leaves the reasons open.

    Else ``null`` or ``"busy"`` instead of an object would say by what it lacks that all is well.
    """

    def read_again(
        document: Document, wildcards: tuple[str, ...]
    ) -> Contribution | Nothing | Absent:
        if isinstance(document, dict | list):
            return read(document, wildcards)
        return open_for(Why.WRONG_TYPE, f"{shown(document)} has no members")

    return read_again


def for_each(place: Place, read: ReadReasons) -> ReadReasons:
    """What every element of a list contributes; one in which the place is absent stays open."""

    def read_each(
        document: Document, wildcards: tuple[str, ...]
    ) -> Contribution | Nothing | Absent:
        elements: object = place.find(document)
        if elements is ABSENT:
            return ABSENT
        if not isinstance(elements, list):
            return open_for(Why.WRONG_TYPE, f"{shown(elements)} at {place.text} is no list")
        if len(elements) > MOST_WORDS:
            return open_for(Why.OUT_OF_RANGE, f"{len(elements)} elements at {place.text}")
        return joined(_of_elements(elements, place, read, wildcards))

    return read_each


def _of_elements(
    elements: list[Document], place: Place, read: ReadReasons, wildcards: tuple[str, ...]
) -> Iterator[Contribution]:
    for number, element in enumerate(elements):
        found = read(element, wildcards)
        if found is ABSENT:
            yield open_for(Why.ABSENT, f"element {number} of {place.text}")
        elif found is not NOTHING:
            yield found


_SUFFIX_OF: Final = {severity: suffix for suffix, severity in SUFFIXES.items()}


def graded(graded_by: Graded, read: ReadReasons) -> ReadReasons:
    """The same reasons, as severe as another place says; a word unknown there leaves it open."""
    table = table_of(graded_by.values, only_text=False)
    place = graded_by.at

    def read_graded(
        document: Document, wildcards: tuple[str, ...]
    ) -> Contribution | Nothing | Absent:
        found = read(document, wildcards)
        if found is ABSENT or found is NOTHING or not found.known:
            return found
        word = place.find(document)
        severity = table.get(key_of(word))
        if severity is not None:
            known = tuple(_as_severe(reason, severity) for reason in found.known)
            return Contribution(known, found.open_because)
        why = Why.ABSENT if word is ABSENT else Why.UNMAPPED
        said = place.text if word is ABSENT else written(word)
        return Contribution((), (*found.open_because, Unknown(why, said)))

    return read_graded


def graded_in_every_way(graded_by: Graded, reasons: Iterable[Reason]) -> frozenset[Reason]:
    """Each reason with each severity that the other place can say."""
    severities = frozenset(graded_by.values.values())
    return frozenset(_as_severe(reason, one) for reason in reasons for one in severities)


def _as_severe(reason: Reason, severity: Severity) -> Reason:
    return Reason(reason.keyword, severity, reason.keyword + _SUFFIX_OF[severity])
