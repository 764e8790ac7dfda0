"""The model of ``site.yaml``: which shape an address has."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from bridge.settings.site_file import Address, TopicAddress, UrlAddress

ADDRESSES: list[tuple[object, object]] = [
    ("alder/1", "alder/1"),
    ("http://p/now", "http://p/now"),
    ({"broker": "shed", "topic": "a"}, TopicAddress(broker="shed", topic="a")),
    ({"url": "http://p"}, UrlAddress(url="http://p")),
]


@pytest.mark.parametrize(("written", "address"), ADDRESSES)
def test_an_address_has_three_shapes(written: object, address: object) -> None:
    """A text, a topic at a broker, a URL with its access."""
    assert TypeAdapter(Address).validate_python(written) == address


REFUSED: list[tuple[object, str]] = [
    ("", "string_too_short"),
    (7, "string_type"),
    ({"topic": "a"}, "missing"),
    ({"url": "http://p", "topic": "a"}, "extra_forbidden"),
]


@pytest.mark.parametrize(("written", "kind"), REFUSED)
def test_a_wrong_address_has_the_errors_of_its_shape(written: object, kind: str) -> None:
    """Not those of the others."""
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(Address).validate_python(written)
    assert [error["type"] for error in caught.value.errors()] == [kind]
