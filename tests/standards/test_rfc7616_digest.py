"""Digest access authentication against the examples of RFC 7616.

Source: RFC 7616, §3.9.1 "Example with SHA-256 and MD5", from memory: one letter of the nonce was
remembered wrong and found by trying until the MD5 response came out; the SHA-256 response, which
had no part in that, then came out too. The session variant and SHA-512-256
are held to the formulas of §3.4.1 to §3.4.3, computed here from their text: the example of §3.9.2
hashes the user's name, which is not done here.
"""

from __future__ import annotations

import hashlib
import re

import pytest

from bridge.access.credentials import Credential
from bridge.access.digest import Digest

MUFASA = Credential("zoo", "Mufasa:Circle of Life")
NONCE = "7ypf/xlj9XXwfDPEoM4URrv/xwf94BcCAzFZH4GiTo0v"
OPAQUE = "FQhe/qaU925kfnzjCev0ciny7QMkPqMAFRtzCUYo5tdS"
CNONCE = "f2/wE4q74E6zIJEtWaHKaf5wv/H5QzzpXusqGemxURZJ"
RESPONSES = {
    "SHA-256": "753927fa0e85d155564e2e272a28d1802ca10daf4496794697cf8db5856cb6c1",
    "MD5": "8ca523f5e9506fed4657c9700eebdbec",
}


def challenge(algorithm: str) -> str:
    """As the server of the example writes it, folded into one line."""
    return (
        f'Digest realm="http-auth@example.org", qop="auth, auth-int", algorithm={algorithm}, '
        f'nonce="{NONCE}", opaque="{OPAQUE}"'
    )


def parts(header: str) -> dict[str, str]:
    """The parameters of an answer."""
    return {
        key: quoted or bare
        for key, quoted, bare in re.findall(r'(\w+)=(?:"(.*?)"|(\w[\w-]*))', header)
    }


@pytest.mark.parametrize("algorithm", RESPONSES)
def test_the_examples(algorithm: str) -> None:
    """Response, and what must be sent with it."""
    header = Digest([challenge(algorithm)], MUFASA).header("GET", "/dir/index.html", CNONCE)
    assert header.startswith("Digest ")
    assert parts(header) == {
        "username": "Mufasa",
        "realm": "http-auth@example.org",
        "uri": "/dir/index.html",
        "algorithm": algorithm,
        "nonce": NONCE,
        "nc": "00000001",
        "cnonce": CNONCE,
        "qop": "auth",
        "response": RESPONSES[algorithm],
        "opaque": OPAQUE,
    }


def test_the_best_of_two_is_taken() -> None:
    """§3.7: both are offered in the example, the stronger first; their order does not matter."""
    for offered in (["SHA-256", "MD5"], ["MD5", "SHA-256"]):
        given = Digest([challenge(each) for each in offered], MUFASA)
        assert parts(given.header("GET", "/dir/index.html", CNONCE))["algorithm"] == "SHA-256"


@pytest.mark.parametrize(
    ("algorithm", "name"),
    [("SHA-512-256", "sha512_256"), ("MD5-sess", "md5"), ("SHA-256-sess", "sha256")],
)
def test_the_formula(algorithm: str, name: str) -> None:
    """§3.4.1 to §3.4.3: H(H(A1):nonce:nc:cnonce:qop:H(A2)), with the session's A1 where asked."""

    def hashed(text: str) -> str:
        return hashlib.new(name, text.encode()).hexdigest()

    given = Digest([challenge(algorithm)], MUFASA)
    given.header("GET", "/first")
    second = parts(given.header("PUT", "/pegs/1?a=b", CNONCE))
    first = hashed("Mufasa:http-auth@example.org:Circle of Life")
    if algorithm.endswith("-sess"):
        first = hashed(f"{first}:{NONCE}:{CNONCE}")
    what = hashed("PUT:/pegs/1?a=b")
    assert second["nc"] == "00000002"
    assert second["response"] == hashed(f"{first}:{NONCE}:00000002:{CNONCE}:auth:{what}")


def test_without_qop_it_is_as_it_was_before() -> None:
    """RFC 2069's form: H(H(A1):nonce:H(A2)), MD5 where no algorithm is named."""
    given = Digest(['Digest realm="r", nonce="n"'], MUFASA).header("GET", "/")

    def hashed(text: str) -> str:
        return hashlib.new("md5", text.encode(), usedforsecurity=False).hexdigest()

    first, what = hashed("Mufasa:r:Circle of Life"), hashed("GET:/")
    assert parts(given)["response"] == hashed(f"{first}:n:{what}")
    assert not {"nc", "cnonce", "qop"} & parts(given).keys()
