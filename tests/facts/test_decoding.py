"""Bytes to documents and texts: every way of being unreadable has its own reason."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.decoding import MOST_BYTES, Refusal, Unreadable, read_json, read_text


@pytest.mark.parametrize(
    ("body", "document"),
    [
        (b'{"a": [1, 2.5, true, null, "x"]}', {"a": [1, 2.5, True, None, "x"]}),
        (b" 7\r\n", 7),
        (b"\xef\xbb\xbf[1]", [1]),
        (b'{"a": 1, "a": 2}', {"a": 2}),
        (b"1e308", 1e308),
        (b"[" * 64 + b"]" * 64, json.loads("[" * 64 + "]" * 64)),
        (b'["' + b"[{" * 500 + b'"]', ["[{" * 500]),
        (b'["' + rb"\"[" * 500 + b'"]', ['"[' * 500]),
        (b"[" + b"[],[]," * 500 + b"1]", [*[[]] * 1000, 1]),
        ('"kölüm"'.encode(), "kölüm"),
        (rb'"\ud83d\ude00"', "\U0001f600"),
        (rb'"a\ud800b"', "a\ufffdb"),
        (rb'"\ude00\ud83d"', "\ufffd\ufffd"),
        (rb'"\\ud800"', r"\ud800"),
    ],
)
def test_a_readable_document(body: bytes, document: object) -> None:
    """Valid JSON within the bounds is read; half a surrogate pair can be written again."""
    read = read_json(body)
    assert read == document
    json.dumps(read, ensure_ascii=False).encode()


@pytest.mark.parametrize(
    ("body", "why"),
    [
        (b"", Unreadable.NOT_JSON),
        (b"  ", Unreadable.NOT_JSON),
        (b"LAYING", Unreadable.NOT_JSON),
        (b"{'a': 1}", Unreadable.NOT_JSON),
        (b'{"a": 1,}', Unreadable.NOT_JSON),
        (b'{"a": 1} {"a": 2}', Unreadable.NOT_JSON),
        (b'{"a": "x\ny"}', Unreadable.NOT_JSON),
        (b'{"a": ', Unreadable.NOT_JSON),
        (rb'"\ud8"', Unreadable.NOT_JSON),
        (b'{"a": NaN}', Unreadable.NOT_A_NUMBER),
        (b"Infinity", Unreadable.NOT_A_NUMBER),
        (b"[-Infinity]", Unreadable.NOT_A_NUMBER),
        (b"[1e999]", Unreadable.NOT_A_NUMBER),
        (b"-1E+400", Unreadable.NOT_A_NUMBER),
        (b"9" * 400 + b".0", Unreadable.NOT_A_NUMBER),
        (b"[" + b"9" * 5000 + b"]", Unreadable.NOT_A_NUMBER),
        (b"\xff\xfe{}", Unreadable.NOT_UTF8),
        (b'{"a": "\xe9"}', Unreadable.NOT_UTF8),
        ('{"a": 1}'.encode("utf-16"), Unreadable.NOT_UTF8),
        (b"[" * 65 + b"]" * 65, Unreadable.TOO_DEEP),
        (b'{"a":' * 100_000, Unreadable.TOO_DEEP),
        (b"[" * 1_000_000, Unreadable.TOO_DEEP),
        (b'["\\"' + b"[" * 10 + b'",' + b"[" * 65, Unreadable.TOO_DEEP),
        (b"[" + b" " * MOST_BYTES + b"]", Unreadable.TOO_LARGE),
        (b"x" * (10 << 20), Unreadable.TOO_LARGE),
    ],
)
def test_an_unreadable_document(body: bytes, why: Unreadable) -> None:
    """A reason, never an exception."""
    read = read_json(body)
    assert isinstance(read, Refusal)
    assert read.why is why
    assert len(read.detail) < 100


@pytest.mark.parametrize(
    ("body", "text"),
    [(b"LAYING", "LAYING"), (b"", ""), (b"\xef\xbb\xbfx", "x"), ("37 °C".encode(), "37 °C")],
)
def test_a_readable_text(body: bytes, text: str) -> None:
    """A text is what its bytes are in UTF-8."""
    assert read_text(body) == text


@pytest.mark.parametrize(
    ("body", "why"),
    [(b"37 \xb0C", Unreadable.NOT_UTF8), (b"x" * (MOST_BYTES + 1), Unreadable.TOO_LARGE)],
)
def test_an_unreadable_text(body: bytes, why: Unreadable) -> None:
    """Latin-1 is not guessed, and nothing enormous is kept."""
    read = read_text(body)
    assert isinstance(read, Refusal)
    assert read.why is why


@given(st.binary(max_size=200))
def test_no_bytes_raise(body: bytes) -> None:
    """Anybody can publish anything."""
    read_json(body)
    read_text(body)


@given(st.text(alphabet='[]{}",\\: 1e9.u0d8', max_size=300))
def test_no_near_json_raises(text: str) -> None:
    """Nor what looks nearly like JSON; what is read can be written again."""
    read = read_json(text.encode())
    if not isinstance(read, Refusal):
        json.dumps(read, allow_nan=False, ensure_ascii=False).encode()


VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda children: st.lists(children) | st.dictionaries(st.text(), children),
    max_leaves=20,
)


@given(VALUES, st.booleans())
def test_what_was_written_is_read(value: object, ascii_only: bool) -> None:
    """Every document survives, in both ways of writing it."""
    assert read_json(json.dumps(value, ensure_ascii=ascii_only).encode()) == value
