"""Problems and the error that carries them."""

from __future__ import annotations

from bridge.errors import LampwrightError
from bridge.settings.problems import Problem, SettingsError


def test_a_problem_is_one_line_that_editors_understand() -> None:
    """file:line:column: message."""
    assert str(Problem("site.yaml", 3, 7, "length: needs a unit")) == (
        "site.yaml:3:7: length: needs a unit"
    )


def test_a_problem_keeps_to_one_line() -> None:
    """Whatever the file's own words hold."""
    problem = Problem("site.yaml", 1, 1, "a\nb\x1b[31m °C …")
    assert problem.message == "a\\nb\\x1b[31m °C …"


def test_the_error_sorts_its_problems_and_has_each_once() -> None:
    """By file, then line, then column."""
    late, early = Problem("site.yaml", 9, 1, "b"), Problem("site.yaml", 2, 5, "a")
    other = Problem("legend.yaml", 30, 1, "c")
    error = SettingsError([late, other, early, late])
    assert error.problems == (other, early, late)
    assert error.lines() == ("legend.yaml:30:1: c", "site.yaml:2:5: a", "site.yaml:9:1: b")
    assert isinstance(error, LampwrightError)
    assert error.exit_code == 2
