"""One message's documents: what is taken, what renews, what is kept out, how long it counts."""

from __future__ import annotations

import json
from zoneinfo import ZoneInfo

import pytest

from bridge.facts.decoding import Refusal, Unreadable
from bridge.facts.documents import AHEAD_MS, MessageState
from bridge.facts.held import MOST_ADDRESSES, UNREADABLE, Held, Outcome, Taken
from bridge.facts.moment import Moment
from bridge.facts.places import ABSENT, compile_place
from bridge.facts.reader import EndsAt, Message, Only, SentAt
from bridge.facts.values import Why
from tests.facts.building import UTC, status, text

START = Moment(10_000, 1_768_478_400_000)


GAIT = status(only=Only(compile_place("/on"), ("gait", 1)))


#: A body that its source did not keep.
NOT_KEPT = Refusal(Unreadable.TOO_LARGE, "10485760 bytes")


def _state(
    message: Message, *, many: bool = False, means_empty: bool = False, zone: ZoneInfo = UTC
) -> MessageState:
    sources = frozenset({"http"})
    return MessageState(
        message, sources, zone, many=many, means_empty=means_empty, while_link=False
    )


def _take(
    state: MessageState, said: object, ms: int = 0, *, retained: bool = False, part: str = ""
) -> tuple[Outcome, Held]:
    body = said if isinstance(said, bytes | Refusal | None) else json.dumps(said).encode()
    return state.take(part or "a", (part,), body, START.at(START.ms + ms), retained=retained)


@pytest.mark.parametrize(
    ("body", "taken"),
    [
        (b'{"m": 20}', Taken.TAKEN),
        (b"null", Taken.TAKEN),
        (b"", Taken.CLEARED),
        (b"LAYING", Taken.UNREADABLE_JSON),
        (b'{"m": NaN}', Taken.NOT_A_NUMBER),
        (b'{"m": 1e999}', Taken.NOT_A_NUMBER),
        (b"\xff\xfe", Taken.NOT_UTF8),
        (b"[" * 1000, Taken.TOO_DEEP),
        (b" " * (10 << 20), Taken.TOO_LARGE),
        (NOT_KEPT, Taken.TOO_LARGE),
        (None, Taken.NOTHING_TO_RENEW),
    ],
)
def test_a_first_message(body: object, taken: Taken) -> None:
    """Taken, or one reason why not."""
    outcome, held = _take(_state(status()), body)
    assert outcome.taken is taken
    assert held.is_held is (taken is Taken.TAKEN)
    assert (held.why is None) is (taken is Taken.TAKEN)


@pytest.mark.parametrize("body", [b"{", b"[" * 1000, b"NaN", b"\xff", b" " * (2 << 20), NOT_KEPT])
def test_an_unreadable_message_leaves_the_document_to_age(body: object) -> None:
    """It neither replaces nor renews; once the document expires, this is why."""
    state = _state(status())
    _take(state, {"m": 20})
    outcome, held = _take(state, body, 20_000)
    assert outcome.taken in UNREADABLE.values()
    assert held.document == {"m": 20}
    assert (held.why, held.expires_ms) == (None, START.ms + 30_001)
    assert held.why_then is Why.UNREADABLE


@pytest.mark.parametrize(
    ("between", "taken"),
    [
        ([], Taken.RENEWED),
        ([b"<busy>"], Taken.NOTHING_TO_RENEW),
        ([b"<busy>", {"on": "gait"}], Taken.RENEWED),
        ([{"on": "heat"}], Taken.NOTHING_TO_RENEW),
        ([{"on": "heat"}, {"on": "gait", "m": 2}], Taken.RENEWED),
    ],
)
def test_unchanged_speaks_of_the_last_answer(between: list[object], taken: Taken) -> None:
    """Where that was another or could not be read, the one before it is not renewed."""
    state = _state(GAIT)
    for said in ({"on": "gait"}, *between):
        _take(state, said)
    outcome, held = _take(state, None, 20_000)
    assert outcome.taken is taken
    assert held.expires_ms == START.ms + (50_001 if taken is Taken.RENEWED else 30_001)


@pytest.mark.parametrize(("said", "taken"), [({"m": 20}, Taken.RENEWED), (None, Taken.RENEWED)])
def test_the_same_again_renews(said: object, taken: Taken) -> None:
    """An equal body, or an answer that nothing changed."""
    state = _state(status())
    _take(state, {"m": 20})
    outcome, held = _take(state, said, 20_000)
    assert outcome == Outcome(taken)
    assert held.expires_ms == START.ms + 50_001


def test_an_expired_document_is_renewed_too() -> None:
    """And that it counts again has to be looked at."""
    state = _state(status())
    _, held = _take(state, {"m": 20})
    held.why, held.expires_ms = Why.NOT_FRESH, None
    outcome, _ = _take(state, {"m": 20}, 60_000)
    assert outcome.freshness
    assert held.why is None


@pytest.mark.parametrize(
    ("trust", "before", "said", "taken", "why"),
    [
        ("distrust", None, {"m": 1}, Taken.RETAINED_IGNORED, Why.NOT_HEARD),
        ("trust", None, {"m": 1}, Taken.TAKEN, None),
        ("trust", None, b"{", Taken.UNREADABLE_JSON, Why.UNREADABLE),
        ("distrust", {"m": 1}, {"m": 1}, Taken.RETAINED_IGNORED, None),
        ("trust", {"m": 1}, {"m": 1}, Taken.RETAINED_IGNORED, None),
        ("distrust", {"m": 1}, {"m": 2}, Taken.RETAINED_DIFFERS, Why.RETAINED_DIFFERS),
        ("trust", {"m": 1}, {"m": 2}, Taken.RETAINED_DIFFERS, Why.RETAINED_DIFFERS),
        ("trust", {"m": 1}, b"{", Taken.RETAINED_DIFFERS, Why.RETAINED_DIFFERS),
    ],
)
def test_a_retained_message(
    trust: str, before: object, said: object, taken: Taken, why: Why | None
) -> None:
    """It renews nothing, counts at first only where trusted, and doubt makes it unknown."""
    state = _state(status(retained=trust))
    if before is not None:
        _take(state, before)
    outcome, held = _take(state, said, 5_000, retained=True)
    assert (outcome.taken, held.why) == (taken, why)
    if before is not None and why is None:
        assert held.expires_ms == START.ms + 30_001


def test_after_doubt_the_next_live_message_counts() -> None:
    """Also where it says what was held before."""
    state = _state(status())
    _take(state, {"m": 1})
    _take(state, {"m": 2}, retained=True)
    outcome, held = _take(state, {"m": 1})
    assert outcome.taken is Taken.TAKEN
    assert held.why is None


@pytest.mark.parametrize(
    ("means_empty", "taken", "document"),
    [(False, Taken.CLEARED, ABSENT), (True, Taken.TAKEN, "")],
)
def test_an_empty_text(means_empty: bool, taken: Taken, document: object) -> None:
    """It clears, unless the reader knows it as a word."""
    state = _state(text("phase"), means_empty=means_empty)
    _take(state, b"LAYING")
    outcome, held = _take(state, b"")
    assert (outcome.taken, held.document) == (taken, document)


def test_a_text_is_heard_without_the_space_around_it() -> None:
    """A shell's echo ends its line."""
    _, held = _take(_state(text("phase")), b" LAYING\r\n")
    assert held.document == "LAYING"


PATCHED = status(joins="patch", full=compile_place("/whole"))


def test_patches_wait_for_a_whole_document() -> None:
    """Then each is joined and renews, and a whole one replaces everything."""
    state = _state(PATCHED)
    outcome, held = _take(state, {"m": 1})
    assert (outcome.taken, held.why) == (Taken.PATCH_BEFORE_FULL, Why.NOT_FULL)
    assert outcome.detail == "nothing at /whole"
    _take(state, {"whole": 1, "m": 2, "n": {"a": 1, "b": 2}})
    _take(state, {"n": {"a": None, "c": 3}}, 20_000)
    assert held.document == {"whole": 1, "m": 2, "n": {"b": 2, "c": 3}}
    assert held.expires_ms == START.ms + 50_001
    _take(state, {"whole": 2})
    assert held.document == {"whole": 2}


@pytest.mark.parametrize("patch", [None, 7, "busy", [{"whole": 1}], {"whole": None}])
def test_a_patch_that_leaves_nothing_whole(patch: object) -> None:
    """What is no object replaces everything (RFC 7396): what is then absent says nothing."""
    state = _state(PATCHED)
    _take(state, {"whole": 1, "m": 2})
    outcome, held = _take(state, b"null" if patch is None else patch)
    assert (outcome.taken, held.why) == (Taken.NOT_FULL_ANY_MORE, Why.NOT_FULL)
    assert _take(state, {"m": 3})[0].taken is Taken.PATCH_BEFORE_FULL
    assert _take(state, {"whole": {"nr": 2}})[1].why is None


def test_after_a_loss_patches_wait_again() -> None:
    """What was missed in between cannot be known."""
    state = _state(PATCHED)
    _take(state, {"whole": 1, "m": 2})
    state.drop(Why.SOURCE_LOST)
    state.can_be_heard(Why.SOURCE_LOST)
    outcome, held = _take(state, {"m": 3})
    assert outcome.taken is Taken.PATCH_BEFORE_FULL
    assert not held.is_held


def test_patches_cannot_grow_a_document_without_end() -> None:
    """Ever new names make it too large, and then it is gone until a whole one."""
    state = _state(PATCHED)
    _take(state, {"whole": 1})
    taken = [_take(state, {f"n{number}": "x" * 100_000})[0].taken for number in range(12)]
    assert taken[:9] == [Taken.TAKEN] * 9
    assert Taken.TOO_LARGE in taken
    assert taken[-1] is Taken.PATCH_BEFORE_FULL


def test_many_small_patches_to_the_same_place_are_no_growth() -> None:
    """What counts is the document, not what was sent."""
    state = _state(PATCHED)
    _take(state, {"whole": 1})
    for number in range(30):
        outcome, _ = _take(state, {"n": str(number) * 50_000})
        assert outcome.taken is Taken.TAKEN


BEATING = status(beat=compile_place("/tick"))


@pytest.mark.parametrize(
    ("said", "expires_ms", "why_then"),
    [
        ({"tick": 2}, START.ms + 50_001, Why.NOT_FRESH),
        ({"tick": 1}, START.ms + 30_001, Why.STUCK),
        ({"tick": 1, "m": 5}, START.ms + 30_001, Why.STUCK),
        ({"m": 5}, START.ms + 30_001, Why.STUCK),
        (None, START.ms + 30_001, Why.STUCK),
    ],
)
def test_only_a_moving_beat_renews(said: object, expires_ms: int, why_then: Why) -> None:
    """A printer whose program hangs goes on publishing; its counter stands still."""
    state = _state(BEATING)
    _take(state, {"tick": 0})
    _take(state, {"tick": 1})
    _, held = _take(state, said, 20_000)
    assert (held.why, held.expires_ms, held.why_then) == (None, expires_ms, why_then)


def test_the_first_message_may_be_a_repetition_itself() -> None:
    """It counts only once the beat has moved; to stand still or to be gone is no move."""
    state = _state(BEATING)
    why = []
    for said in ({"tick": 1}, {"tick": 1, "m": 5}, {"m": 5}, {"tick": 1}, {"tick": 2}):
        _, held = _take(state, said)
        why.append(held.why)
    assert why == [Why.STUCK, Why.STUCK, Why.STUCK, Why.STUCK, None]


def test_a_beat_that_still_stands_after_a_loss() -> None:
    """A new connection is no new beat; one that moved meanwhile is."""
    state = _state(BEATING)
    why = []
    for tick in (1, 2, 2, 3):
        _, held = _take(state, {"tick": tick})
        why.append(held.why)
        if tick == 2:
            state.drop(Why.SOURCE_LOST)
    assert why == [Why.STUCK, None, Why.STUCK, None]


@pytest.mark.parametrize(
    ("said", "retained", "taken", "document"),
    [
        ({"on": "gait", "m": 2}, False, Taken.TAKEN, {"on": "gait", "m": 2}),
        ({"on": 1, "m": 2}, False, Taken.TAKEN, {"on": 1, "m": 2}),
        ({"on": True, "m": 2}, False, Taken.ANOTHER, {"on": "gait"}),
        ({"on": "heat"}, False, Taken.ANOTHER, {"on": "gait"}),
        ({"on": "heat"}, True, Taken.ANOTHER, {"on": "gait"}),
        ({"m": 2}, False, Taken.ANOTHER, {"on": "gait"}),
        ({"on": "gait", "m": 2}, True, Taken.RETAINED_DIFFERS, ABSENT),
        ({"on": "gait"}, False, Taken.RENEWED, {"on": "gait"}),
        (b"{", False, Taken.UNREADABLE_JSON, {"on": "gait"}),
        # Which of the two it was cannot be told: the more careful of both.
        (NOT_KEPT, False, Taken.TOO_LARGE, {"on": "gait"}),
        (b"", False, Taken.CLEARED, ABSENT),
    ],
)
def test_two_messages_on_one_address(
    said: object, retained: bool, taken: Taken, document: object
) -> None:
    """Told apart by a place; the other one neither replaces, renews nor casts doubt."""
    state = _state(GAIT)
    _take(state, {"on": "gait"})
    outcome, held = _take(state, said, 20_000, retained=retained)
    assert (outcome.taken, held.document) == (taken, document)
    if taken is Taken.ANOTHER:
        assert held.expires_ms == START.ms + 30_001


STAMPED = status(sent_at=SentAt(compile_place("/sent"), EndsAt.EPOCH_MS))
WALL = 1_768_478_400_000


@pytest.mark.parametrize(
    ("sent", "why", "expires_ms"),
    [
        (WALL, None, START.ms + 30_001),
        (WALL - 10_000, None, START.ms + 20_001),
        (WALL - 30_000, None, START.ms + 1),
        (WALL - 30_001, Why.NOT_FRESH, None),
        (WALL + AHEAD_MS, None, START.ms + 30_001),
        (WALL + AHEAD_MS + 1, Why.NOT_FRESH, None),
        ("soon", Why.NOT_FRESH, None),
        (None, Why.NOT_FRESH, None),
        (10**400, Why.NOT_FRESH, None),
    ],
)
def test_a_stamp_is_the_true_age(sent: object, why: Why | None, expires_ms: int | None) -> None:
    """Counted from when it was sent; from the future, or without a stamp, it does not count."""
    _, held = _take(_state(STAMPED), {"sent": sent})
    assert (held.why, held.expires_ms) == (why, expires_ms)


def test_the_same_stamp_again_renews_nothing() -> None:
    """A message that a device repeats for ever grows old all the same."""
    state = _state(STAMPED)
    _take(state, {"sent": WALL})
    outcome, held = _take(state, {"sent": WALL}, 20_000)
    assert outcome.taken is Taken.NOT_RENEWED
    assert held.expires_ms == START.ms + 30_001


@pytest.mark.parametrize(
    ("sent", "why"),
    [
        ((0, 10_000, 9_999), Why.OUT_OF_ORDER),
        ((0, 10_000, 9_999, 9_999), Why.OUT_OF_ORDER),
        ((0, 10_000, 9_000, 9_500), Why.OUT_OF_ORDER),
        ((0, 10_000, 9_999, 10_000), None),
        ((0, 10_000, 9_999, 10_001), None),
        ((0, 3_600_000, 10_000), None),
        ((0, "soon", 10_000), None),
        ((10_000, 0, "soon"), Why.NOT_FRESH),
    ],
)
def test_a_message_that_was_overtaken_does_not_count(
    sent: tuple[int | str, ...], why: Why | None
) -> None:
    """Until one comes that is not older than any that counted; one from the future never did."""
    state = _state(STAMPED)
    for number, ms in enumerate(sent):
        said = WALL + ms if isinstance(ms, int) else ms
        _take(state, {"sent": said, "nr": number}, 10_000)
    held = state.one
    assert (held.why, held.document["nr"]) == (why, len(sent) - 1)


def test_an_order_by_a_clock_that_ran_ahead_is_forgotten() -> None:
    """Stepped back, our clock makes every stamp older than those that counted: nobody waits."""
    state = _state(STAMPED)
    _take(state, {"sent": WALL})
    body = json.dumps({"sent": WALL - 3_600_000}).encode()
    now = Moment(START.ms + 1_000, WALL - 3_599_000)
    _, held = state.take("a", (), body, now, retained=False)
    assert held.why is None


def test_a_stamp_needs_the_wall_clock() -> None:
    """Without one its age is not known; once it is, the message is judged again."""
    state = _state(STAMPED)
    body = json.dumps({"sent": WALL - 10_000}).encode()
    _, held = state.take("a", (), body, Moment(START.ms), retained=False)
    judged: list[object] = [held.why]
    for now in (START, Moment(START.ms, WALL + 60_000), Moment(START.ms, WALL + 60_000)):
        judged += [state.judge_stamp(held, now), held.why]
    assert judged == [Why.NO_CLOCK, True, None, True, Why.NOT_FRESH, False, Why.NOT_FRESH]


def test_each_address_has_a_document_of_its_own() -> None:
    """In the order of addresses, whatever came first."""
    state = _state(text("fault"), many=True)
    _take(state, b"1", part="spool")
    _take(state, b"2", 20_000, part="lid")
    assert [(held.address, held.document) for held in state.all_held()] == [
        ("lid", "2"),
        ("spool", "1"),
    ]
    assert [held.expires_ms for held in state.all_held()] == [START.ms + 50_001, START.ms + 30_001]


def test_an_address_that_is_cleared_is_remembered() -> None:
    """Empty is not none: what was said there is no longer known."""
    state = _state(text("fault"), many=True)
    _take(state, b"", part="lid")
    assert [held.why for held in state.all_held()] == [Why.CLEARED]


def test_a_stored_message_makes_no_address() -> None:
    """What proves nothing leaves nothing."""
    state = _state(text("fault"), many=True)
    outcome, _ = _take(state, b"1", part="lid", retained=True)
    assert outcome.taken is Taken.RETAINED_IGNORED
    assert state.all_held() == []


def test_addresses_are_bounded() -> None:
    """One more than any printer has is left out, and that is not forgotten."""
    state = _state(text("fault"), many=True)
    for number in range(MOST_ADDRESSES):
        _take(state, b"1", part=f"p{number}")
    outcome, _ = _take(state, b"1", part="more")
    assert outcome.taken is Taken.TOO_MANY_ADDRESSES
    assert (len(state.by_address), state.overflowed) == (MOST_ADDRESSES, True)
    assert _take(state, b"2", part="p0")[0].taken is Taken.TAKEN
    state.drop(Why.SOURCE_LOST)
    assert (state.by_address, state.overflowed) == ({}, False)


def test_silence_says_something_only_while_a_source_is_up() -> None:
    """Until a broker is subscribed, nothing could have arrived."""
    state = MessageState(
        text("fault"), frozenset({"bench"}), UTC, many=True, means_empty=False, while_link=False
    )
    why: list[object] = [state.why_none]
    for _ in range(2):
        why += [state.can_be_heard(Why.SOURCE_LOST), state.why_none]
    assert why == [Why.SOURCE_LOST, True, Why.NOT_HEARD, False, Why.NOT_HEARD]


OURS = status(within=compile_place("$[?@.tag == 'S-7']"))


@pytest.mark.parametrize(
    ("said", "document", "taken"),
    [
        ([{"tag": "S-2"}, {"tag": "S-7", "m": 1}], {"tag": "S-7", "m": 1}, Taken.TAKEN),
        ([{"tag": "S-7"}], {"tag": "S-7"}, Taken.TAKEN),
        ([{"tag": "S-2"}], ABSENT, Taken.NOT_WITHIN),
        ([{"tag": "S-7"}, {"tag": "S-7"}], ABSENT, Taken.NOT_WITHIN),
        ([], ABSENT, Taken.NOT_WITHIN),
        (7, ABSENT, Taken.NOT_WITHIN),
    ],
)
def test_the_printers_own_part_of_a_body(said: object, document: object, taken: Taken) -> None:
    """There once it is the document; else nothing is known, and nothing can renew what was."""
    state = _state(OURS)
    _take(state, [{"tag": "S-7", "m": 0}])
    outcome, held = _take(state, said, 5_000)
    assert (outcome.taken, held.document) == (taken, document)
    assert outcome.document
    if taken is Taken.NOT_WITHIN:
        assert outcome.freshness
        assert held.why is Why.ABSENT
        again, _ = _take(state, None, 6_000)
        assert again.taken is Taken.NOTHING_TO_RENEW
    else:
        assert held.expires_ms == START.ms + 35_001


def test_what_others_say_in_the_same_body_renews() -> None:
    """The printer is there as it was: it was heard."""
    state = _state(OURS)
    _take(state, [{"tag": "S-7"}, {"tag": "S-2", "m": 0}])
    _, held = _take(state, [{"tag": "S-7"}, {"tag": "S-2", "m": 1}], 9_000)
    assert (held.why, held.expires_ms) == (None, START.ms + 39_001)
    outcome, held = _take(state, None, 12_000)
    assert (outcome.taken, held.expires_ms) == (Taken.RENEWED, START.ms + 42_001)
