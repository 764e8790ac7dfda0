"""Challenges as servers write them, and those that cannot be answered."""

from __future__ import annotations

import pytest

from bridge.access.credentials import Credential
from bridge.access.digest import Digest
from bridge.access.failure import AccessError

KEEL = Credential("door", "keel:shed:plüm:3")


@pytest.mark.parametrize(
    "challenges",
    [
        ['Digest realm="shed", nonce="n1"'],
        ['DIGEST realm = "shed" ,nonce=n1'],
        ['Basic realm="shed"', 'Digest nonce="n1", realm="shed", algorithm=sha-256, qop=auth'],
        ['Basic realm="shed", Digest realm="shed", nonce="n1", stale=true'],
        ['Digest realm="shed", nonce="n1", algorithm=rot13', 'Digest realm="shed", nonce="n1"'],
    ],
)
def test_a_challenge_is_found(challenges: list[str]) -> None:
    """Wherever it stands, whatever its case."""
    header = Digest(challenges, KEEL).header("GET", "/")
    assert 'realm="shed"' in header
    assert 'nonce="n1"' in header


@pytest.mark.parametrize(
    "challenges",
    [
        [],
        ['Basic realm="shed"'],
        ["Digest"],
        ['Digest nonce="n1"'],
        ['Digest realm="shed"'],
        ['Digest realm="shed", nonce="n1", algorithm=rot13'],
        ['Digest realm="shed", nonce="n1", qop="auth-int"'],
    ],
)
def test_what_cannot_be_answered_is_said(challenges: list[str]) -> None:
    """In a sentence."""
    with pytest.raises(AccessError, match="no digest that can be answered"):
        Digest(challenges, KEEL)


def test_quotes_are_kept_as_they_were() -> None:
    """A realm may hold them, and a name too (RFC 9110 §5.6.4)."""
    given = Digest([r'Digest realm="the \"shed\"", nonce="n1"'], Credential("a", 'b"c:d'))
    header = given.header("GET", "/")
    assert r'realm="the \"shed\""' in header
    assert r'username="b\"c"' in header


def test_each_answer_is_another() -> None:
    """Its count and its own nonce never repeat."""
    given = Digest(['Digest realm="shed", nonce="n1", qop="auth"'], KEEL)
    assert given.header("GET", "/") != given.header("GET", "/")
