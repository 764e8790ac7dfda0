"""How a controller is doing, and what about it a person should hear."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final


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
    YIELDED = "segment was set by somebody else, left so until the next decision"
    DISAGREES = "segment does not keep what it is told"
    SWITCHED_OFF = "controller's main switch or brightness was changed"
    MISREAD = "read-back could not be understood"
    NOT_CAPTURED = "what was there before could not be kept"
    BOOT_WRITTEN = "controller's own look at power-up was set to off watch"
    BOOT_NOT_KEPT = "controller does not keep its look at power-up, tried again tomorrow"
    SLOWER = "painted flashes go slower, or stand still: the controller takes no more"
    AS_FAST = "painted flashes go as they should again"


class Reached(Enum):
    """What a request to a controller came to."""

    #: It took the request, or refused this one only.
    ANSWERED = "answered"
    SILENT = "silent"
    #: It is busy or out of order: the answer is about the whole controller.
    REFUSED = "refused"
    #: It said that it is another, or has too few pixels.
    ANOTHER = "another"


#: How it is doing then, wherever it stood before, and what is remarked of it.
AFTER: Final[dict[Reached, tuple[Contact, Remark | None]]] = {
    Reached.ANSWERED: (Contact.REACHABLE, None),
    Reached.SILENT: (Contact.UNREACHABLE, Remark.UNREACHABLE),
    Reached.REFUSED: (Contact.REFUSING, Remark.REFUSING),
    Reached.ANOTHER: (Contact.STRANGER, Remark.STRANGER),
}
#: Whoever answers after these is back.
AWAY: Final = frozenset({Contact.UNREACHABLE, Contact.REFUSING, Contact.STRANGER})


@dataclass(frozen=True, slots=True)
class Noticed:
    """A remark with its details; ``segment`` is empty where it is about the whole controller."""

    remark: Remark
    detail: str = ""
    segment: str = ""
