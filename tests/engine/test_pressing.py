"""Push-buttons: what is a press, and all that is none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from bridge.engine.actions import Action, Note
from bridge.engine.events import HTTP_SOURCE, Heard, PollFailed, SourceLost, Wished
from bridge.engine.pressing import BOUNCES_MS, Pressing
from bridge.engine.site import Button
from bridge.engine.wishes import Press
from bridge.facts.moment import Moment
from bridge.facts.places import compile_place

TOPIC = "alder/lathe/button"
LATHE = Button("lathe", "shed", TOPIC, "acknowledge", "the button at the lathe", values=("down",))
COUNTER = Button(
    "bench", HTTP_SOURCE, "http://bench.club.example/plate", "collected", "bench", on_change=True
)
ACT = compile_place("/act")


def presses(button: Button, said: Sequence[bytes | None], apart_ms: int = 1000) -> list[int]:
    """Which of these messages press the button, by their number."""
    pressing = Pressing([button], lambda _: None)
    return [
        number
        for number, body in enumerate(said)
        if pressing.heard(Heard(button.source, button.address, body), Moment(number * apart_ms))
    ]


def test_a_press_says_who_and_what_for() -> None:
    """Nobody waits for an answer, so there is no token."""
    button = replace(LATHE, printers=("kestrel",), names=("material-out",))
    pressing = Pressing([button, COUNTER], lambda _: None)
    assert pressing.heard(Heard("shed", TOPIC, b"down"), Moment(0)) == (
        Wished(
            "", "the button at the lathe", Press("acknowledge", ("kestrel",), ("material-out",))
        ),
    )
    assert pressing.counts["buttons pressed"] == 1


def test_it_says_where_a_button_is_heard() -> None:
    """By its topic, its filter or its page; elsewhere nobody of its own is."""
    wide = replace(LATHE, address="alder/+/button")
    pressing = Pressing([wide, COUNTER], lambda _: None)
    assert pressing.hears(Heard("shed", "alder/lathe/button", b""))
    assert pressing.hears(Heard(HTTP_SOURCE, COUNTER.address, b""))
    assert not pressing.hears(Heard("attic", "alder/lathe/button", b""))
    assert not pressing.hears(Heard("shed", "alder/lathe/lamp", b""))


TEXTS = [
    ("the word", LATHE, [b"down"], [0]),
    ("a line's end after it", LATHE, [b"down\n"], [0]),
    ("each time anew", LATHE, [b"down", b"down"], [0, 1]),
    ("another word", LATHE, [b"up", b"", b"Down", b"downs"], []),
    ("one of several", replace(LATHE, values=("down", 1, True)), [b"1", b"true", b"2"], [0, 1]),
    ("whatever it says", replace(LATHE, values=()), [b"x", b"0", b"", b" "], [0, 1]),
    ("not UTF-8", LATHE, [b"\xff", b"down"], [1]),
]
PLACES = [
    ("the value there", ("down",), [b'{"act":"down"}'], [0]),
    ("another value or place", ("down",), [b'{"act":"up"}', b'{"ac":"down"}', b'"down"'], []),
    ("a number is no text", (1,), [b'{"act":"1"}', b'{"act":true}', b'{"act":1}'], [2]),
    ("true is no number", (True,), [b'{"act":1}', b'{"act":true}'], [1]),
    ("null", (None,), [b"{}", b'{"act":null}'], [1]),
    ("whatever is there", (), [b"{}", b'{"act":0}', b'{"act":""}'], [1]),
    ("no JSON", (), [b"down", b"{", b'{"act":1}'], [2]),
]


@pytest.mark.parametrize(("button", "said", "pressed"), [case[1:] for case in TEXTS])
def test_a_text_presses_by_being_the_wanted_one(
    button: Button, said: list[bytes], pressed: list[int]
) -> None:
    """As readers compare words: exactly."""
    assert presses(button, said) == pressed


@pytest.mark.parametrize(("values", "said", "pressed"), [case[1:] for case in PLACES])
def test_a_place_presses_by_its_value(
    values: tuple[str | int | None, ...], said: list[bytes], pressed: list[int]
) -> None:
    """What is not there, or is of another kind, is not it."""
    assert presses(replace(LATHE, at=ACT, values=values), said) == pressed


CHANGES = [
    ("the first heard is none", (), [b"7"], []),
    ("a counter that grows", (), [b"7", b"7", b"8", b"8", b"11"], [2, 4]),
    ("a counter that began anew", (), [b"7", b"0", b"1"], [2]),
    ("as a number it grows from 9 to 10", (), [b"9", b"10"], [1]),
    ("a text that changes", (), [b"oak", b"oak", b"elm", b"oak"], [2, 3]),
    ("unchanged, as HTTP says it", (), [b"7", None, b"8"], [2]),
    ("to the wanted word", ("down",), [b"down", b"down", b"up", b"down", b"down"], [3]),
    ("to the wanted number, though smaller", (0,), [b"1", b"0", b"1"], [1]),
    ("what cannot be read is forgotten with what came before", (), [b"7", b"\xff", b"8"], []),
    ("too many digits are a text", (), [b"9" * 40, b"8" * 40], [1]),
]


@pytest.mark.parametrize(("values", "said", "pressed"), [case[1:] for case in CHANGES])
def test_what_is_polled_presses_by_changing(
    values: tuple[str, ...], said: list[bytes | None], pressed: list[int]
) -> None:
    """Whoever is asked every second says the same until somebody presses."""
    assert presses(replace(COUNTER, values=values), said) == pressed


def test_true_is_no_change_from_one_nor_the_same() -> None:
    """Python takes them for equal; a device does not."""
    button = replace(COUNTER, at=ACT)
    assert presses(button, [b'{"act":1}', b'{"act":true}', b'{"act":true}']) == [1]


def test_a_place_that_is_gone_for_a_while_is_heard_for_the_first_time() -> None:
    """What it would have said in between is not known."""
    assert presses(replace(COUNTER, at=ACT), [b'{"act":1}', b"{}", b'{"act":2}']) == []


def test_a_stored_message_presses_nothing() -> None:
    """Neither by itself nor as what a later one is compared with."""
    pressing = Pressing([LATHE, replace(LATHE, on_change=True, values=())], lambda _: None)
    assert pressing.heard(Heard("shed", TOPIC, b"down", retained=True), Moment(0)) == ()
    (pressed,) = pressing.heard(Heard("shed", TOPIC, b"down"), Moment(1000))
    assert pressed.who == LATHE.who


@pytest.mark.parametrize(
    ("button", "event", "forgotten"),
    [
        (COUNTER, PollFailed(COUNTER.address, "no answer"), True),
        (COUNTER, PollFailed("http://other.club.example/", "no answer"), False),
        (COUNTER, SourceLost("shed", "closed"), False),
        (replace(LATHE, values=(), on_change=True), SourceLost("shed", "closed"), True),
        (replace(LATHE, values=(), on_change=True), SourceLost("loft", "closed"), False),
        (replace(LATHE, values=(), on_change=True), PollFailed(TOPIC, "no answer"), False),
    ],
)
def test_after_silence_the_first_is_the_first_again(
    button: Button, event: SourceLost | PollFailed, forgotten: bool
) -> None:
    """A device that was without power counts from elsewhere, and nobody pressed it."""
    pressing = Pressing([button], lambda _: None)
    pressing.heard(Heard(button.source, button.address, b"7"), Moment(0))
    pressing.lost(event)
    pressed = pressing.heard(Heard(button.source, button.address, b"9"), Moment(5000))
    assert bool(pressed) is not forgotten


@pytest.mark.parametrize(
    ("instants", "pressed"),
    [
        ([0, BOUNCES_MS - 1], [0]),
        ([0, BOUNCES_MS], [0, BOUNCES_MS]),
        ([0, 200, 400], [0, 400]),
        ([0, 100, 200, 299, 300, 599, 600], [0, 300, 600]),
    ],
)
def test_a_contact_that_bounces_presses_once(instants: list[int], pressed: list[int]) -> None:
    """Counted from the press that counted, so that a leaning hand does not hold it up for ever."""
    pressing = Pressing([LATHE], lambda _: None)
    heard = Heard("shed", TOPIC, b"down")
    assert [ms for ms in instants if pressing.heard(heard, Moment(ms))] == pressed


def test_each_button_bounces_for_itself() -> None:
    """Two on one topic are two."""
    other = replace(LATHE, name="door", who="door", values=("up", "down"))
    pressing = Pressing([LATHE, other], lambda _: None)
    said = [b"up", b"down"]
    pressed = [
        [each.who for each in pressing.heard(Heard("shed", TOPIC, body), Moment(number * 200))]
        for number, body in enumerate(said)
    ]
    assert pressed == [["door"], [LATHE.who]]


@pytest.mark.parametrize(
    ("address", "source", "topic", "pressed"),
    [
        ("alder/+/button", "shed", "alder/vice/button", True),
        ("alder/+/button", "shed", "alder/vice/lamp", False),
        ("alder/+/button", "loft", "alder/vice/button", False),
        ("alder/#", HTTP_SOURCE, "alder/vice/button", False),
    ],
)
def test_a_topic_may_have_wildcards(address: str, source: str, topic: str, pressed: bool) -> None:
    """At its own broker alone."""
    pressing = Pressing([replace(LATHE, address=address)], lambda _: None)
    assert bool(pressing.heard(Heard(source, topic, b"down"), Moment(0))) is pressed


def test_one_message_may_press_several() -> None:
    """A button of its own, and one that stands for every bench."""
    every = replace(LATHE, name="every", who="anybody", address="alder/+/button")
    pressing = Pressing([every, LATHE], lambda _: None)
    pressed = pressing.heard(Heard("shed", TOPIC, b"down"), Moment(0))
    assert {each.who for each in pressed} == {"anybody", LATHE.who}


def test_what_cannot_be_read_is_told_once_and_counted() -> None:
    """Until it is understood again."""
    emitted: list[Action] = []
    pressing = Pressing([replace(LATHE, at=ACT)], emitted.append)
    for number, body in enumerate([b"{", b"{", b'{"act":"up"}', b"{"]):
        assert pressing.heard(Heard("shed", TOPIC, body), Moment(number * 1000)) == ()
    notes = [each for each in emitted if isinstance(each, Note)]
    assert [(each.level, each.event, each.fields["button"]) for each in notes] == [
        ("warning", "button not understood", "lathe")
    ] * 2
    assert notes[0].fields["why"] == "not JSON"
    assert pressing.counts == {"button messages not understood": 3, "buttons pressed": 0}
