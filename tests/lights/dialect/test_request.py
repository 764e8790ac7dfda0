"""A filled request is one that can be sent: encoded path and query, compact body, its type."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.lights.dialect.grammar import RequestTemplate
from bridge.lights.dialect.request import CompiledRequest, Prepared
from bridge.lights.dialect.templates import Scope

NAMES = {"number": "fore deck/é?", "level": 3, "colour": [1, 2]}

PATHS = [
    ("/bars", "/bars"),
    ("/bars/{number}", "/bars/fore%20deck%2F%C3%A9%3F"),
    ("/bars/{level}/x", "/bars/3/x"),
    ("/a b/ü#", "/a%20b/%C3%BC%23"),
    ("/a%20b?c=1&d", "/a%20b?c=1&d"),
    ("/{{x}}", "/%7Bx%7D"),
]


@pytest.mark.parametrize(("path", "expected"), PATHS)
def test_a_value_cannot_leave_its_step_of_the_path(path: str, expected: str) -> None:
    """What is filled in is encoded whole; what is written in the file keeps its slashes."""
    assert CompiledRequest(RequestTemplate("GET", path)).fill(Scope(NAMES)).path == expected


def test_a_query_is_encoded() -> None:
    """Names and values are encoded, numbers by their text, lists as JSON."""
    template = RequestTemplate("GET", "/x", query={"a b": "{number}", "c": "{level}", "d": [1, 2]})
    filled = CompiledRequest(template).fill(Scope(NAMES))
    assert filled.path == "/x?a%20b=fore%20deck%2F%C3%A9%3F&c=3&d=%5B1%2C2%5D"
    assert filled.body is None
    assert filled.headers == ()


BODIES: list[tuple[dict[str, Any], bytes, str]] = [
    (
        {"body": {"n": "{number}", "c": "{colour}"}},
        '{"n":"fore deck/é?","c":[1,2]}'.encode(),
        "application/json",
    ),
    ({"body": "{level}"}, b"3", "application/json"),
    ({"body": False}, b"false", "application/json"),
    (
        {"body": {"n": "{number}", "l": "{level}"}, "form": "form"},
        b"n=fore+deck%2F%C3%A9%3F&l=3",
        "application/x-www-form-urlencoded",
    ),
    ({"body": {}, "headers": {"content-type": "text/x"}}, b"{}", "text/x"),
]


@pytest.mark.parametrize(("fields", "body", "content_type"), BODIES)
def test_a_body_is_written(fields: dict[str, Any], body: bytes, content_type: str) -> None:
    """JSON without blanks in UTF-8, or a form; its type is stated unless the file states one."""
    filled = CompiledRequest(RequestTemplate("PUT", "/x", **fields)).fill(Scope(NAMES))
    assert filled.body == body
    assert [value for key, value in filled.headers if key.lower() == "content-type"] == [
        content_type
    ]


def test_every_part_is_known_by_its_keys() -> None:
    """Path, each query value and body are the parts; their names together are the request's."""
    template = RequestTemplate(
        "GET", "/{a}", query={"q": "{b}"}, body={"each": "pixel", "put": "{c}"}
    )
    request = CompiledRequest(template)
    assert [keys for keys, _ in request.parts] == [("path",), ("query", "q"), ("body",)]
    assert request.names == {"a", "b", "c"}
    assert request.repeats_each("pixel")
    assert not request.repeats_each("range")


def test_a_request_is_drawn_in_one_line() -> None:
    """What a person sees of it: method, path, body."""
    assert str(Prepared("PUT", "/x", (), b'{"a":1}')) == 'PUT /x {"a":1}'
    assert str(Prepared("GET", "/x", (), None)) == "GET /x"
