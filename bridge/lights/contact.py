"""How a controller is doing, and what about it a person should hear."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Contact(Enum):
    """How a controller is doing."""

    NOT_TRIED = "not tried yet"
    REACHABLE = "answers"
    UNREACHABLE = "does not answer"
    REFUSING = "answers with an error"
    STRANGER = "is not the controller that the site names"


class Remark(Enum):
    """Something about a controller that a person should hear once."""

    UNREACHABLE = "controller does not answer"
    REFUSING = "controller refuses"
    BACK = "controller answers again"
    RESTARTED = "controller restarted, showing everything again"
    STRANGER = "what answers is not the controller that the site names"
    DRIFTED = "segment showed something else, corrected"
    DISAGREES = "segment does not keep what it is told"
    MISREAD = "read-back could not be understood"


@dataclass(frozen=True, slots=True)
class Noticed:
    """A remark with its details; ``segment`` is empty where it is about the whole controller."""

    remark: Remark
    detail: str = ""
    segment: str = ""
