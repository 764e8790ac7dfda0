"""How much is known of what one segment shows, as a table.

The rules in words:

1. What was told and answered is believed until a read-back says otherwise.
2. Whatever may have been applied, or was forgotten, is not known, and is shown again.
3. What was read back to be something else is corrected; after some corrections that did not stick
   it disagrees, and is told again only now and then.
4. A look that was confirmed once may be left as somebody else set it, until the next decision.
5. A segment that was handed back is somebody else's, until the next decision or a restart.

What should show is no part of this: a segment that should show something else than it was told is
shown that, wherever it stands.
"""

from __future__ import annotations

from enum import Enum
from typing import Final


class Standing(Enum):
    """How much is known of what a segment shows; the text is for people."""

    NOT_KNOWN = "not known"
    TOLD = "told and answered"
    CONFIRMED = "read back"
    DRIFTED = "showed something else"
    #: Corrections did not stick; it waits for its next try.
    DISAGREES = "does not keep what it is told"
    RETOLD = "told again, though it did not keep it"
    YIELDED = "left as somebody set it"
    HANDED_BACK = "handed back"


class Incident(Enum):
    """What changes that."""

    #: All of a look was sent, and answered.
    TOLD = "told"
    #: What was there before was given back.
    GIVEN_BACK = "given back"
    #: Something may or may not have been applied, or the controller forgot everything.
    LOST = "lost"
    AGREES = "agrees"
    #: It was read back to show something else, and ...
    CORRECTED = "corrected"
    GIVEN_UP = "given up"
    LEFT = "left"
    #: Another decision, not the same one with other inputs.
    DECIDED = "decided"


#: What is not here changes nothing.
TRANSITIONS: Final[dict[tuple[Standing, Incident], Standing]] = {
    (Standing.NOT_KNOWN, Incident.TOLD): Standing.TOLD,
    (Standing.NOT_KNOWN, Incident.GIVEN_BACK): Standing.HANDED_BACK,
    (Standing.TOLD, Incident.LOST): Standing.NOT_KNOWN,
    (Standing.TOLD, Incident.GIVEN_BACK): Standing.HANDED_BACK,
    (Standing.TOLD, Incident.AGREES): Standing.CONFIRMED,
    (Standing.TOLD, Incident.CORRECTED): Standing.DRIFTED,
    (Standing.TOLD, Incident.GIVEN_UP): Standing.DISAGREES,
    (Standing.CONFIRMED, Incident.TOLD): Standing.TOLD,
    (Standing.CONFIRMED, Incident.GIVEN_BACK): Standing.HANDED_BACK,
    (Standing.CONFIRMED, Incident.LOST): Standing.NOT_KNOWN,
    (Standing.CONFIRMED, Incident.CORRECTED): Standing.DRIFTED,
    (Standing.CONFIRMED, Incident.GIVEN_UP): Standing.DISAGREES,
    (Standing.CONFIRMED, Incident.LEFT): Standing.YIELDED,
    (Standing.DRIFTED, Incident.TOLD): Standing.TOLD,
    (Standing.DRIFTED, Incident.GIVEN_BACK): Standing.HANDED_BACK,
    (Standing.DRIFTED, Incident.LOST): Standing.NOT_KNOWN,
    (Standing.DRIFTED, Incident.AGREES): Standing.CONFIRMED,
    (Standing.DISAGREES, Incident.TOLD): Standing.RETOLD,
    (Standing.DISAGREES, Incident.GIVEN_BACK): Standing.HANDED_BACK,
    (Standing.DISAGREES, Incident.LOST): Standing.NOT_KNOWN,
    (Standing.DISAGREES, Incident.AGREES): Standing.CONFIRMED,
    (Standing.DISAGREES, Incident.DECIDED): Standing.NOT_KNOWN,
    (Standing.RETOLD, Incident.GIVEN_BACK): Standing.HANDED_BACK,
    (Standing.RETOLD, Incident.LOST): Standing.NOT_KNOWN,
    (Standing.RETOLD, Incident.AGREES): Standing.CONFIRMED,
    (Standing.RETOLD, Incident.GIVEN_UP): Standing.DISAGREES,
    (Standing.YIELDED, Incident.LOST): Standing.NOT_KNOWN,
    (Standing.YIELDED, Incident.AGREES): Standing.CONFIRMED,
    (Standing.YIELDED, Incident.DECIDED): Standing.NOT_KNOWN,
    (Standing.HANDED_BACK, Incident.LOST): Standing.NOT_KNOWN,
    (Standing.HANDED_BACK, Incident.DECIDED): Standing.NOT_KNOWN,
}

#: In these a segment is shown what it should show, though it was told so already.
TO_BE_SHOWN: Final = frozenset({Standing.NOT_KNOWN, Standing.DRIFTED, Standing.DISAGREES})
#: In these it is not ours to say what shows, and what is read back is only looked at.
LEFT_ALONE: Final = frozenset({Standing.YIELDED, Standing.HANDED_BACK})
#: In these it shows what it was told, as far as is known.
BELIEVED: Final = frozenset({Standing.TOLD, Standing.CONFIRMED, Standing.RETOLD})


def after(standing: Standing, incident: Incident) -> Standing:
    """Where it stands then."""
    return TRANSITIONS.get((standing, incident), standing)


def standing_diagram() -> str:
    """The table as a Mermaid state diagram, for DEVELOPERS.md."""
    lines = ["stateDiagram-v2", f"    [*] --> {Standing.NOT_KNOWN.name.lower()}"]
    for (standing, incident), then in TRANSITIONS.items():
        lines.append(f"    {standing.name.lower()} --> {then.name.lower()}: {incident.value}")
    return "\n".join(lines) + "\n"
