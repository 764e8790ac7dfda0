"""The budget of what is stored."""

from __future__ import annotations

from bridge.lights.boot_look import DAY_MS, BootLook
from bridge.lights.dialect.replies import Misread
from tests.lights.mast import DIALECT, PLACES
from tests.lights.test_read_back import GREY

OTHER, SAME = b'{"dye": "ffffff", "wind": 9}', b'{"dye": "c8c8c8", "wind": 64}'


def boot_look(*written_ms: int) -> BootLook:
    """One that was written then."""
    booting = DIALECT.booting
    assert booting is not None
    look = BootLook(booting, ((PLACES[0], GREY),), written_ms=list(written_ms))
    look.start(DAY_MS)
    return look


def asked(look: BootLook, now_ms: int) -> str:
    """What the next request is."""
    request = look.plan(now_ms)
    return "" if request is None else request.purpose


def test_it_is_written_where_it_differs() -> None:
    """Then looked at once more."""
    look = boot_look()
    assert asked(look, DAY_MS) == "read boot"
    assert look.read(PLACES[:1], OTHER, DAY_MS) is False
    assert asked(look, DAY_MS) == "write boot"
    assert look.written(DAY_MS)
    assert asked(look, DAY_MS) == "read boot"
    assert look.read(PLACES[:1], SAME, DAY_MS) is False
    assert look.when_ms(DAY_MS) == 2 * DAY_MS


def test_what_was_spent_counts_for_a_day() -> None:
    """Also what another start of the bridge wrote."""
    look = boot_look(DAY_MS - 2000, DAY_MS - 1000)
    look.plan(DAY_MS)
    look.read(PLACES[:1], OTHER, DAY_MS)
    assert asked(look, DAY_MS) == "read boot"
    assert look.when_ms(DAY_MS) == 2 * DAY_MS


def test_the_day_after_it_may_be_written_again() -> None:
    """What was spent a day ago is forgotten."""
    look = boot_look(-DAY_MS, -1)
    look.plan(DAY_MS)
    look.read(PLACES[:1], OTHER, DAY_MS)
    assert asked(look, DAY_MS) == "write boot"


def test_what_was_written_in_vain_is_said_and_waits() -> None:
    """It would only wear out."""
    look = boot_look()
    look.plan(DAY_MS)
    look.read(PLACES[:1], OTHER, DAY_MS)
    look.plan(DAY_MS)
    look.written(DAY_MS)
    look.plan(DAY_MS)
    assert look.read(PLACES[:1], OTHER, DAY_MS) is True
    assert look.when_ms(DAY_MS) == 2 * DAY_MS


def test_a_write_that_was_not_answered_is_spent() -> None:
    """It may have been stored all the same."""
    look = boot_look()
    look.unanswered("write boot", DAY_MS)
    look.unanswered("read boot", DAY_MS)
    assert look.written_ms == [DAY_MS]


def test_an_answer_that_cannot_be_read_writes_nothing() -> None:
    """Nobody knows whether it differs."""
    look = boot_look()
    look.plan(DAY_MS)
    assert isinstance(look.read(PLACES[:1], b"<html>", DAY_MS), Misread)
    assert look.when_ms(DAY_MS) == 2 * DAY_MS


def test_a_refusal_waits_for_the_next_day() -> None:
    """It would be refused in an hour as well."""
    look = boot_look()
    look.failed(DAY_MS)
    assert look.when_ms(DAY_MS) == 2 * DAY_MS
