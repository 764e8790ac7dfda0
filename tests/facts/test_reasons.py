"""Reasons: suffixes, severities, keywords of one's own, and what is none."""

from __future__ import annotations

import pytest

from bridge.facts.reasons import (
    KEYWORDS,
    SUFFIXES,
    UNSUFFIXED,
    ReasonError,
    is_known_keyword,
    nearest_keyword,
    parse_reason,
)
from bridge.facts.values import Severity


@pytest.mark.parametrize(
    ("text", "keyword", "severity"),
    [
        ("material-empty", "material-empty", Severity.ERROR),
        ("material-empty-warning", "material-empty", Severity.WARNING),
        ("Material-Empty-WARNING", "material-empty", Severity.WARNING),
        ("material-low", "material-low", Severity.WARNING),
        ("material-low-report", "material-low", Severity.REPORT),
        ("paused", "paused", Severity.NEUTRAL),
        ("paused-error", "paused", Severity.ERROR),
        ("extruder-heating", "extruder-heating", Severity.NEUTRAL),
        ("interlock-closed", "interlock-closed", Severity.REPORT),
        ("site-lid-propped", "site-lid-propped", Severity.ERROR),
        ("site-lid-propped-report", "site-lid-propped", Severity.REPORT),
        ("bridge-job-vanished", "bridge-job-vanished", Severity.ERROR),
        ("bridge-stalled", "bridge-stalled", Severity.WARNING),
    ],
)
def test_parse_reason(text: str, keyword: str, severity: Severity) -> None:
    """The keyword without its suffix, its severity, and what was said."""
    reason = parse_reason(text)
    assert (reason.keyword, reason.severity, reason.said) == (keyword, severity, text)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("materal-empty", "did you mean 'material-empty'?"),
        ("door-opened-error", "did you mean 'door-open'?"),
        ("none", "there is no reason"),
        ("xyzzy", "starts with site-"),
        ("site-", "letters, digits"),
        ("site-Lid propped", "letters, digits"),
        ("bridge-job", "bridge-job-vanished and bridge-stalled"),
        ("", "not a registered reason"),
        ("-error", "not a registered reason"),
    ],
)
def test_what_is_no_reason(text: str, problem: str) -> None:
    """The text is shown, with the nearest keyword or the way to one's own."""
    with pytest.raises(ReasonError) as caught:
        parse_reason(text)
    assert str(caught.value).startswith(f"'{text}' ")
    assert problem in str(caught.value)


@pytest.mark.parametrize(
    ("keyword", "known"),
    [
        ("door-open", True),
        ("DOOR-OPEN", True),
        ("door-open-error", False),
        ("site-a", True),
        ("site-", False),
        ("bridge-stalled", True),
        ("bridge-made-up", False),
        ("none", False),
    ],
)
def test_is_known_keyword(keyword: str, known: bool) -> None:
    """Keywords without a suffix; ``none`` is no reason."""
    assert is_known_keyword(keyword) is known


def test_nearest_keyword() -> None:
    """The one that looks most like it, or none at all."""
    assert nearest_keyword("extruder-jamm") == "extruder-jam"
    assert nearest_keyword("qqqq") is None


def test_every_keyword_is_itself_with_each_suffix() -> None:
    """No registered keyword is mistaken for another one with a suffix."""
    for keyword in sorted(KEYWORDS):
        assert parse_reason(keyword).keyword == keyword
        for suffix, severity in SUFFIXES.items():
            reason = parse_reason(keyword + suffix)
            assert (reason.keyword, reason.severity) == (keyword, severity)


def test_the_severity_table_has_only_keywords() -> None:
    """A misspelt row would say nothing and look as if it did."""
    assert UNSUFFIXED.keys() <= KEYWORDS
