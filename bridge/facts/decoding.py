"""From the bytes of a message to its document or text, or the reason why they cannot be read.

Whoever can publish to a broker can send anything: each refusal is bounded in time and depth, and
none of them raises.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from enum import Enum
from itertools import accumulate
from typing import Final

from bridge.facts.places import Document

#: Far above what a printer sends, far below what hurts a small board.
MOST_BYTES: Final = 1 << 20
#: Deeper than any printer's message; the standard parser fails at about 1000.
MOST_DEPTH: Final = 64

_BOM: Final = b"\xef\xbb\xbf"


class Unreadable(Enum):
    """Why bytes cannot be read; the text is what a person reads."""

    NOT_JSON = "not JSON"
    NOT_UTF8 = "not UTF-8"
    TOO_DEEP = f"nested deeper than {MOST_DEPTH}"
    TOO_LARGE = f"larger than {MOST_BYTES} bytes"
    NOT_A_NUMBER = "has a number that JSON does not have"


@dataclass(frozen=True, slots=True)
class Refusal:
    """Bytes that cannot be read; ``detail`` names the spot or the size."""

    why: Unreadable
    detail: str


class _NotANumberError(ValueError):
    """NaN, an infinity, or a number beyond what a double holds."""


def _refuse_constant(text: str) -> float:
    raise _NotANumberError(text)


def _finite(text: str) -> float:
    value = float(text)
    # Cheaper than math.isfinite, and this runs for every number with a point in every message.
    if value - value != 0.0:
        raise _NotANumberError(text)
    return value


# Made once: json.loads builds a decoder for every call that is given a hook.
_decode: Final = json.JSONDecoder(parse_constant=_refuse_constant, parse_float=_finite).decode


def read_json(body: bytes) -> Document | Refusal:
    """The document in ``body`` (RFC 8259), or why there is none.

    A byte order mark is skipped, half a surrogate pair becomes U+FFFD, and of two members with
    one name the last counts.
    """
    text = read_text(body)
    if isinstance(text, Refusal):
        return text
    if body.count(b"[") + body.count(b"{") > MOST_DEPTH and _depth(body) > MOST_DEPTH:
        return Refusal(Unreadable.TOO_DEEP, f"{len(body)} bytes")
    if "\\u" in text:
        text = _SURROGATES.sub(_whole_character, text)
    try:
        return _decode(text)
    except _NotANumberError as error:
        return Refusal(Unreadable.NOT_A_NUMBER, str(error)[:40])
    except json.JSONDecodeError as error:
        return Refusal(Unreadable.NOT_JSON, f"{error.msg.lower()} at character {error.pos + 1}")
    except ValueError:
        # An integer with more digits than Python reads.
        return Refusal(Unreadable.NOT_A_NUMBER, "an integer of thousands of digits")


def read_text(body: bytes) -> str | Refusal:
    """The text in ``body``, without a byte order mark, or why there is none."""
    if len(body) > MOST_BYTES:
        return Refusal(Unreadable.TOO_LARGE, f"{len(body)} bytes")
    body = body.removeprefix(_BOM)
    try:
        return body.decode()
    except UnicodeDecodeError as error:
        return Refusal(Unreadable.NOT_UTF8, f"byte 0x{body[error.start]:02x} at {error.start}")


_ESCAPE: Final = re.compile(rb"\\.", re.DOTALL)
_STRING: Final = re.compile(rb'"[^"]*"')
_NOT_STRUCTURE: Final = bytes(byte for byte in range(256) if byte not in b'"[]{}')
_OPENS: Final = {ord("["): 1, ord("{"): 1, ord("]"): -1, ord("}"): -1, ord('"'): 0}


def _depth(body: bytes) -> int:
    """How deep objects and arrays nest. Right up to the first error, which is all a parser sees."""
    structure = _ESCAPE.sub(b"", body).translate(None, _NOT_STRUCTURE)
    brackets = _STRING.sub(b"", structure)
    return max(accumulate(map(_OPENS.__getitem__, brackets)), default=0)


#: Any escape; half a surrogate pair is the one that captures nothing.
_SURROGATES: Final = re.compile(
    r"(\\u[dD][89abAB][0-9a-fA-F]{2}\\u[dD][c-fC-F][0-9a-fA-F]{2}|\\(?!u[dD][89a-fA-F])[\s\S])"
    r"|\\u[dD][89a-fA-F][0-9a-fA-F]{2}"
)


def _whole_character(found: re.Match[str]) -> str:
    # A lone half cannot be written as UTF-8: it would end the first log line that shows it.
    return found[1] or "\\ufffd"
