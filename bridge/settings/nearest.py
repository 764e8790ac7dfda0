"""Values and names in the sentences of errors: what was written, and what was perhaps meant."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

_LONGEST_SHOWN = 60
#: More names than this are not listed: the sentence would hide its point.
_MOST_LISTED = 8


def shown(value: object) -> str:
    """The value as a person would recognise it in the file."""
    match value:
        case None:
            return "nothing"
        case bool():
            return str(value).lower()
        case str():
            return f"'{cut(value)}'"
        case Mapping():
            return "a mapping"
        case list() | tuple():
            return "a list"
        case _:
            return str(value)


def cut(text: str) -> str:
    """A text that may be anything, short enough for the middle of a sentence."""
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 1] + "…"


def listed(names: Iterable[object], last: str = "or") -> str:
    """``a, b or c``."""
    words = [str(name) for name in names]
    return f" {last} ".join(filter(None, [", ".join(words[:-1]), words[-1] if words else ""]))


def nearest(name: object, known: Iterable[str]) -> str | None:
    """The known name that looks most like this one."""
    import difflib  # noqa: PLC0415 - only for who mistyped, and everybody waits for the start

    folded = {entry.casefold(): entry for entry in known}
    close = difflib.get_close_matches(str(name).casefold(), folded, n=1)
    return folded[close[0]] if close else None


def meant(name: object, known: Iterable[str]) -> str:
    """A clause to end a sentence with: the nearest known name, or the known ones if few."""
    names = sorted(known)
    if near := nearest(name, names):
        return f"; did you mean '{near}'?"
    if not names:
        return "; there is none"
    if len(names) > _MOST_LISTED:
        return ""
    return f"; known {'is' if len(names) == 1 else 'are'} {listed(names, 'and')}"
