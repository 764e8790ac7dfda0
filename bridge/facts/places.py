"""Places in a JSON document: JSON Pointer (RFC 6901) and JSONPath (RFC 9535).

A place that only names members and indices is compiled to a direct walk, some forty times faster
than the library, which answers the rest; both are held to the same cases in ``tests/standards/``.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from enum import Enum
from typing import TYPE_CHECKING, Any, Final, TypeAlias

if TYPE_CHECKING:
    from jsonpath_rfc9535 import JSONPathQuery

#: What ``json.loads`` gives.
Document: TypeAlias = Any


class Absent(Enum):
    """The type of ``ABSENT``: ``null`` is a value, so ``None`` cannot say that nothing is there."""

    ABSENT = "absent"

    def __repr__(self) -> str:
        return "ABSENT"


ABSENT: Final = Absent.ABSENT

#: One step of a direct walk: the member's name in an object, the index in an array.
_Step: TypeAlias = tuple[str | None, int | None]

_ARRAY_INDEX = re.compile(r"0|[1-9][0-9]*")
_BAD_ESCAPE = re.compile(r"~(?![01])")


class PlaceError(ValueError):
    """The text is no place; ``problem`` says what is wrong with it."""

    def __init__(self, text: str, problem: str) -> None:
        super().__init__(f"'{text}' {problem}")


class Place:
    """A compiled place. Two places of the same text are equal.

    ``find`` gives the value there, the first where a JSONPath selects several, or ``ABSENT``;
    ``find_all`` every selected value. ``single`` is true where there can be only one.
    """

    __slots__ = ("find", "find_all", "single", "text")

    def __init__(
        self,
        text: str,
        find: Callable[[Document], Any],
        find_all: Callable[[Document], list[Any]],
        *,
        single: bool,
    ) -> None:
        self.text: Final = text
        self.find: Final = find
        self.find_all: Final = find_all
        self.single: Final = single

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Place) and other.text == self.text

    def __hash__(self) -> int:
        return hash(self.text)

    def __repr__(self) -> str:
        return f"Place({self.text!r})"


def compile_place(text: str) -> Place:
    """The place that ``text`` names.

    A text that is empty (the whole document) or starts with ``/`` is a JSON Pointer, one that
    starts with ``$`` a JSONPath. Raises ``PlaceError`` for anything else.
    """
    if not text or text.startswith("/"):
        return _walking(text, _pointer_steps(text))
    if text.startswith("$"):
        return _compile_path(text)
    if text.startswith("#"):
        raise PlaceError(text, "is the form for addresses: write the pointer without the #")
    raise PlaceError(
        text,
        "is no place: a JSON Pointer starts with / and a JSONPath with $;"
        f" did you mean '/{text.lstrip('. ')}'?",
    )


def _pointer_steps(text: str) -> tuple[_Step, ...]:
    if wrong := _BAD_ESCAPE.search(text):
        raise PlaceError(
            text,
            f"has a ~ at character {wrong.start() + 1} that is neither ~0 (for ~) nor ~1 (for /)",
        )
    return tuple(_pointer_step(token) for token in text.split("/")[1:])


def _pointer_step(token: str) -> _Step:
    """RFC 6901 §4: the same token names a member of an object or an element of an array."""
    name = token.replace("~1", "/").replace("~0", "~")
    # Longer than any real array, and than int() reads: such a token can only be a name.
    is_index = len(token) < len("1000000000") and _ARRAY_INDEX.fullmatch(token)
    return name, int(token) if is_index else None


def _compile_path(text: str) -> Place:
    # Imported when the first JSONPath is met: most sites have only pointers, and it costs 20 ms
    # and 2 MiB at the start of every command.
    from jsonpath_rfc9535 import JSONPathError, compile  # noqa: A004, PLC0415

    try:
        query = compile(text)
    except JSONPathError as error:
        raise PlaceError(text, f"is no JSONPath: {_one_line(error)}") from error

    def find_all(document: Document) -> list[Any]:
        try:
            return [node.value for node in query.find(document)]
        except JSONPathError:
            # The library gives up only once it meets the document: nested deeper than it goes, or
            # a filter on values that it cannot compare. Then nothing is selected.
            return []

    def find(document: Document) -> Any:  # noqa: ANN401 - what JSON holds
        found = find_all(document)
        return found[0] if found else ABSENT

    steps = _path_steps(query)
    if steps is not None:
        return _walking(text, steps)
    return Place(text, find, find_all, single=False)


def _one_line(error: Exception) -> str:
    return " ".join(str(error).split())


def _path_steps(query: JSONPathQuery) -> tuple[_Step, ...] | None:
    """The steps of a path that only names members and indices, or ``None``."""
    from jsonpath_rfc9535.selectors import IndexSelector, NameSelector  # noqa: PLC0415

    if not query.singular_query():
        return None
    steps: list[_Step] = []
    for segment in query.segments:
        (selector,) = segment.selectors
        if isinstance(selector, NameSelector):
            steps.append((selector.name, None))
        elif isinstance(selector, IndexSelector):
            steps.append((None, selector.index))
    return tuple(steps)


def _walking(text: str, steps: tuple[_Step, ...]) -> Place:
    find = _walker(steps)

    def find_all(document: Document) -> list[Any]:
        found = find(document)
        return [] if found is ABSENT else [found]

    return Place(text, find, find_all, single=True)


def _walker(steps: tuple[_Step, ...]) -> Callable[[Document], Any]:
    """The walk as one closure; one step, much the commonest, without a loop."""
    if len(steps) == 1:
        ((only_name, only_index),) = steps

        def step(document: Document) -> Any:  # noqa: ANN401 - what JSON holds
            if isinstance(document, dict):
                return document.get(only_name, ABSENT)
            return _element(document, only_index)

        return step

    def walk(document: Document) -> Any:  # noqa: ANN401 - what JSON holds
        for name, index in steps:
            if isinstance(document, dict):
                document = document.get(name, ABSENT)
            else:
                document = _element(document, index)
        return document

    return walk


def _element(document: Document, index: int | None) -> Any:  # noqa: ANN401 - what JSON holds
    if index is None or not isinstance(document, list):
        return ABSENT
    return document[index] if -len(document) <= index < len(document) else ABSENT
