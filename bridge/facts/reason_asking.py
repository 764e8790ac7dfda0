"""The reasons of a printer from what each alternative contributes: freshness, union, order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final, TypeAlias

from bridge.facts.contributions import (
    NO_CONTRIBUTION,
    NO_REASONS,
    Contribution,
    ReadReasons,
    together,
)
from bridge.facts.documents import MessageState
from bridge.facts.held import MOST_ADDRESSES
from bridge.facts.judging import NOTHING
from bridge.facts.moment import Moment
from bridge.facts.places import ABSENT
from bridge.facts.reader import Alternative
from bridge.facts.surroundings import Evaluate, Surroundings, UnmappedWord, why_not
from bridge.facts.values import FactValue, Reasons, Unknown, Why

#: What one alternative contributes; ``True`` beside it: a place or an address was absent.
AskReasons: TypeAlias = Callable[[], tuple[list[Contribution], bool]]

_REASONS: Final = "reasons"


def asking(
    state: MessageState,
    read: ReadReasons,
    around: Surroundings,
    number: int,
    *,
    silence_none: bool,
) -> AskReasons:
    """What an alternative contributes now, over every address of its message.

    ``number``: which of the alternatives it is, from 0. ``silence_none``: that nothing arrived on
    any of them says that there is no reason.
    """

    def ask() -> tuple[list[Contribution], bool]:
        contributions: list[Contribution] = []
        absent = False
        if state.many:
            contributions = _of_no_document(state, around)
            absent = not state.by_address and not contributions
            if absent and silence_none:
                contributions, absent = [NO_CONTRIBUTION], False
        for held in state.all_held():
            if held.why is not None or state.while_link:
                unknown = why_not(held, state, around)
                if unknown is not None:
                    contributions.append(Contribution((), (unknown,)))
                    continue
            found = read(held.document, held.wildcards)
            if found is ABSENT:
                absent = True
            elif found is not NOTHING:
                contributions.append(found)
                if found.open_because:
                    met = UnmappedWord(_REASONS, "", state.name, held.address, number)
                    _note_unmapped(found, met, around)
        return contributions, absent

    return ask


def expecting(alternative: Alternative, state: MessageState, ask: AskReasons) -> AskReasons:
    """Whatever else was heard: what was expected and not heard may be a reason."""
    index = (alternative.wildcard or 1) - 1

    def ask_all() -> tuple[list[Contribution], bool]:
        contributions, absent = ask()
        heard = {held.wildcards[index] for held in state.all_held() if held.wildcards[index:]}
        missing = [word for word in alternative.expects if word not in heard]
        unknowns = tuple(Unknown(Why.NOT_HEARD, f"{state.name} {word}") for word in missing)
        return [*contributions, *([Contribution((), unknowns)] if unknowns else [])], absent

    return ask_all


def _of_no_document(state: MessageState, around: Surroundings) -> list[Contribution]:
    """What a wildcard leaves open besides its documents.

    That nothing arrived says something only while it could have arrived.
    """
    if state.overflowed:
        many = Unknown(Why.INCOMPLETE, f"more than {MOST_ADDRESSES} addresses of {state.name}")
        return [Contribution((), (many,))]
    if state.many and not state.by_address:
        if state.why_none is not Why.NOT_HEARD:
            return [Contribution((), (Unknown(state.why_none, state.name),))]
        if state.while_link and not around.link_up:
            return [Contribution((), (Unknown(Why.LINK_NOT_UP, state.name),))]
    return []


def _note_unmapped(found: Contribution, met: UnmappedWord, around: Surroundings) -> None:
    for unknown in found.open_because:
        if unknown.why is Why.UNMAPPED:
            around.unmapped.append(replace(met, word=unknown.detail))


def union(asks: list[AskReasons], absent: Unknown, *, absent_none: bool) -> Evaluate:
    """Everything that any alternative knows of."""
    open_absent = Contribution((), (absent,))
    last: list[Contribution] = []
    last_reasons = NO_REASONS

    def evaluate(_now: Moment) -> Reasons:
        nonlocal last, last_reasons
        contributions: list[Contribution] = []
        for ask in asks:
            found, is_absent = ask()
            contributions.extend(found)
            if is_absent and not absent_none:
                contributions.append(open_absent)
        # Reasons change seldom, and the reads give the same contribution for the same word.
        if contributions != last:
            last, last_reasons = contributions, together(contributions)
        return last_reasons

    return evaluate


def first_reasons(asks: list[AskReasons], absent: Unknown, *, absent_none: bool) -> Evaluate:
    """The first alternative that is neither absent nor passed over.

    Where every one of them was passed over, the printer says that there is no reason.
    """

    def evaluate(_now: Moment) -> FactValue:
        any_absent = False
        for ask in asks:
            found, is_absent = ask()
            if found:
                return together(found)
            any_absent = any_absent or is_absent
        return absent if any_absent and not absent_none else NO_REASONS

    return evaluate
