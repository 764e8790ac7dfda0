"""Findings that somebody lives with, and those that are accepted in vain."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from difflib import get_close_matches
from typing import Final

from bridge.check.finding import Finding, Kind
from bridge.engine.site import Accepted

#: What an entry may name.
ACCEPTED_ABOUT: Final = frozenset(
    ("table", "rule", "alarm", "prompt", "segment", "scene", "reader", "dialect")
)


def with_accepted(found: Iterable[Finding], accepted: Sequence[Accepted]) -> Iterator[Finding]:
    """The findings, those that are accepted as notes with the reason; then what was in vain.

    An error cannot be accepted: the site does not do what it says.
    """
    used: set[Accepted] = set()
    errors: set[Accepted] = set()
    for each in found:
        entry = next((entry for entry in accepted if _is_about(entry, each)), None)
        if entry is None:
            yield each
        elif each.severity == "error":
            errors.add(entry)
            yield each
        else:
            used.add(entry)
            yield replace(each, severity="note", accepted=entry.because)
    for entry in accepted:
        if entry not in used:
            yield _in_vain(entry, is_error=entry in errors)


def how_to_accept(found: Iterable[Finding]) -> str:
    """A line for the rules file that accepts the first warning; nothing where there is none."""
    for each in found:
        things = {what: name for what, name in each.about if what in ACCEPTED_ABOUT}
        if each.severity == "warning" and each.kind is not Kind.ACCEPTED_IN_VAIN and things:
            about = "".join(f", {what}: {_plain(name)}" for what, name in things.items())
            return f"accept: [{{finding: {each.kind.value}{about}, because: …}}]"
    return ""


def _plain(name: str) -> str:
    return name if re.fullmatch(r"[\w -]+", name) else json.dumps(name, ensure_ascii=False)


def _is_about(entry: Accepted, finding: Finding) -> bool:
    return entry.finding == finding.kind.value and set(entry.about) <= set(finding.about)


def _in_vain(entry: Accepted, *, is_error: bool) -> Finding:
    kinds = [kind.value for kind in Kind]
    things = ", ".join(f"{what} '{name}'" for what, name in entry.about)
    if is_error:
        said = f"'{entry.finding}' of {things} is an error, which cannot be accepted: mend it"
    elif entry.finding in kinds:
        said = f"'{entry.finding}' of {things} is accepted, but not found: take this away"
    else:
        near = get_close_matches(entry.finding, kinds, n=1)
        hint = f"; did you mean '{near[0]}'?" if near else ""
        said = f"'{entry.finding}' is no kind of finding{hint}"
    return Finding(Kind.ACCEPTED_IN_VAIN, "warning", entry.source, said)
