"""Lengths of time on the command line, written as in the files."""

from __future__ import annotations

import argparse


def duration_ms(text: str) -> int:
    """An argument that is a length of time, such as ``2h``; in ms."""
    from bridge.settings.quantities import DURATION

    try:
        for_ms = DURATION.whole(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
    if for_ms == 0:
        raise argparse.ArgumentTypeError(
            f"'{text}' is no time at all, write for example {DURATION.example}"
        )
    return for_ms
