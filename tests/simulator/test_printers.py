"""Three ways of telling a life: what is said when, in which shape."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.simulator.life import Closed, Doing, Life, Snag, Stretch
from bridge.simulator.printers import Ledger, LogBook, Message, Pieces, Talker, patch_between

LIFE = Life(
    [
        Stretch(Doing.RESTING, 2000),
        Stretch(Doing.WARMING, 2000),
        Stretch(Doing.WORKING, 10_000, reaches=0.5),
        Stretch(Doing.SNAGGED, 2000, snag=Snag.LID),
        Stretch(Doing.HELD, 2000),
        Stretch(Doing.OFF, 2000),
        Stretch(Doing.RESTING, 2000),
        Stretch(Doing.RESTING, 2000, closed=Closed.CALLED_OFF),
    ],
    pieces=("keel",),
)
RESTING, WARMING, WORKING, SNAGGED, HELD, OFF, BACK, CLOSED = (
    500, 2500, 9000, 14_500, 16_500, 18_500, 20_500, 22_500,
)  # fmt: skip


def lived(printer: Talker, until_ms: int) -> dict[int, list[Message]]:
    """Everything said until then, by the instant at which it was said."""
    said: dict[int, list[Message]] = {}
    now_ms = 0
    while now_ms <= until_ms:
        if messages := printer.messages_at(now_ms):
            said[now_ms] = messages
        following = printer.next_at(now_ms)
        assert following > now_ms
        now_ms = following
    return said


def texts(messages: list[Message]) -> dict[str, str]:
    """The payloads by topic."""
    return {message.topic: message.payload.decode() for message in messages}


def pieces_at(now_ms: int) -> dict[str, str]:
    """Everything that a fresh ``Pieces`` says when it comes up at that instant."""
    return texts(Pieces("kestrel", LIFE, "alder/kestrel").messages_at(now_ms))


PIECES = [
    (RESTING, "ashore", "nothing", "0 of 120 courses"),
    (WARMING, "warming", "under way", "0 of 120 courses"),
    (WORKING, "laying", "under way", "30 of 120 courses"),
    (SNAGGED, "aground", "under way", "60 of 120 courses"),
    (HELD, "waiting", "under way", "60 of 120 courses"),
    (CLOSED, "ashore", "called off", "0 of 120 courses"),
]


@pytest.mark.parametrize(("now_ms", "doing", "outcome", "laid"), PIECES)
def test_pieces_tell_each_matter_apart(now_ms: int, doing: str, outcome: str, laid: str) -> None:
    """One short text a topic, three snags, and the link stored by the broker."""
    said = pieces_at(now_ms)
    assert said["alder/kestrel/doing"] == doing
    assert said["alder/kestrel/outcome"] == outcome
    assert said["alder/kestrel/laid"] == laid
    assert said["alder/kestrel/aboard"] == "aye"
    assert said["alder/kestrel/snag/lid"] == ("lifted" if now_ms == SNAGGED else "clear")
    assert said["alder/kestrel/snag/spool"] == said["alder/kestrel/snag/feed"] == "clear"
    assert said["alder/kestrel/warmth"].endswith(" °C")


def test_pieces_say_why_before_they_say_that() -> None:
    """Nobody sees the printer aground for a moment without its reason."""
    printer = Pieces("kestrel", LIFE, "alder/kestrel")
    said = lived(printer, 15_000)[14_000]
    topics = [message.topic.removeprefix("alder/kestrel/") for message in said]
    assert topics == ["snag/lid", "laid", "doing"]


def test_pieces_repeat_everything_in_rounds_and_else_what_changed() -> None:
    """A round every ``every_ms``; between rounds no text is said twice."""
    said = lived(Pieces("kestrel", LIFE, "alder/kestrel", every_ms=5000), 17_000)
    rounds = [now_ms for now_ms, messages in said.items() if len(messages) >= 7]
    assert rounds == [0, 5000, 10_000, 15_000]
    between = [m for now_ms, messages in said.items() if now_ms not in rounds for m in messages]
    assert between
    last: dict[str, bytes] = {}
    for message in between:
        assert last.get(message.topic) != message.payload
        last[message.topic] = message.payload


@pytest.mark.parametrize(
    ("printer", "will"),
    [
        (Pieces("kestrel", LIFE, "alder/kestrel"), ("alder/kestrel/aboard", b"gone", True)),
        (LogBook("heron", LIFE, "alder/heron"), ("alder/heron/tether", b"slipped", True)),
    ],
)
def test_nothing_is_said_without_power_and_everything_after(
    printer: Talker, will: tuple[str, bytes, bool]
) -> None:
    """The broker speaks in its place; with the power back it introduces itself anew."""
    said = lived(printer, 21_000)
    assert not [now_ms for now_ms in said if 18_000 <= now_ms < 20_000]
    assert printer.will == will
    assert said[20_000][0].topic == will[0]
    assert said[20_000][0].retained
    assert len(said[20_000]) == len(said[0])


def test_the_log_book_is_a_whole_page_and_its_patches() -> None:
    """Patches alone, joined as RFC 7396 says, give what a whole page would say."""
    printer = LogBook("heron", LIFE, "alder/heron")
    page: dict[str, Any] = {}
    wholes = 0
    for now_ms, messages in lived(printer, 17_500).items():
        for message in messages:
            if message.topic != "alder/heron/log":
                continue
            told = json.loads(message.payload)
            wholes += "entry" in told
            page = told if "entry" in told else joined(page, told)
        piece = page.get("piece")
        assert (piece is not None) == (now_ms >= 2000)
    assert wholes == 1
    assert page == {
        "entry": 1,
        "hand": "stuck",
        "piece": {"called": "keel", "done": 125, "all": 250},
    }


@pytest.mark.parametrize(
    ("now_ms", "hand", "closed"),
    [
        (RESTING, "aside", None),
        (WARMING, "at it", None),
        (WORKING, "at it", None),
        (SNAGGED, "stuck", None),
        (HELD, "stuck", None),
        (CLOSED, "aside", "dropped"),
    ],
)
def test_the_log_book_answers_who_asks(now_ms: int, hand: str, closed: str | None) -> None:
    """The whole page, once it has introduced itself; never why it is stuck."""
    printer = LogBook("heron", LIFE, "alder/heron")
    assert printer.asked(b'{"pages":"all"}', now_ms) == []
    printer.messages_at(now_ms)
    (message,) = printer.asked(b'{"pages":"all"}', now_ms)
    told = json.loads(message.payload)
    assert (message.topic, message.retained) == (printer.will.topic.replace("tether", "log"), False)
    assert (told["hand"], told.get("piece", {}).get("closed")) == (hand, closed)
    assert set(told) <= {"entry", "hand", "piece"}
    assert printer.messages_at(now_ms) == []


@pytest.mark.parametrize(
    ("payload", "now_ms"),
    [(b"", RESTING), (b"{", RESTING), (b"[]", RESTING), (b'{"pages":"all"}', OFF)],
)
def test_the_log_book_is_silent_otherwise(payload: bytes, now_ms: int) -> None:
    """To another question, and without power."""
    printer = LogBook("heron", LIFE, "alder/heron")
    printer.messages_at(now_ms)
    assert printer.asked(payload, now_ms) == []
    assert Pieces("kestrel", LIFE, "alder/kestrel").asked(payload, now_ms) == []


def page_at(now_ms: int) -> dict[str, Any]:
    """The page of a ``Ledger`` at that instant."""
    reply = Ledger("plover", LIFE).answer("POST", "/ledger", b'{"turn": "last"}', now_ms)
    assert reply is not None
    status, body = reply
    assert status == 200
    page: dict[str, Any] = json.loads(body)
    return page


@pytest.mark.parametrize(
    ("now_ms", "duty", "share", "trips"),
    [
        (RESTING, (7, False, None), -1, 0),
        (WARMING, (12, False, None), 0, 0),
        (WORKING, (21, False, None), 2500, 0),
        (SNAGGED, (21, True, None), 5000, 1),
        (HELD, (21, True, None), 5000, 0),
        (CLOSED, (7, False, "X"), -1, 0),
    ],
)
def test_the_ledger_answers_in_codes(
    now_ms: int, duty: tuple[int, bool, str | None], share: int, trips: int
) -> None:
    """It keeps the duty in which it halted, and counts in ten-thousandths and tenths."""
    page = page_at(now_ms)
    assert tuple(page["duty"].values()) == duty
    assert (page["work"]["share"], page["trips"]) == (share, trips)
    assert all(isinstance(heat, int) for heat in page["heat"])


def test_the_ledger_counts_down() -> None:
    """Hours, minutes and seconds while it is at work, else nothing."""
    assert page_at(WORKING)["work"]["left"] == "0:00:15"
    assert page_at(HELD)["work"]["left"] is None


@pytest.mark.parametrize(
    ("method", "path", "body", "status"),
    [
        ("GET", "/ledger", b"", 405),
        ("POST", "/", b"", 404),
        ("POST", "/ledger", b"", 400),
        ("POST", "/ledger", b'{"turn": "first"}', 400),
    ],
)
def test_the_ledger_refuses_other_questions(
    method: str, path: str, body: bytes, status: int
) -> None:
    """With the status that says why."""
    reply = Ledger("plover", LIFE).answer(method, path, body, RESTING)
    assert reply is not None
    assert reply[0] == status


def test_the_ledger_cannot_answer_without_power() -> None:
    """Not even with an error."""
    assert Ledger("plover", LIFE).answer("POST", "/ledger", b'{"turn": "last"}', OFF) is None


VALUES = st.recursive(
    st.integers() | st.text(max_size=3),
    lambda inner: st.dictionaries(st.text(max_size=2), inner, max_size=3),
    max_leaves=8,
)
PAGES = st.dictionaries(st.text(max_size=2), VALUES, max_size=4)


def joined(target: object, patch: object) -> Any:  # noqa: ANN401 - any JSON
    """RFC 7396 §2, as its pseudo-code says."""
    if not isinstance(patch, dict):
        return patch
    result = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            result.pop(name, None)
        else:
            result[name] = joined(result.get(name), value)
    return result


@given(PAGES, PAGES)
def test_a_patch_turns_one_page_into_the_other(
    old: dict[str, object], new: dict[str, object]
) -> None:
    """And is empty just where nothing changed."""
    patch = patch_between(old, new)
    assert joined(old, patch) == new
    assert (patch == {}) == (old == new)
