"""What became of a message, and the one document it left."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from typing import Final

from bridge.facts.decoding import Unreadable
from bridge.facts.places import ABSENT, Document
from bridge.facts.values import Why

#: More concrete addresses of one wildcard than any printer has.
MOST_ADDRESSES: Final = 256


class Taken(Enum):
    """What became of a message; the text is what a person reads."""

    TAKEN = "taken"
    RENEWED = "the same again: renewed"
    NOT_RENEWED = "the same again, and neither its stamp nor its beat moved"
    NOTHING_TO_RENEW = "unchanged, but nothing is held that it could renew"
    RETAINED_IGNORED = "a stored message: it proves nothing and was left out"
    RETAINED_DIFFERS = "a stored message that differs from what was heard: neither counts"
    CLEARED = "empty: what was held is gone"
    ANOTHER = "another message on the same address"
    NOT_WITHIN = "the printer's own part is not in it exactly once"
    PATCH_BEFORE_FULL = "a patch before any whole document: left out"
    NOT_FULL_ANY_MORE = "a patch that leaves no whole document: what was held is gone"
    UNREADABLE_JSON = Unreadable.NOT_JSON.value
    NOT_UTF8 = Unreadable.NOT_UTF8.value
    TOO_DEEP = Unreadable.TOO_DEEP.value
    TOO_LARGE = Unreadable.TOO_LARGE.value
    NOT_A_NUMBER = Unreadable.NOT_A_NUMBER.value
    TOO_MANY_ADDRESSES = f"more than {MOST_ADDRESSES} addresses of one wildcard: left out"
    UNSOLICITED = "no message of this printer's reader"


UNREADABLE: Final = {
    Unreadable.NOT_JSON: Taken.UNREADABLE_JSON,
    Unreadable.NOT_UTF8: Taken.NOT_UTF8,
    Unreadable.TOO_DEEP: Taken.TOO_DEEP,
    Unreadable.TOO_LARGE: Taken.TOO_LARGE,
    Unreadable.NOT_A_NUMBER: Taken.NOT_A_NUMBER,
}


@dataclass(slots=True)
class Held:
    """One document. ``why`` is ``None`` while it counts (a link that must be up is asked apart)."""

    address: str
    wildcards: tuple[str, ...] = ()
    document: Document = ABSENT
    body: bytes | None = None
    why: Why | None = Why.NOT_HEARD
    #: The instant from which it counts.
    heard_ms: int = 0
    #: The first millisecond at which it no longer counts; ``None``: never by age.
    expires_ms: int | None = None
    #: The sender's stamp, in wall time.
    sent_ms: float | None = None
    #: The newest stamp that counted on its address; outlives the document too.
    newest_ms: float = -math.inf
    #: Its address's last value at ``beat``; outlives the document, so that a printer that stands
    #: still is not fresh again merely because the broker came back.
    beat: object = ABSENT
    #: Whether the last answer was this document, which is what "unchanged" speaks of.
    is_last: bool = False
    #: Why it will no longer count once it expires.
    why_then: Why = Why.NOT_FRESH
    #: Bytes taken since the document was last known to be small.
    grown: int = 0

    @property
    def is_held(self) -> bool:
        """Whether there is a document at all, fresh or not."""
        return self.document is not ABSENT

    def drop(self, why: Why) -> None:
        """Forget the document."""
        self.document = ABSENT
        self.body = None
        self.why = why
        self.expires_ms = None
        self.sent_ms = None
        self.grown = 0


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a message; whether the document, or whether it counts, changed."""

    taken: Taken
    detail: str = ""
    document: bool = False
    freshness: bool = False
