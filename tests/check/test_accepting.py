"""Findings that somebody lives with."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.check.accepting import ACCEPTED_ABOUT, how_to_accept, with_accepted
from bridge.check.finding import Finding, Kind
from bridge.engine.site import Accepted
from bridge.rules.table import Source
from bridge.settings.rules_file import Accept

HERE, THERE = Source("rules.yaml", 3, 5), Source("rules.yaml", 40, 5)
ABOUT = (("table", "wall"), ("rule", "silent"), ("rule", "collect"))
FOUND = Finding(Kind.OVERLAP, "warning", HERE, "it is so", about=ABOUT)
WHY = "we know"


def entry(finding: str, *about: tuple[str, str]) -> Accepted:
    """Accepted at one place."""
    return Accepted(finding, about, WHY, THERE)


MATCHING = [
    (("rule", "silent"),),
    (("rule", "collect"), ("table", "wall")),
    (("rule", "silent"), ("rule", "collect")),
]


@pytest.mark.parametrize("about", MATCHING)
def test_what_is_accepted_is_a_note_with_the_reason(about: tuple[tuple[str, str], ...]) -> None:
    """All that the entry names must be what the finding is about."""
    (found,) = with_accepted([FOUND], [entry("overlap", *about)])
    assert found == replace(FOUND, severity="note", accepted=WHY)
    assert str(found) == "rules.yaml:3:5: note: it is so (accepted: we know)"


IN_VAIN = [
    (entry("overlap", ("rule", "idle")), "'overlap' of rule 'idle' is accepted, but not found"),
    (entry("gap", ("rule", "silent")), "'gap' of rule 'silent' is accepted, but not found"),
    (entry("overlapp", ("rule", "silent")), "'overlapp' is no kind of finding; did you mean"),
    (
        entry("overlap", ("rule", "silent"), ("segment", "sill")),
        "'overlap' of rule 'silent', segment 'sill' is accepted, but not found: take this away",
    ),
]


@pytest.mark.parametrize(("accepted", "said"), IN_VAIN)
def test_what_is_accepted_in_vain_is_a_finding(accepted: Accepted, said: str) -> None:
    """At its own line; the other one stays what it is."""
    found, vain = with_accepted([FOUND], [accepted])
    assert found == FOUND
    assert (vain.kind, vain.severity, vain.source) == (Kind.ACCEPTED_IN_VAIN, "warning", THERE)
    assert vain.message.startswith(said)


def test_an_error_cannot_be_accepted() -> None:
    """The site does not do what it says."""
    error = replace(FOUND, severity="error")
    found, vain = with_accepted([error], [entry("overlap", ("rule", "silent"))])
    assert found == error
    assert (
        vain.message == "'overlap' of rule 'silent' is an error, which cannot be accepted: mend it"
    )


def test_one_entry_may_hold_for_several() -> None:
    """Of one kind."""
    several = [FOUND, replace(FOUND, message="again")]
    found = list(with_accepted(several, [entry("overlap", ("table", "wall"))]))
    assert [each.accepted for each in found] == [WHY, WHY]


def test_how_to_accept_is_shown_for_the_first_that_can_be() -> None:
    """As it may stand in the file; what is an error or a note needs nothing."""
    note, error = replace(FOUND, severity="note"), replace(FOUND, severity="error")
    odd = replace(
        FOUND, about=(("controller", "rail"), ("rule", "stuck: by hand"), ("scene", "a b"))
    )
    assert how_to_accept([note, error, replace(FOUND, about=())]) == ""
    assert how_to_accept([note, FOUND, odd]) == (
        "accept: [{finding: overlap, table: wall, rule: collect, because: …}]"
    )
    assert how_to_accept([odd]) == (
        'accept: [{finding: overlap, rule: "stuck: by hand", scene: a b, because: …}]'
    )


def test_an_entry_can_name_what_is_shown() -> None:
    """By the keys that the file knows."""
    assert Accept.model_fields.keys() - {"finding", "because"} == ACCEPTED_ABOUT
