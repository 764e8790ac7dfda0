"""A reply is taken for what it says, and a bad one ends in one sentence."""

from __future__ import annotations

import pytest

from bridge.facts.places import compile_place
from bridge.lights.dialect.grammar import ReplyCheck, RequestTemplate
from bridge.lights.dialect.replies import Misread, Parsed, Verdict, judge, parse

PLAIN = RequestTemplate("PUT", "/x")
CHECKED = RequestTemplate("PUT", "/x", reply=ReplyCheck(compile_place("/done"), wanted=True))
SEE_OTHER = RequestTemplate("POST", "/x", accepts=(303,))

VERDICTS = [
    (PLAIN, 200, b"", Verdict.OK, ""),
    (PLAIN, 204, b"nonsense", Verdict.OK, ""),
    (PLAIN, 301, b"", Verdict.REDIRECTED, "status 301"),
    (PLAIN, 307, b"", Verdict.REDIRECTED, "status 307"),
    (PLAIN, 404, b"", Verdict.REFUSED, "status 404"),
    (PLAIN, 429, b"", Verdict.BUSY, "status 429"),
    (PLAIN, 503, b"", Verdict.BUSY, "status 503"),
    (PLAIN, 500, b"", Verdict.FAILED, "status 500"),
    (PLAIN, 101, b"", Verdict.STRANGE_STATUS, "status 101"),
    (PLAIN, 999, b"", Verdict.STRANGE_STATUS, "status 999"),
    (SEE_OTHER, 303, b"", Verdict.OK, ""),
    (SEE_OTHER, 200, b"", Verdict.STRANGE_STATUS, "status 200"),
    (CHECKED, 200, b'{"done":true}', Verdict.OK, ""),
    (CHECKED, 200, b'{"done":false}', Verdict.NOT_CONFIRMED, "/done is false, not true"),
    (CHECKED, 200, b'{"done":1}', Verdict.NOT_CONFIRMED, "/done is 1, not true"),
    (CHECKED, 200, b"{}", Verdict.NOT_CONFIRMED, "nothing at /done"),
    (CHECKED, 200, b"", Verdict.UNREADABLE, "the answer is not JSON: expecting value"),
    (CHECKED, 200, b'{"done":tru', Verdict.UNREADABLE, "not JSON"),
    (CHECKED, 500, b'{"done":true}', Verdict.FAILED, "status 500"),
]


@pytest.mark.parametrize(("template", "status", "body", "verdict", "detail"), VERDICTS)
def test_an_answer_is_judged(
    template: RequestTemplate, status: int, body: bytes, verdict: Verdict, detail: str
) -> None:
    """Only the agreed status with the agreed reply is taken; everything else says why not."""
    answer = judge(template, status, body)
    assert answer.verdict is verdict
    assert answer.ok is (verdict is Verdict.OK)
    assert detail in answer.detail
    assert str(answer).startswith(verdict.value)


BAD = [
    (b"", "not JSON"),
    (b"\xff", "not UTF-8"),
    (b"[" * 100_000, "nested deeper"),
    (b'{"a":NaN}', "a number that JSON does not have"),
    (b'{"a":1e999}', "a number that JSON does not have"),
    (b" " * (1 << 20) + b"1", "larger than"),
    (b"<html>", "not JSON"),
]


@pytest.mark.parametrize(("body", "sentence"), BAD)
def test_a_body_that_cannot_be_read_says_why(body: bytes, sentence: str) -> None:
    """Bounded in size and depth, and never an exception."""
    parsed = parse(body)
    assert isinstance(parsed, Misread)
    assert sentence in str(parsed)


def test_null_is_an_answer() -> None:
    """A document of null is read, and is not the same as none."""
    assert parse(b"null") == Parsed(None)
