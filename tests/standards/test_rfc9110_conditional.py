"""Conditional requests and Retry-After, against the tables of RFC 9110.

Source: RFC 9110 (HTTP Semantics), §8.8.3.2 table 3 (comparison of entity tags), §13.1.2
(If-None-Match), §5.6.7 (the three forms of a date), §10.2.3 (Retry-After).
https://www.rfc-editor.org/rfc/rfc9110
"""

from __future__ import annotations

import re

import pytest
from aiohttp import web

from bridge.access.credentials import Credentials
from bridge.engine.events import Heard
from bridge.engine.site import Endpoint
from bridge.sources.http import HttpSource
from bridge.sources.retry_after import retry_after_ms
from tests.conftest import Recorder
from tests.serving import serving

#: §8.8.3.2, table 3: two entity tags, and whether they are the same by strong and by weak
#: comparison.
ENTITY_TAGS = [
    ('W/"1"', 'W/"1"', False, True),
    ('W/"1"', 'W/"2"', False, False),
    ('W/"1"', '"1"', False, True),
    ('"1"', '"1"', True, True),
]


def weakly_equal(one: str, other: str) -> bool:
    """§8.8.3.2: opaque tags match character by character, weak or not."""
    return re.sub("^W/", "", one) == re.sub("^W/", "", other)


@pytest.mark.asyncio
@pytest.mark.parametrize(("first", "second", "strong", "weak"), ENTITY_TAGS)
async def test_an_entity_tag_comes_back_as_it_was_given(
    recorder: Recorder, first: str, second: str, *, strong: bool, weak: bool
) -> None:
    """§13.1.2: the server compares weakly, so that what we return must be its tag, W/ included.

    A server that has ``first`` and then ``second`` must find them equal by the table's weak
    comparison alone; where it does, the poll is unchanged.
    """
    assert strong is (first == second and not first.startswith("W/"))
    assert weak is weakly_equal(first, second)
    tags = iter((first, second))

    async def now(request: web.Request) -> web.Response:
        tag = next(tags)
        asked = request.headers.get("If-None-Match")
        if asked is not None and weakly_equal(asked, tag):
            return web.Response(status=304, headers={"ETag": tag})
        return web.Response(body=b"{}", headers={"ETag": tag})

    async with serving(now) as url:
        endpoint = Endpoint("status", url + "/now")
        source = HttpSource(
            {"status": endpoint}, recorder.feed, recorder.clock, Credentials({}), recorder.note
        )
        source.poll("status")
        await recorder.until(lambda: len(recorder.events) == 1)
        source.poll("status")
        await recorder.until(lambda: len(recorder.events) == 2)
        await source.close()
    bodies = [event.body for event in recorder.events if isinstance(event, Heard)]
    assert bodies == [b"{}", None if weak else b"{}"]


#: §5.6.7: one instant in the preferred form and the two that a recipient has to take as well.
DATES = [
    "Sun, 06 Nov 1994 08:49:37 GMT",
    "Sunday, 06-Nov-94 08:49:37 GMT",
    "Sun Nov  6 08:49:37 1994",
]
#: That instant in milliseconds since the epoch (date -u -d '1994-11-06 08:49:37' +%s).
INSTANT_MS = 784_111_777_000


@pytest.mark.parametrize("date", DATES)
def test_retry_after_takes_a_date_in_every_form(date: str) -> None:
    """§10.2.3: the value can be an HTTP-date."""
    assert retry_after_ms(date, None, INSTANT_MS - 30_000) == 30_000


def test_retry_after_takes_seconds() -> None:
    """§10.2.3's second example: two minutes."""
    assert retry_after_ms("120", None, None) == 120_000


def test_retry_after_takes_the_examples_date() -> None:
    """§10.2.3's first example, one minute before it."""
    asked, now = "Fri, 31 Dec 1999 23:59:59 GMT", "Fri, 31 Dec 1999 23:58:59 GMT"
    assert retry_after_ms(asked, now, None) == 60_000
