"""What can be wrong with a simulated controller, each thing switched while it runs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Annotated, Final, Literal

from pydantic import Field, TypeAdapter, ValidationError

Count = Annotated[int, Field(ge=0, strict=True)]


@dataclass(slots=True)
class Faults:
    """All is well with one that is made without any."""

    #: It waits between so long and so long, in ms, before it does what it is asked.
    delay_ms: tuple[Count, Count] = (0, 0)
    #: It answers with this status instead of doing anything.
    status: Annotated[int, Field(ge=200, le=599, strict=True)] | None = None
    #: So many requests more are answered with 500, and nothing is done.
    refuses: Count = 0
    #: So many writes more are answered as if done, and lost.
    loses: Count = 0
    #: So many writes more are answered with 200 and a body that says no.
    says_no: Count = 0
    #: It does what it is told and never answers.
    hangs: bool = False
    #: It hangs up without doing anything.
    drops: bool = False
    #: Nobody is there.
    off: bool = False
    #: It bears so many requests in any second; ``None``: any number.
    bears: Annotated[int, Field(ge=1, strict=True)] | None = None
    #: What it does with more than it bears: it says that it is busy, or hangs up.
    too_many: Literal["busy", "hangs up"] = "busy"
    #: Whoever comes while another is connected is hung up on.
    one_connection: bool = False
    #: It hangs up after each answer: it says so in the answer, or it does not.
    hangs_up_after: Literal["never", "as announced", "unannounced"] = "never"
    #: Colours are kept as the nearest multiple of this, of 255.
    coarse: Annotated[int, Field(ge=1, le=128, strict=True)] = 1
    #: A change of what it shows takes so long, in ms.
    fades_ms: Count = 0
    #: It says that it is another.
    identity: str | None = None

    def clear(self) -> None:
        """All is well again."""
        self._become(Faults())

    def switch(self, wishes: Mapping[str, object]) -> None:
        """Some of them, by name; ``ValueError`` with a sentence where that cannot be."""
        unknown = sorted(wishes.keys() - _NAMES)
        if unknown:
            raise ValueError(f"no fault is called {unknown[0]}, expected {', '.join(_NAMES)}")
        try:
            self._become(_WRITTEN.validate_python(asdict(self) | dict(wishes)))
        except ValidationError as error:
            first = error.errors()[0]
            raise ValueError(f"{first['loc'][0]}: {first['msg']}") from error

    def _become(self, other: Faults) -> None:
        for field in fields(self):
            setattr(self, field.name, getattr(other, field.name))


_NAMES: Final = tuple(field.name for field in fields(Faults))
_WRITTEN: Final = TypeAdapter(Faults)
