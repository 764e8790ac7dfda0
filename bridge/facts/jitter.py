"""Backoff with full jitter (Brooker, 2015), where chance is a hash: same seed, same waits."""

from __future__ import annotations

import hashlib


def backoff_ms(seed: str, name: str, attempt: int, *, base_ms: int, cap_ms: int) -> int:
    """How long to wait after the ``attempt``-th failure in a row (from 1), 0 to the ceiling.

    The ceiling doubles from ``base_ms`` up to ``cap_ms``; the wait is evenly spread below it, so
    that many who failed together do not come back together.
    """
    ceiling = min(cap_ms, base_ms << min(attempt - 1, 30))
    digest = hashlib.blake2b(f"{seed}\0{name}\0{attempt}".encode(), digest_size=8).digest()
    return int.from_bytes(digest) * (ceiling + 1) >> 64
