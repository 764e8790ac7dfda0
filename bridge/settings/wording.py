"""The errors of the models in our own words, each at the place where it was written."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from bridge.settings.document import Document, Path
from bridge.settings.nearest import cut, listed, meant, nearest, shown
from bridge.settings.problems import Problem
from bridge.settings.shapes import EMPTY, LATER, SENTENCE, SHAPE, Keys, Reading

M = TypeVar("M", bound=Keys)

_NOT_YET: Final = "is part of the grammar but not acted on by this version, leave it out"
#: What a value should have been, by the model's type of error; ``{…}`` are from its context.
_EXPECTED: Final = {
    "string_type": "a text",
    "string_too_short": "a text that is not empty",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "bool_type": "true or false",
    "dict_type": "a mapping (key: value)",
    "model_type": "a mapping (key: value)",
    "model_attributes_type": "a mapping (key: value)",
    "list_type": "a list ([…])",
    "greater_than": "more than {gt}",
    "greater_than_equal": "at least {ge}",
    "less_than": "less than {lt}",
    "less_than_equal": "at most {le}",
    "too_short": "at least {min_length} entries",
    "too_long": "at most {max_length} entries",
}


def read_model(model: type[M], document: Document) -> tuple[M | None, list[Problem]]:
    """The file as the model sees it (``None`` where it cannot), and everything wrong with it.

    Entries of mappings and lists that cannot be read are ``BROKEN`` in it.
    """
    reading = Reading()
    problems: list[Problem] = []
    found: M | None = None
    data = document.data
    for _attempt in range(2):
        try:
            found = model.model_validate(data, context=reading)
        except ValidationError as error:
            problems += _problems(document, reading, document.data, error)
            data = _without_later(data, error)
            if data is None:
                break
        else:
            break
    for container, kept in reading.kept:
        problems += _problems(document, reading, container, kept)
    return found, problems


def _without_later(data: Any, error: ValidationError) -> dict[Any, Any] | None:  # noqa: ANN401
    """The data without the keys that are not acted on yet, if nothing else is wrong at the top."""
    details = error.errors(include_url=False)
    if any(found["type"] != LATER or len(found["loc"]) != 1 for found in details):
        return None
    later = {found["loc"][0] for found in details}
    return {key: value for key, value in data.items() if key not in later}


def _problems(
    document: Document, reading: Reading, base: object, error: ValidationError
) -> Iterator[Problem]:
    details = error.errors(include_url=False)
    wrong_keys = {found["loc"][:-1] for found in details if found["loc"][-1:] == ("[key]",)}
    misspelt = {_misspelt(document, reading, base, found) for found in details}
    for found in details:
        path = found["loc"]
        if (found["type"] == "missing" and path in misspelt) or _is_within(path, wrong_keys):
            continue
        if found["type"] == EMPTY:
            for key in found["ctx"]["keys"]:
                mark = document.at_within(base, (*path, key), key=True)
                yield Problem(
                    document.file, *mark, f"{key}: is empty, give it a value or leave it out"
                )
            continue
        on_key = found["type"] in {"extra_forbidden", "missing", LATER} or path[-1:] == ("[key]",)
        mark = document.at_within(base, path, key=on_key)
        yield Problem(document.file, *mark, _message(document, reading, base, found))


def _is_within(path: Path, wrong_keys: set[tuple[int | str, ...]]) -> bool:
    """Whether an error is in the value of a key that is wrong itself: then it is no news."""
    return path[-1:] != ("[key]",) and any(path[: len(key)] == key for key in wrong_keys)


def _misspelt(
    document: Document, reading: Reading, base: object, found: ErrorDetails
) -> Path | None:
    """The path of the key that an unknown one was meant to be."""
    path = found["loc"]
    if found["type"] != "extra_forbidden":
        return None
    near = nearest(path[-1], _keys_of(reading, document.within(base, path[:-1])))
    return None if near is None else (*path[:-1], near)


def _message(document: Document, reading: Reading, base: object, found: ErrorDetails) -> str:
    path = tuple(step for step in found["loc"] if step != "[key]")
    name = last_name(path)
    kind = found["type"]
    context = found.get("ctx", {})
    if kind == "missing":
        holder = last_name(path[:-1])
        return f"{holder}: needs '{path[-1]}'" if holder else f"needs '{path[-1]}'"
    if kind == "extra_forbidden":
        parent = document.within(base, path[:-1])
        model = reading.models.get(id(parent))
        if model is not None and path[-1] in model.elsewhere:
            return f"{name}: {model.elsewhere[str(path[-1])]}"
        return f"{name}: is no key here{meant(name, _keys_of(reading, parent))}"
    said = _sentence(kind, context, found["input"])
    # A sentence about a key shows the key itself.
    is_shown = found["loc"][-1:] == ("[key]",) and said.startswith(shown(found["input"]))
    return said if is_shown or not name else f"{name}: {said}"


def _sentence(kind: str, context: dict[str, Any], value: object) -> str:
    if kind == LATER:
        return _NOT_YET
    if kind == SENTENCE:
        return str(context["sentence"])
    if kind == "literal_error":
        words = [word.strip("'") for word in context["expected"].replace(" or ", ", ").split(", ")]
        near = meant(value, words) if isinstance(value, str) else ""
        hint = near if near.startswith("; did") else ""
        return f"{_what(value)}, expected {listed(words)}{hint}"
    if kind == "too_short" and not value:
        return "is empty, expected at least one entry"
    if kind == SHAPE:
        return f"{_what(value)}, expected {_other_shapes(value)}"
    expected = _EXPECTED.get(kind)
    if expected is None:
        return f"{_what(value)}, which is not what belongs here"
    quotes = "; put it in quotes" if kind == "string_type" and _is_bare(value) else ""
    return f"{_what(value)}, expected {expected.format(**context)}{quotes}"


def _other_shapes(value: object) -> str:
    """Where a choice is by shape, the one that was written is the one that cannot be."""
    if isinstance(value, dict):
        return "a single value or a list"
    return "a single value or a mapping" if isinstance(value, list) else "a mapping or a list"


def _what(value: object) -> str:
    return "is empty" if value is None else f"is {shown(value)}"


def _is_bare(value: object) -> bool:
    return isinstance(value, (bool, int, float))


def _keys_of(reading: Reading, parent: object) -> list[str]:
    model = reading.models.get(id(parent))
    if model is None:
        return []
    return [field.alias or name for name, field in model.model_fields.items()]


def last_name(path: Path) -> str:
    """The innermost key of a path, by which a sentence begins."""
    names = [step for step in path if isinstance(step, str) and not step.startswith("=")]
    return cut(names[-1]) if names else ""
