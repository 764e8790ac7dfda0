"""Any value of a type, by its annotations: what a recording may have to hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from hypothesis import strategies as st

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
WHOLE = st.integers(0, 2**53)
SIMPLE: dict[object, st.SearchStrategy[Any]] = {
    str: TEXTS,
    int: WHOLE,
    bool: st.booleans(),
    float: st.floats(allow_nan=False, allow_infinity=False),
    bytes: st.binary(max_size=20),
    type(None): st.none(),
}


def of(hint: Any) -> st.SearchStrategy[Any]:  # noqa: ANN401 - a type, or what typing makes of several
    """Any value of the type; each field of a dataclass is drawn, with a default or not."""
    origin: object = get_origin(hint)
    if hint in SIMPLE:
        return SIMPLE[hint]
    if origin in {Union, UnionType}:
        return st.one_of(*map(of, get_args(hint)))
    if origin is Literal:
        return st.sampled_from(get_args(hint))
    if origin is tuple:
        return st.lists(of(get_args(hint)[0]), max_size=3).map(tuple)
    if origin is Mapping:
        return st.dictionaries(*map(of, get_args(hint)), max_size=3)
    if is_dataclass(hint) and isinstance(hint, type):
        hints = get_type_hints(hint)
        return st.builds(hint, **{field.name: of(hints[field.name]) for field in fields(hint)})
    if not issubclass(hint, Enum):
        raise TypeError(hint)
    return st.sampled_from(hint)
