"""Text of others on one line of ours: a device must not write to the terminal that shows it."""

from __future__ import annotations


def one_line(text: str) -> str:
    """The text with line breaks, escapes and whatever else cannot be printed written out."""
    if text.isprintable():
        return text
    return "".join(
        character if character.isprintable() else character.encode("unicode_escape").decode("ascii")
        for character in text
    )
