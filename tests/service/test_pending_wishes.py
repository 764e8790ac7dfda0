"""Wishes and their answers find each other."""

from __future__ import annotations

import asyncio

import pytest

from bridge.engine.actions import Tell
from bridge.engine.events import Wished
from bridge.engine.wishes import Acknowledge, Release
from bridge.service.pending_wishes import PendingWishes

SEEN = Acknowledge("s-1")


def taken(token: str, why: str = "") -> Tell:
    """It is granted and kept."""
    return Tell(token, taken=True, kept=True, why=why)


@pytest.mark.asyncio
async def test_an_answer_goes_to_who_asked() -> None:
    """In whatever order they come."""
    fed: list[Wished] = []
    pending = PendingWishes(fed.append)
    first = asyncio.create_task(pending.wish("Ada", SEEN))
    second = asyncio.create_task(pending.wish("Bo", Release(("all",))))
    await asyncio.sleep(0)
    assert [(each.who, each.wish) for each in fed] == [("Ada", SEEN), ("Bo", Release(("all",)))]
    assert all(each.token for each in fed), "an empty token is a button's"
    pending.tell(taken(fed[1].token, "second"))
    pending.tell(taken(fed[0].token, "first"))
    assert ((await first).why, (await second).why) == ("first", "second")


@pytest.mark.asyncio
async def test_an_answer_may_come_before_the_core_returns() -> None:
    """As it does where nothing is to be kept."""
    pending = PendingWishes(lambda wished: pending.tell(taken(wished.token)))
    assert (await pending.wish("Ada", SEEN)).taken


@pytest.mark.asyncio
async def test_an_answer_that_nobody_waits_for_is_dropped() -> None:
    """Who asked is gone, it came twice, or it was never asked for."""
    fed: list[Wished] = []
    pending = PendingWishes(fed.append)
    asking = asyncio.create_task(pending.wish("Ada", SEEN))
    await asyncio.sleep(0)
    asking.cancel()
    await asyncio.gather(asking, return_exceptions=True)
    pending.tell(taken(fed[0].token))
    pending.tell(taken("never"))
    asking = asyncio.create_task(pending.wish("Ada", SEEN))
    await asyncio.sleep(0)
    assert fed[1].token != fed[0].token
    pending.tell(taken(fed[1].token, "once"))
    pending.tell(taken(fed[1].token, "twice"))
    assert (await asking).why == "once"


@pytest.mark.asyncio
async def test_at_the_end_nobody_is_left_waiting() -> None:
    """They are told that it was not granted, as far as anybody knows."""
    pending = PendingWishes(lambda _: None)
    asking = asyncio.create_task(pending.wish("Ada", SEEN))
    await asyncio.sleep(0)
    pending.close()
    answer = await asking
    assert (answer.taken, answer.kept) == (False, False)
    assert answer.why
