"""Polls, asks, and what could not be taken."""

from __future__ import annotations

from itertools import pairwise

import pytest

from bridge.engine.actions import Ask, Poll, Record
from bridge.engine.events import (
    HTTP_SOURCE,
    Heard,
    PollFailed,
    SourceLost,
    SourceUp,
    Stopping,
    TooLarge,
)
from bridge.engine.hearing import TROUBLES_KEPT
from bridge.facts.words import MOST_WORDS, WordsRecord
from tests.engine.evening import Evening
from tests.engine.workroom import FRESH_MS, PAGE, REPLY_MS, SHED, TOPIC, World, heard, kinds, said

WORKING_MS, RESTING_MS = 5000, 20_000


def gaps(instants: list[int]) -> list[int]:
    """How far apart instants are."""
    return [later - sooner for sooner, later in pairwise(instants)]


# Polls -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("doing", "interval_ms"),
    [
        ("at it", WORKING_MS),
        ("aside", RESTING_MS),
        ("stuck", RESTING_MS),
        # Not knowing counts as working.
        ("adrift", WORKING_MS),
    ],
)
def test_a_printer_is_asked_at_its_pace(doing: str, interval_ms: int) -> None:
    """At once, then by what it does."""
    world = World(page=said(doing=doing)).begin()
    world.run_for(60_000)
    polls = world.instants(Poll)
    assert polls[0] == 0
    assert set(gaps(polls)) == {interval_ms}


def test_a_printer_that_begins_to_work_is_asked_sooner() -> None:
    """From the last poll on, at the new pace."""
    world = World(page=said(doing="aside")).begin()
    world.run_for(1000)
    world.page = said(doing="at it")
    world.run_for(60_000)
    assert gaps(world.instants(Poll))[:3] == [RESTING_MS, WORKING_MS, WORKING_MS]


def test_one_poll_is_under_way_at_a_time() -> None:
    """A printer that does not answer is not asked again until that is reported."""
    world = World().begin()
    world.run_for(60_000)
    assert world.instants(Poll) == [0]
    world.feed(PollFailed(PAGE, "no answer within 5000 ms"))
    world.run_for(3000)
    assert len(world.instants(Poll)) == 2


def test_a_failed_poll_is_told_once_until_it_is_answered_again() -> None:
    """Each cause once, and the end of it."""
    world = World().begin()
    for why in ("connection refused", "connection refused", "status 500"):
        world.feed(PollFailed(PAGE, why))
        world.run_for(40_000)
    world.feed(Heard(HTTP_SOURCE, PAGE, said()))
    world.feed(PollFailed(PAGE, "status 500"))
    failed, again = "printer gives no usable answer", "printer answers again"
    assert [note["why"] for note in world.notes(failed)] == [
        "connection refused",
        "status 500",
        "status 500",
    ]
    assert world.notes(again) == [{"printer": "plover", "address": PAGE}]
    assert {note["printer"] for note in world.notes(failed)} == {"plover"}
    assert world.core.view().counts["polls failed"] == 4


def test_retry_after_is_kept() -> None:
    """The printer knows best when it can answer."""
    world = World().begin()
    world.feed(PollFailed(PAGE, "status 503", retry_after_ms=90_000))
    world.run_for(120_000)
    assert world.instants(Poll) == [0, 90_000]


def test_a_poll_that_nobody_made_changes_nothing() -> None:
    """An endpoint of other settings."""
    world = World().begin()
    assert world.feed(PollFailed("another", "status 500")) == []
    assert world.feed(Heard(HTTP_SOURCE, "another", b"{}")) == []
    assert world.core.view().counts["messages nobody asked for"] == 1


# Asks --------------------------------------------------------------------------------------------


def test_a_printer_is_asked_to_speak_when_its_source_is_up_and_every_so_often() -> None:
    """At once, then after its interval."""
    world = World().begin(up=False)
    world.run_for(40_000)
    assert world.instants(Ask) == []
    world.feed(SourceUp(SHED))
    world.run_for(70_000)
    assert world.instants(Ask) == [40_000, 70_000, 100_000]
    asks = [action for _, action in world.actions if isinstance(action, Ask)]
    assert asks[0] == Ask(SHED, "alder/kestrel/tell", b"all", "kestrel", "all")


def test_a_source_that_is_lost_carries_no_asks() -> None:
    """Not even one that is due at that very moment; coming back, it starts anew."""
    world = World().begin()
    world.now_ms = 30_000
    assert "Ask" not in kinds(world.feed(SourceLost(SHED, "connection closed")))
    world.run_for(60_000)
    assert world.instants(Ask) == [0]
    assert "Ask" in kinds(world.feed(SourceUp(SHED)))


# What could not be taken -------------------------------------------------------------------------

BAD = [b"{", b"\xff\xfe", b'{"share": NaN}', b"[" * 5000, b'"' + b"x" * 2_000_000 + b'"', b"1e999"]


@pytest.mark.parametrize("body", BAD, ids=["cut", "utf-8", "nan", "deep", "large", "infinite"])
def test_a_bad_message_is_told_once_and_counted(body: bytes) -> None:
    """One clear line, a counter, and what was known before goes on ageing."""
    world = World().begin()
    world.feed(heard(said(doing="aside")))
    for _ in range(3):
        world.feed(heard(body))
    (note,) = world.notes("message not taken")
    assert (note["printer"], note["message"], note["address"]) == ("kestrel", "page", TOPIC)
    counts = world.core.view().counts
    assert counts[f"refused: {note['why']}"] == 3
    assert world.rule() == "idle"
    (trouble,) = world.core.view().printers["kestrel"].troubles
    assert trouble.startswith(f"{TOPIC}: {note['why']}")


@pytest.mark.parametrize("body", [said(doing="aside"), said(doing="at it")], ids=["same", "other"])
def test_a_message_that_can_be_read_ends_the_trouble(body: bytes) -> None:
    """Even the same as before; the next bad one is told again."""
    world = World().begin()
    world.feed(heard(said(doing="aside")))
    for each in (b"{", body, b"{"):
        world.feed(heard(each))
    assert len(world.notes("message not taken")) == 2
    world.feed(heard(body))
    assert world.core.view().printers["kestrel"].troubles == ()


@pytest.mark.parametrize("known", [True, False], ids=["known before", "never heard"])
def test_an_empty_message_is_told_once_and_counted(known: bool) -> None:
    """It takes away what was known, on one address alone, until something is heard again."""
    world = World().begin()
    if known:
        world.feed(heard(said(doing="aside")))
    for _ in range(3):
        world.feed(heard(b""))
        world.feed(heard(b"", topic="alder/kestrel/snag/2"))
    told = world.notes("message not taken")
    assert [(note["printer"], note["address"], note["why"]) for note in told] == [
        ("kestrel", topic, "empty: what was held is gone")
        for topic in (TOPIC, "alder/kestrel/snag/2")
    ]
    assert world.core.view().counts["refused: empty: what was held is gone"] == 6
    assert world.rule() == "silent"
    world.feed(heard(said(doing="aside")))
    assert world.rule() == "idle"
    assert [text.partition(":")[0] for text in world.core.view().printers["kestrel"].troubles] == [
        "alder/kestrel/snag/2"
    ]


def test_a_message_that_was_too_large_to_keep_is_one_that_cannot_be_read() -> None:
    """Told once, counted, and what is held goes on ageing until it no longer counts."""
    world = World().begin()
    world.feed(heard(said(doing="aside")))
    for _ in range(3):
        world.feed(TooLarge(SHED, TOPIC, 10 << 20))
    (note,) = world.notes("message not taken")
    assert (note["printer"], note["address"]) == ("kestrel", TOPIC)
    assert (note["why"], note["detail"]) == ("larger than 1048576 bytes", "10485760 bytes")
    counts = world.core.view().counts
    assert counts["refused: larger than 1048576 bytes"] == 3
    assert counts["messages"] == 4
    assert world.rule() == "idle"
    world.run_for(FRESH_MS + 1)
    assert world.rule() == "silent"
    assert "could not be read" in str(world.core.view().printers["kestrel"].facts["state"])


def test_a_stored_message_that_was_too_large_is_not_what_is_held() -> None:
    """As any stored one that differs from what was heard: which is right cannot be told."""
    world = World().begin()
    world.feed(heard(said(doing="aside")))
    world.feed(TooLarge(SHED, TOPIC, 10 << 20, retained=True))
    (note,) = world.notes("message not taken")
    assert str(note["why"]).startswith("a stored message that differs")
    assert world.rule() == "silent"


@pytest.mark.parametrize(
    ("page", "fact", "why", "detail", "counted"),
    [
        (
            {"share": "much"},
            "progress",
            "not the kind of value expected",
            "'much' is no number",
            "values of another kind",
        ),
        (
            {"share": {"of": 7}},
            "progress",
            "not the kind of value expected",
            "an object is no number",
            "values of another kind",
        ),
        ({"share": 1.5}, "progress", "outside what it can be", "1.5", "values out of range"),
    ],
)
def test_a_value_that_a_fact_cannot_be_is_told_once_and_counted(
    page: dict[str, object], fact: str, why: str, detail: str, counted: str
) -> None:
    """With the printer, the fact and what it was; counted anew when something else was between."""
    world = World().begin()
    for share in (page["share"], page["share"], 0.5, page["share"]):
        world.feed(heard(said(share=share)))
    assert world.notes("value not taken, its fact is unknown") == [
        {"printer": "kestrel", "fact": fact, "why": why, "detail": detail}
    ]
    assert world.core.view().counts[counted] == 2


@pytest.mark.parametrize("body", [b"[1]", b"7", b"null", b'"aside"', b"{}"])
def test_a_message_without_a_state_is_told_once_and_counted(body: bytes) -> None:
    """A page of another kind can be read, and nothing that is looked for is in it."""
    world = World().begin()
    for each in (body, body, said(doing="aside"), body):
        world.feed(heard(each))
    told = world.notes("value not taken, its fact is unknown")
    (note,) = (note for note in told if note["fact"] == "state")
    assert note["printer"] == "kestrel"
    assert (note["why"], note["detail"]) == ("the place is not in the message", "page /doing")
    assert world.core.view().counts["messages without a state"] == 2


def test_a_number_that_drifts_out_of_its_range_does_not_fill_the_log() -> None:
    """One line for all of them; each is counted."""
    world = World().begin()
    for number in range(50):
        world.feed(heard(said(share=2.0 + number)))
    assert len(world.notes("value not taken, its fact is unknown")) == 1
    assert world.core.view().counts["values out of range"] == 50


def test_values_of_ever_new_kinds_do_not_fill_the_log() -> None:
    """After as many as of words, the printer has been told on often enough."""
    world = World().begin()
    for number in range(2 * MOST_WORDS):
        world.feed(heard(said(share=f"much {number}")))
    assert len(world.notes("value not taken, its fact is unknown")) == MOST_WORDS
    assert world.core.view().counts["values of another kind"] == 2 * MOST_WORDS


@pytest.mark.parametrize("snag", [7, "reel", ["spool", "reel"]])
def test_what_leaves_the_reasons_open_is_counted(snag: object) -> None:
    """A word among others too: there may be more than is known."""
    world = World().begin()
    world.feed(heard(said(snag=snag)))
    assert world.core.view().counts["words without a mapping"] == 1


def test_a_flood_of_bad_addresses_fills_neither_memory_nor_log() -> None:
    """Each is counted; past a bound none is remembered or told."""
    world = World().begin()
    for number in range(TROUBLES_KEPT + 50):
        world.feed(heard(b"\xff", topic=f"alder/kestrel/snag/{number}"))
    view = world.core.view()
    assert len(view.printers["kestrel"].troubles) <= TROUBLES_KEPT
    assert len(world.notes("message not taken")) <= TROUBLES_KEPT
    refused = sum(count for name, count in view.counts.items() if name.startswith("refused"))
    assert refused == TROUBLES_KEPT + 50


def test_a_word_without_a_mapping_is_told_once() -> None:
    """It is taken as unknown, and waits to be taught."""
    world = World().begin()
    for doing in ("adrift", "aside", "adrift", "aground", "adrift"):
        world.feed(heard(said(doing=doing)))
    told = world.notes("word without a mapping, taken as unknown")
    assert told == [
        {"printer": "kestrel", "fact": "state", "word": "adrift"},
        {"printer": "kestrel", "fact": "state", "word": "aground"},
    ]
    kept = world.core.view().printers["kestrel"].words
    assert [(each.fact, each.word, each.count) for each in kept] == [
        ("state", "aground", 1),
        ("state", "adrift", 3),
    ]
    assert world.core.view().counts["words without a mapping"] == 4


def test_a_printer_of_ever_new_words_does_not_fill_the_log() -> None:
    """After as many as are kept, it has been told on often enough."""
    world = World().begin()
    for number in range(2 * MOST_WORDS):
        world.feed(heard(said(doing=f"word {number}")))
    told = world.notes("word without a mapping, taken as unknown")
    assert len(told) == MOST_WORDS


def test_a_topic_that_nobody_asked_for_is_counted() -> None:
    """A broker may deliver what overlapping filters match."""
    world = World().begin()
    assert world.feed(heard(b"x", topic="alder/gull")) == []
    assert world.core.view().counts["messages nobody asked for"] == 1


def test_sources_are_told_of_when_they_come_and_go() -> None:
    """By name and cause."""
    world = World().begin()
    world.feed(SourceLost(SHED, "connection closed"))
    assert world.notes("source is up") == [{"source": SHED}]
    assert world.notes("source is lost") == [{"source": SHED, "why": "connection closed"}]


def test_a_reply_to_a_poll_is_heard_when_it_was_read() -> None:
    """The interval is counted from asking, not from answering."""
    world = World(page=said()).begin()
    world.run_for(REPLY_MS)
    assert world.core.view().printers["plover"].facts["state"] == "processing"


def test_the_whole_page_is_asked_for_unless_it_is_held() -> None:
    """Unchanged says nothing about a page that was dropped or never heard."""
    world = World(page=said()).begin()
    world.run_for(60_000)
    polls = [poll for _, poll in world.actions if isinstance(poll, Poll)]
    assert [poll.whole for poll in polls] == [True] + [False] * (len(polls) - 1)
    assert len(polls) > 1


def _words(evening: Evening) -> list[tuple[str, int]]:
    return [(word.word, word.count) for word in evening.core.view().printers["kestrel"].words]


def test_words_wait_across_starts() -> None:
    """Kept once a word is new, not with each message; told once, and counted on."""
    evening = Evening().begin()
    for doing in ("adrift", "aside", "adrift", "aground", "adrift"):
        evening.say(doing=doing)
    evening.run_for(5_000)
    records = [
        action.what
        for _, action in evening.actions
        if isinstance(action, Record) and isinstance(action.what, WordsRecord)
    ]
    assert len(records) == 1
    again = evening.again(after_ms=3_600_000)
    assert _words(again) == [("aground", 1), ("adrift", 3)]
    again.say(doing="adrift")
    assert _words(again) == [("aground", 1), ("adrift", 4)]
    assert again.notes("word without a mapping, taken as unknown") == []


def test_how_often_is_kept_at_the_end() -> None:
    """What was met since the last record is in the one of the stop."""
    evening = Evening().begin()
    evening.say(doing="adrift").run_for(5_000)
    evening.say(doing="aside").say(doing="adrift")
    evening.feed(Stopping())
    evening.run_for(5_000)
    assert _words(evening.again()) == [("adrift", 2)]
