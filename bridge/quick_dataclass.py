"""``dataclass(frozen=True, slots=True)`` at a third of the price.

The standard one compiles six functions for each class; the two hundred classes of the bridge cost
a fifth of its start that way. Here only ``__init__`` is compiled, which runs all the time; the rest
are closures. What is not plain (another option, a base that is a dataclass, a method of its own for
what is made here) is left to the standard one, and so is everything that a checker of types sees.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any, Final, TypeAlias, TypeVar, cast

__all__ = ["dataclass"]

T = TypeVar("T")
_Fields: TypeAlias = tuple[Field[Any], ...]

_OWN: Final = frozenset(
    {
        "__init__",
        "__repr__",
        "__eq__",
        "__hash__",
        "__setattr__",
        "__delattr__",
        "__getstate__",
        "__setstate__",
        "__reduce__",
    }
)
_fields_and_slots: Final = dataclasses.dataclass(init=False, repr=False, eq=False, slots=True)
_set: Final = object.__setattr__


def _quick(cls: type[T]) -> type[T]:
    has_own = not _OWN.isdisjoint(cls.__dict__)
    if has_own or any(dataclasses.is_dataclass(base) for base in cls.__mro__[1:]):
        return dataclasses.dataclass(frozen=True, slots=True)(cls)
    # The standard one would work out a signature where there is no text.
    text, cls.__doc__ = cls.__doc__, cls.__doc__ or cls.__name__
    made: Any = _fields_and_slots(cls)
    made.__doc__ = text
    fields = dataclasses.fields(made)
    made.__dataclass_params__.frozen = made.__dataclass_params__.eq = True
    methods = (*_storing(fields), *_comparing(fields), _writing(fields), *_frozen(made, fields))
    for method in (_init(made, fields), *methods):
        method.__qualname__ = f"{made.__qualname__}.{method.__name__}"
        method.__module__ = made.__module__
        setattr(made, method.__name__, method)
    return cast("type[T]", made)


def _init(cls: type, fields: _Fields) -> Callable[..., None]:
    known: dict[str, Any] = {"_set": _set, "_missing": MISSING}
    positional: list[str] = []
    by_name: list[str] = []
    body: list[str] = []
    for field in fields:
        name = value = asked = field.name
        if field.default_factory is not MISSING:
            known[f"_make_{name}"] = field.default_factory
            value = f"_make_{name}() if {name} is _missing else {name}"
            asked = f"{name}=_missing"
        elif field.default is not MISSING:
            known[f"_default_{name}"] = field.default
            asked = f"{name}=_default_{name}"
        if field.init:
            (by_name if field.kw_only else positional).append(asked)
        elif field.default_factory is not MISSING:
            value = f"_make_{name}()"
        elif field.default is not MISSING:
            value = f"_default_{name}"
        else:
            continue
        body.append(f" _set(self, {name!r}, {value})")
    if hasattr(cls, "__post_init__"):
        body.append(" self.__post_init__()")
    given = ", ".join(["self", *positional, *(["*", *by_name] if by_name else [])])
    lines = "\n".join([f"def __init__({given}):", *(body or [" pass"])])
    exec(lines, known)  # noqa: S102 - names of fields only, as the standard one does it
    init: Callable[..., None] = known["__init__"]
    init.__annotations__ = {f.name: f.type for f in fields if f.init} | {"return": None}
    return init


def _comparing(fields: _Fields) -> tuple[Callable[..., Any], ...]:
    compared = _tuple_of([f.name for f in fields if f.compare])
    hashed = _tuple_of([f.name for f in fields if (f.compare if f.hash is None else f.hash)])

    def __eq__(self: object, other: object) -> bool:  # noqa: N807 - becomes the method
        if other.__class__ is self.__class__:
            return compared(self) == compared(other)
        return NotImplemented

    def __hash__(self: object) -> int:  # noqa: N807 - becomes the method
        return hash(hashed(self))

    return __eq__, __hash__


def _tuple_of(names: list[str]) -> Callable[[object], tuple[object, ...]]:
    if len(names) > 1:
        return attrgetter(*names)
    if not names:
        return lambda _: ()
    only = attrgetter(names[0])
    return lambda subject: (only(subject),)


def _writing(fields: _Fields) -> Callable[..., str]:
    shown = [field.name for field in fields if field.repr]

    @recursive_repr()
    def __repr__(self: object) -> str:  # noqa: N807 - becomes the method
        values = ", ".join(f"{name}={getattr(self, name)!r}" for name in shown)
        return f"{self.__class__.__qualname__}({values})"

    return __repr__


def _frozen(cls: Any, fields: _Fields) -> tuple[Callable[..., None], ...]:  # noqa: ANN401 - for super
    names = frozenset(field.name for field in fields)

    def __setattr__(self: object, name: str, value: object) -> None:  # noqa: N807 - becomes the method
        if type(self) is cls or name in names:
            raise FrozenInstanceError(f"cannot assign to field {name!r}")
        super(cls, self).__setattr__(name, value)

    def __delattr__(self: object, name: str) -> None:  # noqa: N807 - becomes the method
        if type(self) is cls or name in names:
            raise FrozenInstanceError(f"cannot delete field {name!r}")
        super(cls, self).__delattr__(name)

    return __setattr__, __delattr__


def _storing(fields: _Fields) -> tuple[Callable[..., Any], ...]:
    names = [field.name for field in fields]

    def __getstate__(self: object) -> list[object]:  # noqa: N807 - becomes the method
        return [getattr(self, name) for name in names]

    def __setstate__(self: object, state: list[object]) -> None:  # noqa: N807 - becomes the method
        for name, value in zip(names, state, strict=True):
            _set(self, name, value)

    return __getstate__, __setstate__


if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(
        cls: type | None = None, /, *, frozen: bool = False, slots: bool = False, **options: bool
    ) -> Callable[[type], type] | type:
        """As the standard one has it."""
        if cls is None and frozen and slots and not options:
            return _quick
        return dataclasses.dataclass(cls, frozen=frozen, slots=slots, **options)
