"""HTTP digest authentication, RFC 7616, with the standard library only, for the stop step.

While the daemon runs, aiohttp's own answers challenges.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable, Iterable, Mapping
from typing import Final

from bridge.access.credentials import Credential
from bridge.access.failure import AccessError

#: RFC 7616 §6.1, the best first. A ``-sess`` after each is the same hash.
_HASHES: Final = {"SHA-512-256": "sha512_256", "SHA-256": "sha256", "MD5": "md5"}
_PARAMETER: Final = re.compile(r'(\w+)\s*=\s*(?:"((?:[^"\\]|\\.)*)"|([^\s,"]+))')


class Digest:
    """One challenge, answered as often as it is asked. Mutable: every answer has its count."""

    def __init__(self, challenges: Iterable[str], credential: Credential) -> None:
        self._challenge = _best(challenges)
        self._credential, self._count = credential, 0

    def header(self, method: str, target: str, cnonce: str | None = None) -> str:
        """The value of ``Authorization`` for a request (§3.4)."""
        challenge, user = self._challenge, self._credential.user
        algorithm = challenge.get("algorithm", "MD5")
        hashed = _hash(algorithm)
        self._count += 1
        count, cnonce = f"{self._count:08x}", cnonce or os.urandom(16).hex()
        realm, nonce = challenge["realm"], challenge["nonce"]
        secret = hashed(f"{user}:{realm}:{self._credential.password}")
        if algorithm.upper().endswith("-SESS"):
            secret = hashed(f"{secret}:{nonce}:{cnonce}")
        what = hashed(f"{method}:{target}")
        is_counted = "qop" in challenge
        middle = f"{nonce}:{count}:{cnonce}:auth" if is_counted else nonce
        parts = {
            "username": _quoted(user),
            "realm": _quoted(realm),
            "nonce": _quoted(nonce),
            "uri": _quoted(target),
            "response": _quoted(hashed(f"{secret}:{middle}:{what}")),
            "algorithm": algorithm,
        }
        if is_counted:
            parts |= {"qop": "auth", "nc": count, "cnonce": _quoted(cnonce)}
        if "opaque" in challenge:
            parts["opaque"] = _quoted(challenge["opaque"])
        return "Digest " + ", ".join(f"{key}={value}" for key, value in parts.items())


def _best(challenges: Iterable[str]) -> Mapping[str, str]:
    """Of what is offered the one with the best hash that we can do; raises ``AccessError``."""
    found = [
        {key.lower(): re.sub(r"\\(.)", r"\1", quoted) or bare for key, quoted, bare in parameters}
        for text in challenges
        if (start := re.search(r"\bdigest\s", text, re.IGNORECASE)) is not None
        and (parameters := _PARAMETER.findall(text[start.end() :]))
    ]
    usable = [
        each
        for each in found
        if {"realm", "nonce"} <= each.keys()
        and _name(each.get("algorithm", "MD5")) in _HASHES
        and "auth" in each.get("qop", "auth").replace(",", " ").split()
    ]
    if not usable:
        raise AccessError("it asks for no digest that can be answered (RFC 7616 with qop auth)")
    order = list(_HASHES)
    return min(usable, key=lambda each: order.index(_name(each.get("algorithm", "MD5"))))


def _name(algorithm: str) -> str:
    return algorithm.upper().removesuffix("-SESS")


def _hash(algorithm: str) -> Callable[[str], str]:
    name = _HASHES[_name(algorithm)]
    return lambda text: hashlib.new(name, text.encode(), usedforsecurity=False).hexdigest()


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
