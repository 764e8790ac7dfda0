"""Values as JSON has them, and back: what a type is written as is read from its annotations.

A frozen dataclass is an object with exactly its fields; one that may be of several kinds also says
its ``kind``, the name of its class. Bytes that are UTF-8 stand as ``{"text": …}``, others as
``{"base64": …}``; an enumeration as its value, a tuple as a list. Nothing is filled in and nothing
is passed over: a field that is missing or not known, or a value of another type, is refused.
"""

from __future__ import annotations

import base64
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import (
    Any,
    Final,
    Literal,
    TypeAlias,
    TypeVar,
    Union,
    get_args,
    get_origin,
    get_type_hints,
)

from bridge.errors import LampwrightError

#: A type as an annotation gives it: a class, or what ``typing`` makes of several.
Hint: TypeAlias = Any
T = TypeVar("T")

#: Says which of several a dataclass is; no field may bear this name.
KIND: Final = "kind"
_SHOWN: Final = 40


class NotOfTypeError(LampwrightError):
    """A plain value is not what its type wants; ``where`` is the way to it from outside."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(f"{where}: {why}" if where else why)


@dataclass(frozen=True, slots=True)
class Form:
    """How one type is written and read. ``value`` takes the plain value and where it stands."""

    plain: Callable[[Any], Any]
    value: Callable[[object, str], Any]


def fields_of(value: object) -> dict[str, object]:
    """The fields of a dataclass as JSON has them."""
    kind: Hint = type(value)
    plain: dict[str, object] = _form_of(kind).plain(value)
    return plain


def value_of(kind: type[T], plain: object) -> T:
    """What ``fields_of`` gave of one of this kind; raises ``NotOfTypeError`` for all else."""
    hint: Hint = kind
    value: T = _form_of(hint).value(plain, "")
    return value


def shown(value: object) -> str:
    """A refused value, shortened."""
    text = repr(value)
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"


@cache
def _form_of(hint: Hint) -> Form:
    """How a type is written and read; worked out once for each."""
    origin: Any = get_origin(hint)
    arguments = get_args(hint)
    if origin in {Union, UnionType}:
        return _union(arguments)
    if origin is Literal:
        return _literal(arguments)
    if origin is tuple and len(arguments) == 2 and arguments[1] is ...:
        return _row(_form_of(arguments[0]))
    if origin is tuple:
        return _several(tuple(map(_form_of, arguments)))
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return _mapping(_form_of(arguments[1]))
    if hint in _SIMPLE:
        return _SIMPLE[hint]
    return _enumeration(hint) if issubclass(hint, Enum) else _object(hint)


def _same(value: object) -> object:
    return value


def _exactly(kind: type) -> Form:
    def value(plain: object, where: str) -> object:
        if type(plain) is not kind:
            raise NotOfTypeError(where, f"{shown(plain)} is no {kind.__name__}")
        return plain

    return Form(_same, value)


def _number(plain: object, where: str) -> float:
    try:
        if isinstance(plain, (int, float)) and type(plain) is not bool and math.isfinite(plain):
            return float(plain)
    except OverflowError:
        pass
    raise NotOfTypeError(where, f"{shown(plain)} is no float")


def _plain_bytes(value: bytes) -> dict[str, str]:
    try:
        return {"text": value.decode()}
    except UnicodeDecodeError:
        return {"base64": base64.b64encode(value).decode("ascii")}


def _bytes(plain: object, where: str) -> bytes:
    match plain if isinstance(plain, dict) and len(plain) == 1 else None:
        case {"text": str(text)}:
            try:
                return text.encode()
            except UnicodeEncodeError:
                raise NotOfTypeError(where, "its text is half a surrogate pair") from None
        case {"base64": str(digits)}:
            try:
                return base64.b64decode(digits, validate=True)
            except ValueError:
                raise NotOfTypeError(where, "its base64 cannot be read") from None
    why = f"bytes are written as text or as base64, not as {shown(plain)}"
    raise NotOfTypeError(where, why)


_SIMPLE: Final[Mapping[Hint, Form]] = {
    str: _exactly(str),
    int: _exactly(int),
    bool: _exactly(bool),
    NoneType: _exactly(NoneType),
    float: Form(float, _number),
    bytes: Form(_plain_bytes, _bytes),
}


def _literal(words: tuple[str, ...]) -> Form:
    def value(plain: object, where: str) -> object:
        if not isinstance(plain, str) or plain not in words:
            raise NotOfTypeError(where, f"{shown(plain)} is none of {', '.join(words)}")
        return plain

    return Form(_same, value)


def _enumeration(kind: type[Enum]) -> Form:
    members = {str(member.value): member for member in kind}

    def value(plain: object, where: str) -> Enum:
        if not isinstance(plain, str) or plain not in members:
            why = f"{shown(plain)} is no {kind.__name__}, which are {', '.join(members)}"
            raise NotOfTypeError(where, why)
        return members[plain]

    return Form(lambda member: member.value, value)


def _row(inner: Form) -> Form:
    def value(plain: object, where: str) -> tuple[object, ...]:
        if not isinstance(plain, list):
            raise NotOfTypeError(where, f"{shown(plain)} is no list")
        return tuple(inner.value(each, f"{where}[{at}]") for at, each in enumerate(plain))

    return Form(lambda row: [inner.plain(each) for each in row], value)


def _several(inner: tuple[Form, ...]) -> Form:
    def value(plain: object, where: str) -> tuple[object, ...]:
        if not isinstance(plain, list) or len(plain) != len(inner):
            raise NotOfTypeError(where, f"{shown(plain)} is no list of {len(inner)}")
        pairs = zip(inner, plain, strict=True)
        return tuple(form.value(each, f"{where}[{at}]") for at, (form, each) in enumerate(pairs))

    return Form(lambda row: [f.plain(each) for f, each in zip(inner, row, strict=True)], value)


def _mapping(inner: Form) -> Form:
    def value(plain: object, where: str) -> dict[str, object]:
        if not isinstance(plain, dict):
            raise NotOfTypeError(where, f"{shown(plain)} is no object")
        return {name: inner.value(each, _at(where, name)) for name, each in plain.items()}

    return Form(lambda named: {name: inner.plain(each) for name, each in named.items()}, value)


def _object(kind: type[Any]) -> Form:
    hints = get_type_hints(kind)
    forms = {field.name: _form_of(hints[field.name]) for field in fields(kind)}
    names = frozenset(forms)

    def plain(whole: object) -> dict[str, object]:
        return {name: form.plain(getattr(whole, name)) for name, form in forms.items()}

    def value(given: object, where: str) -> object:
        if not isinstance(given, dict):
            raise NotOfTypeError(where, f"{shown(given)} is no {kind.__name__}")
        if given.keys() != names:
            raise NotOfTypeError(where, _other_fields(kind.__name__, names, set(given)))
        return kind(
            **{name: form.value(given[name], _at(where, name)) for name, form in forms.items()}
        )

    return Form(plain, value)


def _other_fields(kind: str, known: frozenset[str], given: set[str]) -> str:
    parts = [f"{kind} has {', '.join(sorted(known)) or 'nothing'}"]
    missing, unknown = sorted(known - given), sorted(given - known)
    parts += [f"missing: {', '.join(missing)}"] if missing else []
    parts += [f"not known: {shown(', '.join(unknown))}"] if unknown else []
    return "; ".join(parts)


def _union(members: tuple[Hint, ...]) -> Form:
    classes = [_class_of(each) for each in members if is_dataclass(each)]
    if len(classes) > 1:
        return _kinds(classes)
    forms = {_class_of(each): _form_of(each) for each in members}
    if float in forms:
        # A number that happens to be whole.
        forms.setdefault(int, forms[float])
    written = {_written_as(each): form for each, form in forms.items()}
    names = " or ".join(_class_of(each).__name__ for each in members)

    def value(plain: object, where: str) -> object:
        if type(plain) not in written:
            raise NotOfTypeError(where, f"{shown(plain)} is no {names}")
        return written[type(plain)].value(plain, where)

    return Form(lambda given: forms[type(given)].plain(given), value)


def _class_of(hint: Hint) -> type[Any]:
    origin: Any = get_origin(hint)
    made: type[Any] = hint if origin is None else origin
    return made


def _written_as(kind: type[Any]) -> type[Any]:
    """The type that JSON has for it."""
    if kind in {str, int, float, bool, NoneType}:
        return kind
    if issubclass(kind, Enum):
        return str
    return list if kind is tuple else dict


def _kinds(classes: list[type[Any]]) -> Form:
    hints: list[Hint] = [*classes]
    forms = {each.__name__: _form_of(each) for each in hints}

    def plain(given: object) -> dict[str, object]:
        name = type(given).__name__
        return {KIND: name, **forms[name].plain(given)}

    def value(given: object, where: str) -> object:
        if not isinstance(given, dict) or not isinstance(given.get(KIND), str):
            raise NotOfTypeError(where, f"{shown(given)} has no kind")
        if given[KIND] not in forms:
            why = f"{shown(given[KIND])} is none of {', '.join(forms)}"
            raise NotOfTypeError(_at(where, KIND), why)
        rest = {name: each for name, each in given.items() if name != KIND}
        return forms[given[KIND]].value(rest, where)

    return Form(plain, value)


def _at(where: str, name: str) -> str:
    return f"{where}.{name}" if where else name
