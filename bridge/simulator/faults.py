"""What can be wrong with a simulated controller, each thing switched while it runs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import Final, Literal


@dataclass(slots=True)
class Faults:
    """All is well with one that is made without any."""

    #: It waits between so long and so long, in ms, before it does what it is asked.
    delay_ms: tuple[int, int] = (0, 0)
    #: It answers with this status instead of doing anything.
    status: int | None = None
    #: So many requests more are answered with 500, and nothing is done.
    refuses: int = 0
    #: So many writes more are answered as if done, and lost.
    loses: int = 0
    #: So many writes more are answered with 200 and a body that says no.
    says_no: int = 0
    #: It does what it is told and never answers.
    hangs: bool = False
    #: It hangs up without doing anything.
    drops: bool = False
    #: Nobody is there.
    off: bool = False
    #: It bears so many requests in any second; ``None``: any number.
    bears: int | None = None
    #: What it does with more than it bears: it says that it is busy, or hangs up.
    too_many: Literal["busy", "hangs up"] = "busy"
    #: Whoever comes while another is connected is hung up on.
    one_connection: bool = False
    #: It hangs up after each answer: it says so in the answer, or it does not.
    hangs_up_after: Literal["never", "as announced", "unannounced"] = "never"
    #: Colours are kept as the nearest multiple of this, of 255.
    coarse: int = 1
    #: A change of what it shows takes so long, in ms.
    fades_ms: int = 0
    #: It says that it is another.
    identity: str | None = None

    def clear(self) -> None:
        """All is well again."""
        self._become(Faults())

    def switch(self, wishes: Mapping[str, object]) -> None:
        """Some of them, by name; ``ValueError`` with a sentence where that cannot be."""
        for name, value in wishes.items():
            if name not in _WANTS:
                raise ValueError(f"no fault is called {name}, expected {', '.join(_WANTS)}")
            fits, expected = _WANTS[name]
            if not fits(value):
                raise ValueError(f"{name}: {value!r} is none, expected {expected}")
        for name, value in wishes.items():
            setattr(self, name, tuple(value) if isinstance(value, list) else value)

    def _become(self, other: Faults) -> None:
        for field in fields(self):
            setattr(self, field.name, getattr(other, field.name))


def _whole(value: object, least: int, most: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and least <= value <= most


def _range(value: object) -> bool:
    return (
        isinstance(value, list)
        and len(value) == len(("least", "most"))
        and all(_whole(each, 0, _LONGEST_MS) for each in value)
    )


_LONGEST_MS: Final = 60_000
_MANY: Final = 1_000_000
_Wants = tuple[Callable[[object], bool], str]
_COUNT: Final[_Wants] = (lambda value: _whole(value, 0, _MANY), "a whole number from 0")
_FLAG: Final[_Wants] = (lambda value: isinstance(value, bool), "true or false")
#: What each of them may be, and how that is said.
_WANTS: Final[Mapping[str, _Wants]] = {
    "delay_ms": (_range, "[least, most], each from 0 to 60000"),
    "status": (lambda v: v is None or _whole(v, 200, 599), "a status from 200 to 599, or null"),
    "refuses": _COUNT,
    "loses": _COUNT,
    "says_no": _COUNT,
    "hangs": _FLAG,
    "drops": _FLAG,
    "off": _FLAG,
    "bears": (lambda v: v is None or _whole(v, 1, _MANY), "a whole number from 1, or null"),
    "too_many": (lambda v: v in ("busy", "hangs up"), "busy or hangs up"),
    "one_connection": _FLAG,
    "hangs_up_after": (
        lambda v: v in ("never", "as announced", "unannounced"),
        "never, as announced or unannounced",
    ),
    "coarse": (lambda v: _whole(v, 1, 128), "a whole number from 1 to 128"),
    "fades_ms": (lambda v: _whole(v, 0, _LONGEST_MS), "a whole number from 0 to 60000"),
    "identity": (lambda v: v is None or isinstance(v, str), "a text, or null"),
}
