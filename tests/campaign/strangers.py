"""Who answers at an address: nothing is shown before that is known, nor on somebody else.

It shares no code with the bridge. Quoted are the sentences of the design that a rule stands for.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, Final

from bridge.engine.actions import Request
from bridge.engine.events import Answered
from tests.campaign.ledger import BrokenPromiseError

#: Where each is asked who it is, under which key it says so, and what it should say.
NAMES: Final = {
    "frame": ("/who", "name", "F-1"),
    "sill": ("/plate", "called", "oak sill"),
    "beam": ("/tag", "tag", "beam 7"),
    "rail": ("/tag", "tag", "rail 7"),
}
#: Where a read-back has the mark of the boot; a frame has none, only an uptime.
MARK: Final = "since"


@dataclass
class Caller:
    """What the bridge can know of who answers at one address."""

    name: str
    #: Whether nothing was answered yet that tells who it is.
    doubt: bool = True
    #: Whether only its name can tell: at a start, and when it began anew.
    must_say: bool = True
    #: It said another name than it should, and whether a person was told.
    stranger: bool = False
    told: bool = False
    mark: str | None = None

    def lost(self) -> None:
        """No answer: whoever answers next may be another."""
        self.doubt = True

    def asked(self, *, is_right: bool) -> None:
        """It said who it is."""
        self.stranger, self.told = not is_right, self.told and not is_right
        if is_right:
            self.doubt = self.must_say = False
        else:
            self.unclear()

    def unclear(self) -> None:
        """It did not say; the mark that was read last may be another's."""
        self.doubt, self.must_say, self.mark = True, True, None

    def read(self, mark: str | None) -> None:
        """It was read back. "A restart is a boot mark that changed ...; then identity"."""
        if self.mark is not None and mark != self.mark:
            self.doubt = self.must_say = True
        elif not self.must_say:
            self.doubt = False
        self.mark = mark


class Strangers:
    """Every address whose controller says who it is."""

    def __init__(self) -> None:
        self.began()

    def began(self) -> None:
        """A new bridge knows nobody."""
        self.at = {name: Caller(name) for name in NAMES}

    def sent(self, request: Request) -> None:
        """Pixels at another's address are not that segment's: I7, as they are not owned."""
        caller = self.at.get(request.controller)
        if caller is None or request.method == "GET":
            return
        if caller.stranger:
            raise BrokenPromiseError("I7", f"{caller.name} is told looks, being another")
        if caller.doubt:
            raise BrokenPromiseError("I7", f"{caller.name} is told looks, being perhaps another")

    def unanswered(self, request: Request) -> None:
        """Whoever answers next may be another."""
        if request.controller in self.at:
            self.at[request.controller].lost()

    def answered(self, request: Request, event: Answered) -> bool:
        """An answer; whether it says that it is another."""
        caller = self.at.get(request.controller)
        if caller is None or request.method != "GET" or event.status != 200:
            return False
        said = _said(event.body)
        path, key, name = NAMES[caller.name]
        if request.target != path:
            if said is not None:
                caller.read(said.get(MARK))
            return False
        if said is None:
            caller.unclear()
            return False
        caller.asked(is_right=said.get(key) == name)
        return caller.stranger

    def noted(self, controller: str) -> None:
        """A person is told that another answers there."""
        self.at[controller].told = True

    def handled(self) -> None:
        """The bridge is done with what it was handed."""
        for caller in self.at.values():
            if caller.stranger and not caller.told:
                how = f"another answers for {caller.name}, and that is not reported"
                raise BrokenPromiseError("I3", how)


def _said(body: bytes) -> dict[str, Any] | None:
    try:
        said: dict[str, Any] = json.loads(body)
    except json.JSONDecodeError:
        return None
    return said
