"""What the models of the five files are made of.

The five modules of models do not postpone their annotations: pydantic would have to evaluate each.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from types import NoneType
from typing import Annotated, Any, ClassVar, Final, TypeVar, get_args

from pydantic import (
    BaseModel,
    ConfigDict,
    Discriminator,
    PlainValidator,
    ValidationError,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WithJsonSchema,
    WrapValidator,
    model_validator,
)
from pydantic_core import PydanticCustomError

from bridge.settings.nearest import shown

#: Errors of this type carry a whole sentence of ours.
SENTENCE: Final = "sentence"
LATER: Final = "later"
#: Of keys that were left empty, named in the context.
EMPTY: Final = "empty"
#: Of values of a shape that is none of the choices.
SHAPE: Final = "shape"


def sentence(text: str) -> PydanticCustomError:
    """An error of ours; the value is not shown again."""
    return PydanticCustomError(SENTENCE, "{sentence}", {"sentence": text})


class Broken:
    """Stands for an entry that has a problem of its own, so that it makes no follow-up noise."""

    def __repr__(self) -> str:
        return "BROKEN"


BROKEN: Final = Broken()


class Reading:
    """The context of one validation: which model read which mapping, and the errors kept aside."""

    def __init__(self) -> None:
        self.models: dict[int, type[Keys]] = {}
        #: The container that was read on, and what was wrong in it.
        self.kept: list[tuple[Any, ValidationError]] = []


class Keys(BaseModel):
    """A mapping whose keys are all known."""

    model_config = ConfigDict(defer_build=True, extra="forbid", strict=True, frozen=True)

    #: Keys that may be left out, but not left empty: that is a slip of the pen.
    optional: ClassVar[frozenset[str]] = frozenset()
    #: Keys that somebody may look for here, and what is said of each.
    elsewhere: ClassVar[Mapping[str, str]] = {}

    @classmethod
    def __pydantic_init_subclass__(cls, **_: object) -> None:
        """Find the optional keys, once."""
        cls.optional = frozenset(
            field.alias or name
            for name, field in cls.model_fields.items()
            if NoneType in get_args(field.annotation)
        )

    @model_validator(mode="before")
    @classmethod
    def _look_first(cls, data: Any, info: ValidationInfo) -> Any:  # noqa: ANN401 - what YAML holds
        if not isinstance(data, dict):
            return data
        if isinstance(info.context, Reading):
            info.context.models[id(data)] = cls
        empty = [key for key, value in data.items() if value is None and key in cls.optional]
        if empty:
            raise PydanticCustomError(EMPTY, "empty", {"keys": empty})
        return data


T = TypeVar("T")


def _keep_going(value: Any, handler: ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:  # noqa: ANN401 - what YAML holds
    """Read the entries that are right, and put ``BROKEN`` where one is not."""
    try:
        return handler(value)
    except ValidationError as error:
        if not isinstance(info.context, Reading) or not isinstance(value, (dict, list)):
            raise
        wrong = {found["loc"][0] for found in error.errors(include_url=False) if found["loc"]}
        if not wrong:
            raise
        info.context.kept.append((value, error))
        return _without(value, wrong, handler)


def _without(value: Any, wrong: set[int | str], handler: ValidatorFunctionWrapHandler) -> Any:  # noqa: ANN401 - what YAML holds
    if isinstance(value, dict):
        bad = {key for key in value if key in wrong or str(key) in wrong}
        good = handler({key: entry for key, entry in value.items() if key not in bad})
        # A number is no name, but its text may be used as one elsewhere.
        return {
            str(key) if key in bad else key: BROKEN if key in bad else good[key] for key in value
        }
    good = iter(handler([entry for index, entry in enumerate(value) if index not in wrong]))
    return [BROKEN if index in wrong else next(good) for index in range(len(value))]


#: A mapping or a list whose entries are read even if one of them cannot be.
KeepGoing: Final = WrapValidator(_keep_going)


def whole(entries: Mapping[str, T]) -> Iterator[tuple[str, T]]:
    """The entries without those that have a problem of their own."""
    for name, entry in entries.items():
        if not _is_broken(entry):
            yield name, entry


def whole_items(items: Iterable[T]) -> Iterator[tuple[int, T]]:
    """The items of a list likewise, with their place in it."""
    for index, item in enumerate(items):
        if not _is_broken(item):
            yield index, item


def any_broken(entries: Iterable[object]) -> bool:
    """Whether some entry has a problem of its own."""
    return any(map(_is_broken, entries))


def _is_broken(entry: object) -> bool:
    return entry is BROKEN


def _refuse_later(_value: object) -> Any:  # noqa: ANN401 - never returns
    raise PydanticCustomError(LATER, "later")


#: A key of the grammar that is not acted on yet.
Later = Annotated[
    Any,
    PlainValidator(_refuse_later),
    WithJsonSchema({"not": {}, "description": "Not acted on by this version."}),
]


def _shape(value: object) -> str:
    return (
        "=mapping" if isinstance(value, dict) else "=list" if isinstance(value, list) else "=scalar"
    )


#: Chooses among what is tagged ``=mapping``, ``=list`` and ``=scalar``. The tags begin with a sign
#: that no key has, as they are steps of an error's path.
BY_SHAPE: Final = Discriminator(
    _shape,
    custom_error_type=SHAPE,
    custom_error_message=SHAPE,
)


def _scalar(value: Any) -> Any:  # noqa: ANN401 - what YAML holds
    if isinstance(value, (dict, list)):
        raise sentence(
            f"is {'a mapping' if isinstance(value, dict) else 'a list'}, expected a single value"
        )
    return value


_SCALAR_SCHEMA = {"type": ["string", "number", "boolean", "null"]}
#: A text, a number, true, false or null.
Value = Annotated[Any, PlainValidator(_scalar), WithJsonSchema(_SCALAR_SCHEMA)]
#: Any data that JSON can hold.
Json = Annotated[Any, WithJsonSchema({})]


def patterned(pattern: str, read: Callable[[Any], Any]) -> tuple[Any, Any]:
    """Metadata of a text that ``read`` turns into a value; ``pattern`` tells editors its form."""
    return PlainValidator(read), WithJsonSchema({"type": "string", "pattern": pattern})


def matching(pattern: str, expected: str) -> tuple[Any, Any]:
    """Metadata of a text of that form; ``expected`` says in words what it is."""

    def check(value: Any) -> str:  # noqa: ANN401 - what YAML holds
        if isinstance(value, str) and re.fullmatch(pattern, value):
            return value
        raise sentence(f"is {shown(value)}, expected {expected}")

    return patterned(pattern, check)


#: No blank and no ASCII punctuation but - and _; written so that ECMA and Python read it alike.
NAME_PATTERN: Final = (
    "^[^\\s\\u0000-\\u002f\\u003a-\\u0040\\u005b-\\u0060\\u007b-\\u007f]"
    "[^\\s\\u0000-\\u002c\\u002e\\u002f\\u003a-\\u0040\\u005b-\\u005e\\u0060\\u007b-\\u007f]{0,63}$"
)
CREDENTIAL_PATTERN: Final = "^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$"


def _name(value: Any) -> str:  # noqa: ANN401 - what YAML holds
    if value is None:
        raise sentence("is empty, expected a name")
    if not isinstance(value, str):
        raise sentence(f"the name {shown(value)} is no text, put it in quotes")
    if not re.fullmatch(NAME_PATTERN, value):
        raise sentence(
            f"{shown(value)} is no name: at most 64 letters, digits, - and _,"
            " a letter or a digit first"
        )
    return value


def _credential(value: Any) -> str:  # noqa: ANN401 - what YAML holds
    if isinstance(value, str) and re.fullmatch(CREDENTIAL_PATTERN, value):
        return value
    # What stands here may be a secret: it is not shown.
    raise sentence(
        "expected the name of a credential (letters, digits, - _ and .);"
        " the secret itself is read from a file or the environment, never from here"
    )


Name = Annotated[str, *patterned(NAME_PATTERN, _name)]
Credential = Annotated[str, *patterned(CREDENTIAL_PATTERN, _credential)]
