"""Printer states, job states and printer-state reasons, and the trap in their suffixes.

Sources: RFC 8011 (https://www.rfc-editor.org/rfc/rfc8011, January 2017) §5.3.7, §5.4.11, §5.4.12;
PWG 5100.21-2019, IPP 3D Printing Extensions, for the 3D keywords; the IANA registry "Internet
Printing Protocol (IPP) Registrations" for the keywords that end like a suffix. The keywords of
§5.4.12 other than the 3D ones are from memory of the RFC.
"""

from __future__ import annotations

import pytest

from bridge.facts.reasons import is_known_keyword, parse_reason
from bridge.facts.values import Severity
from bridge.facts.vocabulary import JOB_STATES, STATES

#: §5.4.11, by the values 3 to 5.
PRINTER_STATES = {3: "idle", 4: "processing", 5: "stopped"}
#: §5.3.7, by the values 3 to 9.
JOB_STATES_BY_VALUE = {
    3: "pending",
    4: "pending-held",
    5: "processing",
    6: "processing-stopped",
    7: "canceled",
    8: "aborted",
    9: "completed",
}


def test_printer_states() -> None:
    """Three, by the RFC's names in the order of their values."""
    assert list(STATES) == list(PRINTER_STATES.values())


def test_job_states() -> None:
    """Seven, and the out-of-band value ``no-value`` where there is no job."""
    assert list(JOB_STATES) == [*JOB_STATES_BY_VALUE.values(), "no-value"]


#: PWG 5100.21, new values of "printer-state-reasons".
KEYWORDS_3D = [
    "camera-failure",
    *(
        f"{part}-{matter}"
        for part in ("chamber", "extruder", "platform")
        for matter in ("cooling", "failure", "heating", "temperature-high", "temperature-low")
    ),
    "extruder-jam",
    "fan-failure",
    *(
        f"{part}-{matter}"
        for part in ("lamp", "laser")
        for matter in ("at-eol", "failure", "near-eol")
    ),
    "material-empty",
    "material-low",
    "material-needed",
    "motor-failure",
]

#: RFC 8011 §5.4.12.
KEYWORDS_8011 = [
    "connecting-to-device",
    "cover-open",
    "developer-empty",
    "developer-low",
    "door-open",
    "fuser-over-temp",
    "fuser-under-temp",
    "input-tray-missing",
    "interlock-open",
    "interpreter-resource-unavailable",
    "marker-supply-empty",
    "marker-supply-low",
    "marker-waste-almost-full",
    "marker-waste-full",
    "media-empty",
    "media-jam",
    "media-low",
    "media-needed",
    "moving-to-paused",
    "opc-life-over",
    "opc-near-eol",
    "other",
    "output-area-almost-full",
    "output-area-full",
    "output-tray-missing",
    "paused",
    "shutdown",
    "spool-area-full",
    "stopped-partly",
    "stopping",
    "timed-out",
    "toner-empty",
    "toner-low",
]


@pytest.mark.parametrize("keyword", KEYWORDS_3D + KEYWORDS_8011)
def test_registered_keywords(keyword: str) -> None:
    """Each is known, in any case, and with each suffix."""
    assert is_known_keyword(keyword)
    assert is_known_keyword(keyword.upper())
    for suffix in ("report", "warning", "error"):
        assert parse_reason(f"{keyword}-{suffix}").keyword == keyword


@pytest.mark.parametrize(
    ("text", "keyword", "severity"),
    [
        ("media-path-output-feed-error", "media-path-output-feed-error", Severity.ERROR),
        (
            "media-path-output-feed-error-warning",
            "media-path-output-feed-error",
            Severity.WARNING,
        ),
        ("input-media-tray-feed-error", "input-media-tray-feed-error", Severity.ERROR),
        ("input-media-tray-feed-error-report", "input-media-tray-feed-error", Severity.REPORT),
        ("input-media-tray-feed-error-error", "input-media-tray-feed-error", Severity.ERROR),
        ("material-empty-error", "material-empty", Severity.ERROR),
    ],
)
def test_the_suffix_trap(text: str, keyword: str, severity: Severity) -> None:
    """A keyword that itself ends in a severity's word is looked up whole first."""
    reason = parse_reason(text)
    assert (reason.keyword, reason.severity) == (keyword, severity)


@pytest.mark.parametrize(
    ("keyword", "severity"),
    [("media-jam", Severity.ERROR), ("other", Severity.ERROR), ("paused", Severity.NEUTRAL)],
)
def test_without_a_suffix(keyword: str, severity: Severity) -> None:
    """§5.4.12: taken as an error, save for sub-states that are none."""
    assert parse_reason(keyword).severity is severity


def test_severities_are_ordered() -> None:
    """§5.4.12: a report touches nothing, a warning stops no job, an error stops the printer."""
    assert Severity.NEUTRAL.value < Severity.REPORT.value
    assert Severity.REPORT.value < Severity.WARNING.value < Severity.ERROR.value


def test_none_is_no_reason() -> None:
    """§5.4.12: ``none`` stands where there is no reason."""
    with pytest.raises(ValueError, match="no reason"):
        parse_reason("none")
