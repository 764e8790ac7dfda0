"""Which printers' messages an address belongs to."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.engine.routes import REMEMBERED, Route, Routes
from bridge.engine.site import Printer
from bridge.facts.reader import Input, Reader
from bridge.facts.topics import captured

READER = Reader("pieces", {}, {})


def printer(name: str, *inputs: tuple[str, str, str]) -> Printer:
    """A printer with inputs of message, source and address."""
    return Printer(name, READER, tuple(Input(*given) for given in inputs))


ROUTES = Routes(
    [
        printer(
            "kestrel", ("doing", "shed", "alder/kestrel/doing"), ("snag", "shed", "alder/+/snag")
        ),
        printer("heron", ("log", "shed", "alder/heron/#"), ("page", "http", "page+1")),
        printer("plover", ("page", "http", "page+1")),
    ]
)

CASES: list[tuple[str, str, tuple[Route, ...]]] = [
    ("shed", "alder/kestrel/doing", (Route("kestrel", "doing"),)),
    ("shed", "alder/kestrel/snag", (Route("kestrel", "snag", ("kestrel",)),)),
    (
        "shed",
        "alder/heron/snag",
        (Route("kestrel", "snag", ("heron",)), Route("heron", "log", ("snag",))),
    ),
    ("shed", "alder/heron", (Route("heron", "log", ("",)),)),
    ("shed", "alder/gull", ()),
    ("shed", "alder/+/snag", (Route("kestrel", "snag", ("+",)),)),
    # An endpoint that two printers share, and whose id only looks like a filter.
    ("http", "page+1", (Route("heron", "page"), Route("plover", "page"))),
    ("http", "pages1", ()),
    ("attic", "alder/kestrel/doing", ()),
]


@pytest.mark.parametrize(("source", "address", "routes"), CASES)
def test_an_address_has_every_route_that_was_asked_for(
    source: str, address: str, routes: tuple[Route, ...]
) -> None:
    """By source, exactly or by a filter, the same at the second time of asking."""
    assert ROUTES.find(source, address) == routes
    assert ROUTES.find(source, address) == routes


level = st.sampled_from(["a", "b", ""])
filters = st.lists(level | st.just("+"), min_size=1, max_size=3).map("/".join)


@given(
    st.lists(filters.filter(bool) | filters.map(lambda text: text + "/#"), max_size=5),
    st.lists(level, min_size=1, max_size=4).map("/".join),
)
def test_routes_are_what_the_filters_capture(topic_filters: list[str], topic: str) -> None:
    """Remembering and looking up directly change nothing about the answer."""
    routes = Routes([printer(f"p{n}", ("m", "shed", f)) for n, f in enumerate(topic_filters)])
    expected = {
        Route(f"p{n}", "m", texts)
        for n, f in enumerate(topic_filters)
        if (texts := captured(f, topic)) is not None
    }
    assert set(routes.find("shed", topic)) == expected
    assert set(routes.find("shed", topic)) == expected


def test_a_flood_of_topics_fills_no_memory() -> None:
    """Past a bound topics are still found, and no longer remembered."""
    routes = Routes([printer("kestrel", ("snag", "shed", "alder/+"))])
    for number in range(REMEMBERED + 100):
        routes.find("shed", f"alder/{number}")
    assert routes.find("shed", "alder/last") == (Route("kestrel", "snag", ("last",)),)
    assert routes.remembered == REMEMBERED
