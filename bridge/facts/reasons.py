"""Printer-state reasons: the registered keywords, their suffixes and their severities.

RFC 8011 §5.4.12, PWG 5100.21 (3D) and the IANA IPP registry. A reason is a keyword with an
optional ``-report``, ``-warning`` or ``-error``.
"""

from __future__ import annotations

import difflib
import re
from typing import Final

from bridge.facts.values import Reason, Severity
from bridge.facts.vocabulary import BRIDGE_PREFIX, SITE_PREFIX

#: RFC 8011: there is no reason. Never a reason itself.
NONE: Final = "none"

SUFFIXES: Final = {
    "-report": Severity.REPORT,
    "-warning": Severity.WARNING,
    "-error": Severity.ERROR,
}

#: PWG 5100.21: each part, and what can be the matter with it.
_PARTS: Final = {
    "chamber": ("cooling", "failure", "heating", "temperature-high", "temperature-low"),
    "extruder": ("cooling", "failure", "heating", "temperature-high", "temperature-low", "jam"),
    "platform": ("cooling", "failure", "heating", "temperature-high", "temperature-low"),
    "lamp": ("at-eol", "failure", "near-eol"),
    "laser": ("at-eol", "failure", "near-eol"),
    "camera": ("failure",),
    "fan": ("failure",),
    "motor": ("failure",),
    "material": ("empty", "low", "needed"),
}

#: RFC 8011 §5.4.12 and later additions to the registry.
_GENERAL: Final = (
    "connecting-to-device cover-open developer-empty developer-low door-open fuser-over-temp"
    " fuser-under-temp hold-new-jobs identify-printer-requested input-tray-missing"
    " interlock-closed interlock-open interpreter-resource-unavailable marker-supply-empty"
    " marker-supply-low marker-waste-almost-full marker-waste-full media-empty media-jam media-low"
    " media-needed moving-to-paused opc-life-over opc-near-eol other output-area-almost-full"
    " output-area-full output-tray-missing paused power-down power-up resuming shutdown"
    " spool-area-full standby stopped-partly stopping suspend testing timed-out toner-empty"
    " toner-low unknown"
)

#: Registered keywords that end in a severity's word which belongs to the name: looked up whole
#: before a suffix is taken off.
_ENDING_LIKE_A_SUFFIX: Final = (
    "input-media-tray-feed-error",
    "media-path-input-feed-error",
    "media-path-output-feed-error",
    "output-media-tray-feed-error",
)

#: The bridge's own, from its memory of jobs.
BRIDGE_KEYWORDS: Final = frozenset({"bridge-job-vanished", "bridge-stalled"})

KEYWORDS: Final = frozenset(
    {
        *(f"{part}-{matter}" for part, matters in _PARTS.items() for matter in matters),
        *_GENERAL.split(),
        *_ENDING_LIKE_A_SUFFIX,
        *BRIDGE_KEYWORDS,
    }
)

_NEUTRAL: Final = (
    "chamber-cooling chamber-heating connecting-to-device extruder-cooling extruder-heating"
    " hold-new-jobs moving-to-paused paused platform-cooling platform-heating power-down power-up"
    " resuming shutdown standby stopping suspend testing"
)
_WARNING: Final = (
    "bridge-stalled developer-low lamp-near-eol laser-near-eol marker-supply-low"
    " marker-waste-almost-full material-low media-low opc-near-eol output-area-almost-full"
    " stopped-partly toner-low"
)
#: What a keyword without a suffix means. The old rule says error (RFC 8011 §5.4.12); sub-states
#: are no trouble, and what is merely near its end stops nothing, so these have a row of their own.
UNSUFFIXED: Final = {
    **dict.fromkeys(_NEUTRAL.split(), Severity.NEUTRAL),
    **dict.fromkeys(_WARNING.split(), Severity.WARNING),
    "identify-printer-requested": Severity.REPORT,
    "interlock-closed": Severity.REPORT,
}

#: RFC 8011 §5.1.4: a keyword starts with a letter and has letters, digits, ``-``, ``_`` and ``.``.
_KEYWORD = re.compile(r"[a-z][a-z0-9._-]{0,254}")


class ReasonError(ValueError):
    """The text is no reason; ``problem`` says why and names the nearest keyword."""

    def __init__(self, text: str, problem: str) -> None:
        super().__init__(f"'{text}' {problem}")


def parse_reason(text: str) -> Reason:
    """The reason that ``text`` names; case does not matter.

    Raises ``ReasonError`` for a keyword that is neither registered nor ``site-…``.
    """
    keyword, severity = split_severity(text)
    if keyword == NONE:
        raise ReasonError(text, "says that there is no reason: it cannot be one")
    if not is_known_keyword(keyword):
        raise ReasonError(text, _why_not_known(keyword))
    if severity is None:
        severity = UNSUFFIXED.get(keyword, Severity.ERROR)
    return Reason(keyword, severity, text)


def split_severity(text: str) -> tuple[str, Severity | None]:
    """The keyword in lower case without its suffix, and what the suffix says."""
    keyword = text.lower()
    if keyword in KEYWORDS:
        return keyword, None
    for suffix, severity in SUFFIXES.items():
        if keyword.endswith(suffix):
            return keyword.removesuffix(suffix), severity
    return keyword, None


def is_known_keyword(keyword: str) -> bool:
    """Whether a keyword without its suffix is registered, the bridge's own, or a ``site-…``."""
    lowered = keyword.lower()
    return lowered in KEYWORDS or _is_sites_own(lowered)


def nearest_keyword(keyword: str) -> str | None:
    """The known keyword that looks most like this one."""
    close = difflib.get_close_matches(keyword.lower(), sorted(KEYWORDS), n=1)
    return close[0] if close else None


def _is_sites_own(keyword: str) -> bool:
    return (
        keyword.startswith(SITE_PREFIX)
        and keyword != SITE_PREFIX
        and _KEYWORD.fullmatch(keyword) is not None
    )


def _why_not_known(keyword: str) -> str:
    if keyword.startswith(SITE_PREFIX):
        return f"is no keyword: after {SITE_PREFIX} come letters, digits, - _ and ."
    if keyword.startswith(BRIDGE_PREFIX):
        hint = f"the bridge's own are {' and '.join(sorted(BRIDGE_KEYWORDS))}"
    elif near := nearest_keyword(keyword):
        hint = f"did you mean '{near}'?"
    else:
        hint = f"a reason of your own starts with {SITE_PREFIX}"
    return f"is not a registered reason: {hint}"
