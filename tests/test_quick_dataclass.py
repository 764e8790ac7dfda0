"""The quick decorator, held to the standard one."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field
from typing import Any, ClassVar

import pytest

from bridge.quick_dataclass import dataclass


@dataclass(frozen=True, slots=True)
class Berth:
    """Of a boat."""

    name: str
    metres: float = 4.0
    lines: tuple[str, ...] = ()
    #: Nothing of a berth's identity.
    seen: list[int] = field(default_factory=list, compare=False)
    secret: str = field(default="", repr=False)
    kept: int = field(default=3, init=False)
    unit: ClassVar[str] = "m"
    by_name: bool = field(default=False, kw_only=True)


@dataclass(frozen=True, slots=True)
class Empty:
    """Nothing in it."""


@dataclass(frozen=True, slots=True)
class One:
    """A single field."""

    a: int


@dataclass(frozen=True, slots=True)
class Checked:
    """Looks at what it is given."""

    a: int

    def __post_init__(self) -> None:
        if self.a < 0:
            raise ValueError("below 0")


@dataclass(frozen=True, slots=True)
class Doubled(One):
    """More than one."""

    b: int = 2


@dataclass(frozen=True, slots=True)
class Named:
    """With a text of its own."""

    a: int

    def __repr__(self) -> str:
        return "a named one"


def standard(subject: type) -> Any:  # noqa: ANN401 - a class made here
    """The same class by the standard decorator."""
    own: dict[str, Any] = {
        "__annotations__": dict(subject.__annotations__),
        "__qualname__": subject.__qualname__,
        "__module__": subject.__module__,
        "__doc__": subject.__doc__,
    }
    for each in dataclasses.fields(subject):
        if (
            each.default_factory is not dataclasses.MISSING
            or each.default is not dataclasses.MISSING
        ):
            given: dict[str, Any] = {
                "default": each.default,
                "default_factory": each.default_factory,
            }
            own[each.name] = field(
                **{key: value for key, value in given.items() if value is not dataclasses.MISSING},
                compare=each.compare,
                repr=each.repr,
                init=each.init,
                kw_only=each.kw_only,
            )
    if hasattr(subject, "__post_init__"):
        own["__post_init__"] = subject.__post_init__
    return dataclasses.dataclass(frozen=True, slots=True)(type(subject.__name__, (), own))


MADE: list[tuple[type, Callable[[Any], Any]]] = [
    (Berth, lambda cls: cls("a")),
    (Berth, lambda cls: cls("a", 5.0, ("x",), [1], "s", by_name=True)),
    (Berth, lambda cls: cls(name="b", seen=[2])),
    (Empty, lambda cls: cls()),
    (One, lambda cls: cls(1)),
    (Checked, lambda cls: cls(1)),
]


@pytest.mark.parametrize(("subject", "make"), MADE)
def test_it_is_what_the_standard_one_makes(subject: type, make: Callable[[Any], Any]) -> None:
    """Text, hash, fields, values, patterns, slots."""
    ours, theirs = make(subject), make(standard(subject))
    assert repr(ours) == repr(theirs)
    assert hash(ours) == hash(theirs)
    assert dataclasses.asdict(ours) == dataclasses.asdict(theirs)
    assert [f.name for f in dataclasses.fields(ours)] == [
        f.name for f in dataclasses.fields(theirs)
    ]
    assert type(ours).__match_args__ == type(theirs).__match_args__
    assert type(ours).__slots__ == type(theirs).__slots__
    assert not hasattr(ours, "__dict__")
    assert ours == make(subject)
    assert ours != theirs
    assert copy.deepcopy(ours) == ours
    assert pickle.loads(pickle.dumps(ours)) == ours  # noqa: S301 - our own bytes


@pytest.mark.parametrize(
    ("first", "second", "are_equal"),
    [
        (Berth("a"), Berth("a", seen=[1]), True),
        (Berth("a"), Berth("b"), False),
        (Berth("a"), Berth("a", by_name=True), False),
        (One(1), One(1), True),
        (One(1), One(2), False),
        (One(1), Checked(1), False),
        (One(1), (1,), False),
        (Empty(), Empty(), True),
    ],
)
def test_equality(first: object, second: object, *, are_equal: bool) -> None:
    """Of one class and all compared fields; what is equal has one hash."""
    assert (first == second) is are_equal
    if are_equal:
        assert hash(first) == hash(second)


@pytest.mark.parametrize("subject", [Berth("a"), One(1), Empty(), Checked(1), Doubled(1)])
def test_it_is_frozen(subject: Any) -> None:  # noqa: ANN401 - to do what a checker forbids
    """Nothing can be set, put in, or taken away."""
    for name in (*(each.name for each in dataclasses.fields(subject)), "other"):
        with pytest.raises((FrozenInstanceError, TypeError)):
            setattr(subject, name, 1)
        with pytest.raises((FrozenInstanceError, TypeError)):
            delattr(subject, name)


def test_wrong_arguments() -> None:
    """As in any call."""
    make: Any = Berth
    for arguments, named in (((), {}), (("a", 1, (), [], "", 3), {}), (("a",), {"kept": 1})):
        with pytest.raises(TypeError, match="__init__"):
            make(*arguments, **named)


def test_what_is_given_is_looked_at() -> None:
    """After all fields are set."""
    with pytest.raises(ValueError, match="below 0"):
        Checked(-1)


def test_a_changed_copy() -> None:
    """By the standard function."""
    assert dataclasses.replace(Berth("a", secret="s"), metres=6.0) == Berth("a", 6.0, secret="s")


def test_each_has_a_list_of_its_own() -> None:
    """A factory is called anew."""
    assert Berth("a").seen is not Berth("a").seen


def test_what_is_not_plain_is_the_standard_ones() -> None:
    """A base, a text of one's own."""
    assert repr(Doubled(1)) == "Doubled(a=1, b=2)"
    assert Doubled(1) == Doubled(1, 2) != One(1)
    assert repr(Named(1)) == "a named one"
    with pytest.raises(FrozenInstanceError):
        Named(1).a = 2  # type: ignore[misc]
