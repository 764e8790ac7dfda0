"""All that is known of a printer: what changes a fact, and what makes it unknown again."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.decoding import Refusal, read_json
from bridge.facts.held import Taken
from bridge.facts.moment import Moment
from bridge.facts.places import compile_place
from bridge.facts.printer import PrinterFacts
from bridge.facts.reader import Alternative, EndsAt, Input, Is, Message, Reader, SentAt
from bridge.facts.values import Reasons, Unknown, Why
from tests.facts.building import BENCH, UTC, Bench, at, of, rule, status, text

STATE = rule("state", at("status", "/m", values={20: "idle", 41: "processing"}))
JOB = rule("job", at("status", "/j", values={"F": "completed"}, no_value=("-",)))
LINK = rule("link", of("aboard", values={"aye": "up", "gone": "down"}))
ABOARD = text("aboard", None, retained="trust")
SONG = Message("song", "json", None)
TUNE = rule("progress", at("song", "/p"))


def _why(value: object) -> object:
    return value.why if isinstance(value, Unknown) else value


def _plain(**rest: object) -> Bench:
    return Bench((status(**rest),), (STATE, JOB))


def _linked() -> Bench:
    return Bench((status(), ABOARD, SONG), (STATE, LINK, TUNE))


def test_facts_are_complete_from_the_start() -> None:
    """Every offered fact, the link and whether something required is missing."""
    reader = Reader("r", {"status": status()}, {"state": STATE}, (), frozenset({"state", "layer"}))
    facts = PrinterFacts("kestrel", reader, (), UTC).facts
    assert {fact: _why(value) for fact, value in facts.items()} == {
        "state": Why.NOT_HEARD,
        "layer": Why.NOT_OFFERED,
        "link": Why.SOURCE_LOST,
        "stale": True,
    }


def test_a_message_changes_facts() -> None:
    """The result names those that changed, and only those."""
    bench = _plain()
    result = bench.hear("status", {"m": 41, "j": "-"})
    assert result.taken is Taken.TAKEN
    assert result.changed == {"state", "job", "link", "stale"}
    assert (bench["state"], bench["job"], bench["link"]) == ("processing", "no-value", "up")
    assert bench["stale"] is False
    assert bench.hear("status", {"m": 41, "j": "F"}).changed == {"job"}
    assert bench.hear("status", {"m": 41, "j": "F", "x": 1}).changed == frozenset()


@pytest.mark.parametrize(
    ("waited", "state", "stale"), [(30_000, "processing", False), (30_001, Why.NOT_FRESH, True)]
)
def test_fresh_for_is_inclusive(waited: int, state: object, stale: bool) -> None:
    """On the last millisecond it still counts, on the next it does not."""
    bench = _plain()
    bench.hear("status", {"m": 41})
    assert bench.printer.deadline() == bench.now.ms + 30_001
    bench.wait(waited)
    assert (_why(bench["state"]), bench["stale"]) == (state, stale)


def test_a_late_message_settles_what_was_due() -> None:
    """Facts do not depend on how late a timer fired."""
    bench = _plain()
    bench.hear("status", {"m": 41})
    bench.now = bench.now.at(bench.now.ms + 40_000)
    result = bench.hear("status", b"{")
    assert result.taken is Taken.UNREADABLE_JSON
    assert result.changed == {"state", "job", "link", "stale"}
    assert bench["state"] == Unknown(Why.NOT_FRESH, "status")


def test_a_renewed_deadline_may_come_too_early_and_then_changes_nothing() -> None:
    """It is never too late."""
    bench = _plain()
    bench.hear("status", {"m": 41})
    first = bench.printer.deadline()
    bench.wait(20_000)
    assert bench.hear("status", {"m": 41}).taken is Taken.RENEWED
    assert bench.printer.deadline() == first
    assert first is not None
    assert bench.printer.settle(bench.now.at(first)) == frozenset()
    assert bench.printer.deadline() == bench.now.ms + 30_001


def test_what_expired_comes_back_with_an_equal_message() -> None:
    """The bytes need not differ."""
    bench = _plain()
    bench.hear("status", {"m": 41})
    bench.wait(30_001)
    assert bench.hear("status", {"m": 41}).changed >= {"state", "stale"}
    assert bench["state"] == "processing"
    assert bench.printer.deadline() == bench.now.ms + 30_001


@pytest.mark.parametrize(
    ("body", "taken"),
    [
        (b"LAYING", Taken.UNREADABLE_JSON),
        (b" " * (10 << 20), Taken.TOO_LARGE),
        (b'{"m":' * 10_000, Taken.TOO_DEEP),
        (b'{"m": NaN}', Taken.NOT_A_NUMBER),
        (b'{"m": 1e999}', Taken.NOT_A_NUMBER),
        (b'{"m": "\xe9"}', Taken.NOT_UTF8),
    ],
)
def test_a_bad_message_changes_no_fact(body: bytes, taken: Taken) -> None:
    """One reason, and the last good message goes on ageing."""
    bench = _plain()
    bench.hear("status", {"m": 41})
    result = bench.hear("status", body)
    assert (result.taken, result.changed) == (taken, frozenset())
    bench.wait(30_001)
    assert bench["state"] == Unknown(Why.UNREADABLE, "status")


@pytest.mark.parametrize(
    ("document", "state"),
    [
        ({"m": "41"}, Why.UNMAPPED),
        ({"m": {"m": 41}}, Why.UNMAPPED),
        ({"m": True}, Why.UNMAPPED),
        ([41], Why.ABSENT),
        (41, Why.ABSENT),
        ({}, Why.ABSENT),
        (b"", Why.CLEARED),
    ],
)
def test_a_message_of_the_wrong_shape(document: object, state: Why) -> None:
    """Unknown, with the reason; never what it was before."""
    bench = _plain()
    bench.hear("status", {"m": 41})
    bench.hear("status", document)
    assert _why(bench["state"]) is state


def test_a_first_message_that_cannot_be_read() -> None:
    """A person is told that something is heard."""
    bench = _plain()
    assert bench.hear("status", b"{").changed >= {"state"}
    assert bench["state"] == Unknown(Why.UNREADABLE, "status")


def test_a_message_that_the_reader_does_not_have() -> None:
    """It is told as such."""
    bench = _plain()
    assert bench.hear("weather", {"m": 41}).taken is Taken.UNSOLICITED


def test_a_lost_source_takes_what_it_said_with_it() -> None:
    """And what was retained meanwhile proves nothing."""
    bench = _plain()
    bench.hear("status", {"m": 41})
    assert bench.printer.source_lost(BENCH, bench.now) == {"state", "job", "link", "stale"}
    assert [_why(bench[fact]) for fact in ("state", "link")] == [Why.SOURCE_LOST] * 2
    assert bench["stale"] is True
    bench.printer.source_up(BENCH, bench.now)
    assert _why(bench["state"]) is Why.NOT_HEARD
    bench.hear("status", {"m": 41}, retained=True)
    assert _why(bench["state"]) is Why.NOT_HEARD
    bench.hear("status", {"m": 41})
    assert (bench["state"], bench["link"]) == ("processing", "up")


def test_each_source_by_itself() -> None:
    """A printer over two brokers keeps what the other one says."""
    reader = Reader(
        "r",
        {"status": status(), "song": Message("song", "json", 30_000)},
        {"state": STATE, "progress": TUNE},
    )
    inputs = (Input("status", "bench", "a"), Input("song", "shed", "b"))
    printer = PrinterFacts("kestrel", reader, inputs, UTC)
    now = Moment(0, 0)
    for source in ("bench", "shed"):
        printer.source_up(source, now)
    printer.heard("status", "a", (), b'{"m": 41}', retained=False, now=now)
    printer.heard("song", "b", (), b'{"p": 0.5}', retained=False, now=now)
    printer.source_lost("shed", now)
    assert (printer.facts["state"], printer.facts["link"]) == ("processing", "up")
    assert _why(printer.facts["progress"]) is Why.SOURCE_LOST


def test_a_polled_printer_has_no_source_to_wait_for() -> None:
    """Its link is up while its answers are fresh; an unchanged answer renews."""
    reader = Reader("r", {"status": status()}, {"state": STATE})
    printer = PrinterFacts("plover", reader, (Input("status", "http", "plover+status"),), UTC)
    printer.heard("status", "plover+status", (), b'{"m": 20}', retained=False, now=Moment(0))
    assert (printer.facts["state"], printer.facts["link"]) == ("idle", "up")
    result = printer.heard("status", "plover+status", (), None, retained=False, now=Moment(20_000))
    assert result.taken is Taken.RENEWED
    printer.settle(Moment(30_001))
    assert printer.facts["state"] == "idle"
    printer.settle(Moment(50_001))
    assert _why(printer.facts["state"]) is Why.NOT_FRESH


def test_before_the_link_was_heard_facts_stand_by_themselves() -> None:
    """Save for those that are fresh only while the link is up."""
    bench = _linked()
    bench.hear("status", {"m": 41})
    bench.hear("song", {"p": 0.5})
    assert (_why(bench["link"]), bench["state"]) == (Why.NOT_HEARD, "processing")
    assert _why(bench["progress"]) is Why.LINK_NOT_UP
    bench.hear("aboard", "aye", retained=True)
    facts = {"link": "up", "state": "processing", "progress": 0.5, "stale": False}
    assert bench.printer.facts == facts


def test_a_link_that_goes_down_takes_everything_with_it() -> None:
    """Each fact is unknown at once, and after it is up again what was said before is gone."""
    bench = _linked()
    bench.hear("aboard", "aye")
    bench.hear("status", {"m": 41})
    bench.hear("song", {"p": 0.5})
    assert bench.hear("aboard", "gone").changed == {"link", "state", "progress", "stale"}
    assert [_why(bench[fact]) for fact in ("state", "progress")] == [Why.LINK_NOT_UP] * 2
    assert (bench["link"], bench["stale"]) == ("down", True)
    bench.hear("aboard", "aye")
    assert [_why(bench[fact]) for fact in ("state", "progress")] == [Why.NOT_HEARD] * 2
    bench.hear("song", {"p": 0.5})
    bench.wait(10 * 86_400_000)
    assert bench["progress"] == 0.5


def test_what_is_heard_while_the_link_is_down_waits_for_it() -> None:
    """It may arrive before the word that the printer is back."""
    bench = _linked()
    bench.hear("aboard", "gone")
    bench.hear("status", {"m": 41})
    assert _why(bench["state"]) is Why.LINK_NOT_UP
    bench.hear("aboard", "aye")
    assert bench["state"] == "processing"


@pytest.mark.parametrize(
    "lose",
    [
        lambda bench: bench.hear("aboard", "perhaps"),
        lambda bench: bench.hear("aboard", b""),
        lambda bench: bench.hear("aboard", "gone", retained=True),
        lambda bench: bench.printer.source_lost(BENCH, bench.now),
    ],
    ids=["an unmapped word", "cleared", "a stored word that differs", "the source"],
)
def test_a_link_that_becomes_unknown_drops_what_was_said(lose: object) -> None:
    """Unknown is not down, and not up either."""
    bench = _linked()
    bench.hear("aboard", "aye")
    bench.hear("song", {"p": 0.5})
    assert callable(lose)
    lose(bench)
    assert isinstance(bench["link"], Unknown)
    assert isinstance(bench["progress"], Unknown)
    bench.printer.source_up(BENCH, bench.now)
    bench.hear("aboard", "aye")
    assert _why(bench["progress"]) is Why.NOT_HEARD


def test_a_link_message_of_its_own_freshness() -> None:
    """A link that is not repeated in time is unknown."""
    bench = Bench((text("aboard", 10_000), status()), (LINK, STATE))
    bench.hear("status", {"m": 41})
    bench.hear("aboard", "aye")
    bench.wait(10_001)
    assert bench["link"] == Unknown(Why.NOT_FRESH, "aboard")
    assert _why(bench["state"]) is Why.LINK_NOT_UP


def test_stale_is_about_what_is_required() -> None:
    """One required message that is not fresh makes it true; others do not."""
    bench = Bench((status(), text("phase"), text("laid", required=True)), (STATE,))
    bench.hear("status", {"m": 41})
    assert bench["stale"] is True
    bench.hear("laid", "x")
    assert bench["stale"] is False


ENDS = rule("time-to-completion", at("status", "/ends", ends_at=EndsAt.EPOCH_S))


def test_an_instant_is_counted_from_each_hearing() -> None:
    """The same bytes, ten seconds later, are ten seconds nearer to the end."""
    bench = Bench((status(),), (ENDS,))
    bench.hear("status", {"ends": 1_700_000_090})
    assert bench["time-to-completion"] == 90.0
    bench.wait(10_000)
    assert bench.hear("status", {"ends": 1_700_000_090}).changed == {"time-to-completion"}
    assert bench["time-to-completion"] == 80.0


def test_a_clock_that_becomes_known() -> None:
    """Instants and stamps are judged again with it, and with every step of it."""
    bench = Bench((status(sent_at=SentAt(compile_place("/sent"), EndsAt.EPOCH_S)),), (ENDS, STATE))
    known = bench.now
    bench.now = Moment(known.ms)
    bench.hear("status", {"sent": 1_700_000_000, "m": 41, "ends": 1_700_000_090})
    assert _why(bench["state"]) is Why.NO_CLOCK
    changed = bench.printer.clock(known)
    assert changed == {"state", "time-to-completion", "stale", "link"}
    assert (bench["state"], bench["time-to-completion"]) == ("processing", 90.0)
    assert bench.printer.deadline() == known.ms + 30_001
    bench.printer.clock(Moment(known.ms, 1_700_000_031_000))
    assert _why(bench["state"]) is Why.NOT_FRESH


def test_unknown_words_are_kept_with_their_circumstances() -> None:
    """Counted as they are met; equal messages in a row are one."""
    bench = _plain()
    bench.hear("status", {"m": 41, "j": "Q"})
    bench.hear("status", {"m": 41, "j": "Q"})
    bench.wait(5_000)
    bench.hear("status", {"m": 99, "j": "Q"})
    words = bench.printer.words
    assert set(words) == {("job", "Q"), ("state", "99")}
    word = words["job", "Q"]
    assert (word.first.ms, word.last.ms, word.count) == (1_000, 6_000, 2)
    assert (word.message, word.address, word.alternative) == ("status", "status", 0)
    assert word.beside == {"link": "up"}


def test_words_of_other_messages_are_not_counted_again() -> None:
    """A union is looked at again for every message of it, but each word was met once."""
    snag = of("snag", values={"lid": "cover-open"})
    lamp = of("lamp", values={"out": "lamp-failure"})
    bench = Bench((text("snag"), text("lamp")), (rule("reasons", snag, lamp, union=True),))
    bench.hear("snag", "cat")
    for word in ("out", "dim", "out"):
        bench.hear("lamp", word)
    assert bench.printer.words["reasons", "cat"].count == 1
    dim = bench.printer.words["reasons", "dim"]
    assert (dim.message, dim.alternative) == ("lamp", 1)
    # Of the reasons it is itself a part.
    assert "reasons" not in dim.beside


def test_a_warning_that_turns_into_an_error_is_a_change() -> None:
    """The keyword is the same, the reason is not."""
    bench = Bench((status(),), (rule("reasons", at("status", "/e"), union=True),))
    bench.hear("status", {"e": "material-empty-warning"})
    assert bench.hear("status", {"e": "material-empty-error"}).changed == {"reasons"}


def test_true_is_not_one() -> None:
    """A fact that turns from a truth into the number that equals it has changed."""
    bench = Bench((status(),), (rule("site-lid", at("status", "/l")),))
    bench.hear("status", {"l": 1})
    assert bench.hear("status", {"l": True}).changed == {"site-lid"}
    assert bench["site-lid"] is True


def test_documents() -> None:
    """What is held, for people: since when, until when, how large, and why it does not count."""
    bench = Bench((status(), ABOARD), (STATE, LINK))
    assert bench.printer.documents() == ()
    bench.hear("aboard", "aye")
    bench.wait(5_000)
    bench.hear("status", {"m": 41})
    first, second = bench.printer.documents()
    assert (first.message, first.heard_ms, first.fresh_until_ms) == ("status", 6_000, 36_000)
    assert (first.size, first.why) == (9, None)
    assert (second.message, second.fresh_until_ms) == ("aboard", None)
    bench.wait(30_001)
    assert [view.why for view in bench.printer.documents()] == [Why.NOT_FRESH, None]


DOCUMENTS = st.fixed_dictionaries(
    {},
    optional={
        "m": st.sampled_from([20, 41, 99, "20", None, True]),
        "j": st.sampled_from(["F", "-", 1]),
    },
)


def _is_unreadable(body: bytes) -> bool:
    return isinstance(read_json(body), Refusal)


STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("hear"), DOCUMENTS),
        st.tuples(st.just("raw"), st.binary(max_size=20).filter(_is_unreadable)),
        st.tuples(st.just("kept"), DOCUMENTS),
        st.tuples(st.just("wait"), st.integers(0, 40_000)),
        st.tuples(st.just("lose"), st.none()),
        st.tuples(st.just("gain"), st.none()),
        st.tuples(st.just("link"), st.sampled_from(["aye", "gone", "what", ""])),
    ),
    max_size=25,
)


def _do(bench: Bench, kind: str, what: object) -> frozenset[str]:
    if kind == "hear":
        return bench.hear("status", what).changed
    if kind == "raw":
        return bench.hear("status", what).changed
    if kind == "kept":
        return bench.hear("status", what, retained=True).changed
    if kind == "link":
        return bench.hear("aboard", what).changed
    if kind == "lose":
        return bench.printer.source_lost(BENCH, bench.now)
    if kind == "gain":
        return bench.printer.source_up(BENCH, bench.now)
    return frozenset()


def _is_json(what: object) -> bool:
    assert isinstance(what, bytes)
    try:
        json.loads(what)
    except ValueError:
        return False
    return True


@given(STEPS)
def test_whatever_happens(steps: list[tuple[str, object]]) -> None:
    """Changes are told, no known state outlives its freshness, its source or its link."""
    bench = Bench((status(), ABOARD), (STATE, JOB, LINK))
    good_ms: int | None = None
    for kind, what in steps:
        before = dict(bench.printer.facts)
        if kind == "wait":
            assert isinstance(what, int)
            bench.wait(what)
        else:
            changed = _do(bench, kind, what)
            after = bench.printer.facts
            assert {fact for fact in after if after[fact] != before[fact]} == set(changed)
        if kind == "hear" or (kind == "raw" and _is_json(what)):
            good_ms = bench.now.ms
        if kind == "lose":
            assert all(isinstance(bench[fact], Unknown) for fact in ("state", "job", "link"))
        if not isinstance(bench["state"], Unknown):
            assert good_ms is not None
            assert bench.now.ms <= good_ms + 30_000
            assert bench["link"] != "down"
        if bench["stale"] is False:
            assert good_ms is not None


@given(STEPS)
def test_settling_late_or_on_time_is_the_same(steps: list[tuple[str, object]]) -> None:
    """Facts never depend on how late a timer fired."""
    messages = (status(), text("aboard", 20_000, retained="trust"))
    on_time = Bench(messages, (STATE, JOB, LINK))
    late = Bench(messages, (STATE, JOB, LINK))
    for kind, what in steps:
        if kind == "wait":
            assert isinstance(what, int)
            on_time.wait(what)
            late.now = late.now.at(late.now.ms + what)
        else:
            _do(on_time, kind, what)
            _do(late, kind, what)
    late.printer.settle(late.now)
    assert on_time.printer.facts == late.printer.facts


def test_reasons_when_the_link_is_down() -> None:
    """Not complete and empty, but unknown."""
    heat = at("status", "/h", is_=Is((True,)), gives="extruder-heating")
    bench = Bench((status(), ABOARD), (LINK, rule("reasons", heat, union=True)))
    bench.hear("status", {"h": True})
    assert str(bench["reasons"]) == "extruder-heating"
    bench.hear("aboard", "gone")
    assert bench["reasons"] == Unknown(Why.LINK_NOT_UP)


def test_a_topic_that_the_broker_refuses_is_no_absence_of_faults() -> None:
    """Silence on a topic that cannot be heard says nothing, whatever ``absent`` says."""
    faults = rule("reasons", of("snag", wildcard=1, values={"spool": "material-empty"}), union=True)
    bench = Bench(
        (status(), text("snag")),
        (STATE, replace(faults, absent_none=True)),
        wildcards=frozenset({"snag"}),
        up=False,
    )
    bench.printer.source_up(BENCH, bench.now, frozenset({"snag/+"}))
    bench.hear("status", {"m": 20})
    assert bench["state"] == "idle"
    reasons = bench["reasons"]
    assert isinstance(reasons, Reasons)
    assert _why(reasons.open_because) is Why.SOURCE_LOST
    bench.printer.source_up(BENCH, bench.now)
    assert bench["reasons"] == Reasons(())


def test_a_reconnect_leaves_no_more_open_than_a_start() -> None:
    """The link that went with its source does not keep a wildcard open until it is heard again."""
    snag = of("snag", wildcard=1, unless=("clear",), values={"lid": "cover-open"})
    bench = Bench(
        (text("snag"), ABOARD),
        (LINK, rule("reasons", snag, union=True, absent_none=True)),
        wildcards=frozenset({"snag"}),
    )
    at_start = bench["reasons"]
    bench.hear("aboard", "aye")
    bench.hear("snag", "open", part="lid")
    bench.printer.source_lost(BENCH, bench.now)
    assert isinstance(bench["reasons"], Reasons)
    assert not bench["reasons"].complete
    bench.printer.source_up(BENCH, bench.now)
    assert bench["reasons"] == at_start == Reasons(())


def test_what_nobody_watches_is_found_when_it_is_looked_at() -> None:
    """And what is said in words is found at once, so that no word is missed."""
    reader = Reader(
        "made up",
        {"status": status()},
        {
            "state": STATE,
            "job": JOB,
            "progress": rule("progress", Alternative(ratio=("layer", "layers"))),
            "layer": rule("layer", at("status", "/layer")),
            "layers": rule("layers", at("status", "/layers")),
            "extruder-temperature": rule("extruder-temperature", at("status", "/heat")),
        },
    )
    now = Moment(1_000)
    printer = PrinterFacts(
        "kestrel", reader, (Input("status", BENCH, "status"),), UTC, frozenset({"progress"})
    )
    printer.source_up(BENCH, now)
    body = b'{"m": 41, "j": "?", "layer": 3, "layers": 6, "heat": 210}'
    result = printer.heard("status", "status", (), body, retained=False, now=now)
    assert "extruder-temperature" not in result.changed
    assert printer.facts["progress"] == 0.5
    assert ("job", "?") in printer.words
    whole = printer.whole(now)
    assert whole["extruder-temperature"] == 210
    assert whole["progress"] == 0.5
    later = now.at(now.ms + 30_001)
    printer.settle(later)
    assert _why(printer.whole(later)["extruder-temperature"]) is Why.NOT_FRESH
