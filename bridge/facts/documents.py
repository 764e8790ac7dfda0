"""What was heard, how long it counts, and what became of each message.

One ``Held`` is one document with one freshness: a message's, or, where its address has wildcards,
that of one concrete address. All this can only make a light more careful:

1. A document counts from the instant it was heard, or the instant its sender stamped, for
   ``fresh_for_ms``, both ends included; without that, while the link (or its source) is up.
2. Any readable message renews, an equal one too, unless ``beat`` must move and does not (of the
   first message nobody knows whether it moved).
3. A retained message renews nothing: it is taken only where nothing is held and the reader trusts
   it, and where it differs from what is held, neither counts until the next live one.
4. A message that was sent before one that counted takes its place, as the last one heard, and
   does not count: what is newest is no longer held.
5. An unreadable message changes nothing: what is held goes on ageing.
"""

from __future__ import annotations

import json
from typing import Final
from zoneinfo import ZoneInfo

from bridge.facts.codes import key_of, set_of
from bridge.facts.decoding import MOST_BYTES, Refusal, read_json, read_text
from bridge.facts.held import MOST_ADDRESSES, UNREADABLE, Held, Outcome, Taken
from bridge.facts.moment import Moment
from bridge.facts.patches import merge_patch
from bridge.facts.places import ABSENT, Document
from bridge.facts.quantities import parse_stamp
from bridge.facts.reader import Message
from bridge.facts.values import Why

#: Polled printers have no connection that could be lost.
ALWAYS_UP: Final = frozenset({"http"})
#: How far a sender's clock may run ahead of ours.
AHEAD_MS: Final = 2_000

# Made once: nearly every message ends in one of these.
_NOT_FRESH: Final = Why.NOT_FRESH
_RENEWED: Final = Outcome(Taken.RENEWED)
_RENEWED_LATE: Final = Outcome(Taken.RENEWED, freshness=True)
_NOT_RENEWED: Final = Outcome(Taken.NOT_RENEWED)
_TAKEN: Final = Outcome(Taken.TAKEN, document=True)
_TAKEN_FRESH: Final = Outcome(Taken.TAKEN, document=True, freshness=True)
_CLEARED: Final = Outcome(Taken.CLEARED, document=True, freshness=True)
_ANOTHER: Final = Outcome(Taken.ANOTHER)
_IGNORED: Final = Outcome(Taken.RETAINED_IGNORED)
_DIFFERS: Final = Outcome(Taken.RETAINED_DIFFERS, document=True, freshness=True)


class MessageState:
    """All that is held of one message. ``many``: a document for each concrete address."""

    __slots__ = (
        "_means_empty",
        "_no_full",
        "_only",
        "_zone",
        "by_address",
        "many",
        "message",
        "name",
        "one",
        "overflowed",
        "sources",
        "while_link",
        "why_none",
    )

    def __init__(
        self,
        message: Message,
        sources: frozenset[str],
        zone: ZoneInfo,
        *,
        many: bool,
        means_empty: bool,
        while_link: bool,
    ) -> None:
        self.message = message
        self.name = message.name
        self.sources = sources
        self.many = many
        #: Counts only while the link is up.
        self.while_link = while_link
        self.one = Held("")
        self.by_address: dict[str, Held] = {} if many else {"": self.one}
        self.overflowed = False
        #: Why there is no document on any address. Until a source is up, silence says nothing.
        self.why_none = Why.NOT_HEARD if sources <= ALWAYS_UP else Why.SOURCE_LOST
        self._zone = zone
        #: An empty payload is a text of this message that its reader knows.
        self._means_empty = means_empty
        values = () if message.only is None else message.only.values
        self._no_full = f"nothing at {message.full.text}" if message.full is not None else ""
        self._only = set_of(values, only_text=message.kind == "text")

    def all_held(self) -> list[Held]:
        """Every document, in the order of addresses, so that two runs agree."""
        if not self.many:
            return [self.one]
        return [self.by_address[address] for address in sorted(self.by_address)]

    def drop(self, why: Why) -> None:
        """Forget every document."""
        self.why_none = why
        self.overflowed = False
        if self.many:
            self.by_address.clear()
        else:
            self.one.drop(why)

    def can_be_heard(self, why: Why) -> bool:
        """What kept it from being heard is over; whether that changes what is said of it."""
        waiting = [held for held in self.by_address.values() if held.why is why]
        for held in waiting:
            held.why = Why.NOT_HEARD
        changed = bool(waiting) or self.why_none is why
        if self.why_none is why:
            self.why_none = Why.NOT_HEARD
        return changed

    def take(
        self,
        address: str,
        wildcards: tuple[str, ...],
        body: bytes | Refusal | None,
        now: Moment,
        *,
        retained: bool,
    ) -> tuple[Outcome, Held]:
        """Take a message, or say why not; and the document it was about.

        ``body`` is ``None`` where it is unchanged, and a ``Refusal`` where nobody kept it.
        """
        held = self.by_address.get(address) if self.many else self.one
        if held is not None:
            if not held.address:
                held.address, held.wildcards = address, wildcards
            return self._take(held, body, now, retained=retained), held
        held = Held(address, wildcards)
        if len(self.by_address) >= MOST_ADDRESSES:
            # What is left out may be a fault: the union is incomplete from now on.
            self.overflowed = True
            return Outcome(Taken.TOO_MANY_ADDRESSES, address, document=True), held
        outcome = self._take(held, body, now, retained=retained)
        if held.why is not Why.NOT_HEARD:
            self.by_address[address] = held
        return outcome, held

    def _take(
        self, held: Held, body: bytes | Refusal | None, now: Moment, *, retained: bool
    ) -> Outcome:
        if self._only and body and body != held.body and self._is_another(body):
            held.is_last = False
            return _ANOTHER
        if retained and (outcome := self._retained(held, body)) is not None:
            return outcome
        if body is None or body == held.body:
            return self._renew(held, body, now)
        if not body and not self._means_empty:
            held.drop(Why.CLEARED)
            return _CLEARED
        if isinstance(body, Refusal):
            return _refused(held, body)
        read = _read(self.message, body)
        if isinstance(read, Refusal):
            return _refused(held, read)
        if self.message.within is None:
            return self._keep(held, read, body, now)
        own = self.message.within.find_all(read)
        if len(own) != 1:
            # Of two parts nobody can say which is the printer's.
            held.drop(Why.ABSENT)
            return Outcome(Taken.NOT_WITHIN, f"{len(own)} times", document=True, freshness=True)
        return self._keep(held, own[0], body, now)

    def _is_another(self, body: bytes | Refusal) -> bool:
        """Whether the bytes are a message that ``only`` tells apart from this one."""
        only = self.message.only
        read = body if isinstance(body, Refusal) else _read(self.message, body)
        if only is None or isinstance(read, Refusal):
            return False
        return key_of(only.at.find(read)) not in self._only

    def _retained(self, held: Held, body: bytes | Refusal | None) -> Outcome | None:
        if not held.is_held:
            return None if self.message.retained == "trust" else _IGNORED
        if body == held.body:
            return _IGNORED
        held.drop(Why.RETAINED_DIFFERS)
        return _DIFFERS

    def _renew(self, held: Held, body: bytes | Refusal | None, now: Moment) -> Outcome:
        if not held.is_held or (body is None and not held.is_last):
            return Outcome(Taken.NOTHING_TO_RENEW, self.name)
        held.is_last = True
        if self.message.beat is not None or self.message.sent_at is not None:
            # The same bytes have the same stamp and the same beat.
            held.why_then = Why.NOT_FRESH if self.message.beat is None else Why.STUCK
            return _NOT_RENEWED
        was_fresh = held.why is None
        self._count_from(held, now.ms, now)
        return _RENEWED if was_fresh else _RENEWED_LATE

    def _keep(self, held: Held, document: Document, body: bytes, now: Moment) -> Outcome:
        held.grown += len(body)
        if self.message.joins == "patch" and not self._is_full(document):
            if not held.is_held:
                held.why = Why.NOT_FULL if held.why is Why.NOT_HEARD else held.why
                return Outcome(Taken.PATCH_BEFORE_FULL, self._no_full, freshness=True)
            document = merge_patch(held.document, document)
            if not self._is_full(document):
                held.drop(Why.NOT_FULL)
                return Outcome(
                    Taken.NOT_FULL_ANY_MORE, self._no_full, document=True, freshness=True
                )
            if held.grown > MOST_BYTES and not _still_small(held, document):
                held.drop(Why.UNREADABLE)
                return Outcome(Taken.TOO_LARGE, "patched", document=True, freshness=True)
        else:
            held.grown = len(body)
        was_fresh = held.why is None
        held.document, held.body, held.is_last = document, body, True
        self._judge(held, now)
        return _TAKEN if was_fresh and held.why is None else _TAKEN_FRESH

    def _is_full(self, document: Document) -> bool:
        full = self.message.full
        found = ABSENT if full is None else full.find(document)
        # In a patch, null takes a member away.
        return found is not ABSENT and found is not None

    def _judge(self, held: Held, now: Moment) -> None:
        """Renew a document that was just read, where its beat and its stamp let it."""
        beat = self.message.beat
        if beat is not None:
            value, before = beat.find(held.document), held.beat
            held.beat = value
            # The first may be a repetition itself: that it moves shows only in the second.
            if value is ABSENT or before is ABSENT or value == before:
                held.why_then = Why.STUCK
                held.why = None if held.why is None else Why.STUCK
                return
        if self.message.sent_at is None:
            self._count_from(held, now.ms, now)
            return
        # Renewed by what it says of itself, whatever kept the last one from counting.
        held.why, held.sent_ms = Why.NOT_FRESH, None
        self.judge_stamp(held, now)

    def judge_stamp(self, held: Held, now: Moment) -> bool:
        """Count a stamped document from its stamp; whether it changed if that counts."""
        was, stamp = held.why, self.message.sent_at
        if stamp is None or not held.is_held or was is Why.STUCK:
            return False
        held.why, held.expires_ms = Why.NOT_FRESH, None
        if now.wall_ms is None:
            held.why = Why.NO_CLOCK
            return was is not held.why
        if held.sent_ms is None:
            said = stamp.at.find(held.document)
            held.sent_ms = parse_stamp(said, stamp.form, now.wall_ms, self._zone)
        latest_ms = now.wall_ms + AHEAD_MS
        if held.sent_ms is not None and held.sent_ms <= latest_ms:
            # What was newest while the wall clock ran ahead says nothing of the order.
            if held.sent_ms < held.newest_ms <= latest_ms:
                held.why = Why.OUT_OF_ORDER
                return was is not held.why
            held.newest_ms = held.sent_ms
            age_ms = max(0, round(now.wall_ms - held.sent_ms))
            self._count_from(held, now.ms - age_ms, now)
        return was is not held.why

    def _count_from(self, held: Held, heard_ms: int, now: Moment) -> None:
        held.heard_ms = heard_ms
        held.why_then = _NOT_FRESH
        fresh_for_ms = self.message.fresh_for_ms
        if fresh_for_ms is None:
            held.why, held.expires_ms = None, None
            return
        expires_ms = heard_ms + fresh_for_ms + 1
        if expires_ms > now.ms:
            held.why, held.expires_ms = None, expires_ms
        else:
            held.why, held.expires_ms = Why.NOT_FRESH, None


def _refused(held: Held, refusal: Refusal) -> Outcome:
    """What is held goes on ageing; where nothing was ever heard, at least this is known."""
    never_heard = held.why is Why.NOT_HEARD
    held.is_last = False
    held.why_then = Why.UNREADABLE
    held.why = Why.UNREADABLE if never_heard else held.why
    return Outcome(UNREADABLE[refusal.why], refusal.detail, freshness=never_heard)


def _still_small(held: Held, document: Document) -> bool:
    """Whether a patched document is small; measured only once it could be large."""
    held.grown = len(json.dumps(document))
    return held.grown <= MOST_BYTES


def _read(message: Message, body: bytes) -> Document | Refusal:
    if message.kind == "json":
        return read_json(body)
    text = read_text(body)
    # A shell's echo ends its line; no word of a printer starts or ends with a space.
    return text.strip() if isinstance(text, str) else text
