"""A simulated controller for the reconciler: it keeps what it is told, and can lose it."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from bridge.facts.places import compile_place
from bridge.lights.dialect.dialect import Dialect, Prepared
from bridge.lights.dialect.grammar import (
    DialectGrammar,
    IdentifyTemplate,
    Limits,
    NativeEffect,
    ReadTemplate,
    ReplyCheck,
    RequestTemplate,
    Restart,
)
from bridge.lights.look import Look, Moving, Native, Still
from bridge.lights.place import Place

SETTLES_MS = 300
EVERY_MS = 15_000
EFFECTS = {
    "steady": (NativeEffect("calm"),),
    "flash": (NativeEffect("hop", period_ms=600),),
}
#: Two pixels' text fits one body, four do not, so that painting takes several.
SMALL_BODY = 40

_READ = ReadTemplate(
    RequestTemplate("GET", "/pegs"),
    EVERY_MS,
    values=(
        (compile_place("/tint"), "colour"),
        (compile_place("/push"), "level"),
        (compile_place("/act"), "effect"),
        (compile_place("/row"), "pixels"),
    ),
    each=compile_place("/pegs"),
    match=((compile_place("/peg"), "{number}"),),
    restart=Restart(compile_place("/up"), "uptime", 1.0),
)
TOLD = {"tint": "{colour}", "push": "{level}", "act": "{effect}"}

#: One peg a request; painting needs several; it is read back and says who it is.
PEGS = DialectGrammar(
    "pegs",
    Limits(requests=4, body_bytes=SMALL_BODY, timeout_ms=2000, settles_in_ms=SETTLES_MS),
    RequestTemplate("PUT", "/pegs/{number}", body=TOLD),
    EFFECTS,
    paint=RequestTemplate(
        "PUT",
        "/pegs/{number}/row",
        body={"from": "{first}", "row": {"each": "pixel", "put": "{colour}"}},
    ),
    read=_READ,
    identify=IdentifyTemplate(
        RequestTemplate("GET", "/me"), compile_place("/name"), compile_place("/pixels")
    ),
)
#: As ``PEGS``, and it can neither be read nor asked.
MUTE_PEGS = replace(PEGS, name="mute pegs", read=None, identify=None)
#: Several pegs in one request; painting tells only what changed.
BOARD = replace(
    PEGS,
    name="board",
    limits=replace(PEGS.limits, body_bytes=200),
    show=RequestTemplate(
        "PUT", "/pegs", body={"each": "segment", "put": {"peg": "{number}", **TOLD}}
    ),
    paint=RequestTemplate(
        "PUT",
        "/pegs/{number}/strokes",
        body={"each": "range", "put": {"from": "{first}", "count": "{length}", "ink": "{colour}"}},
    ),
    identify=None,
)
#: Every peg in one request, those that are not ours as they were read.
WHOLE_BOARD = replace(
    BOARD,
    name="whole board",
    show=RequestTemplate(
        "PUT",
        "/pegs",
        body={"each": "segment", "put": {"peg": "{number}", **TOLD}},
        sends="all",
        reply=ReplyCheck(compile_place("/ok"), wanted=True),
    ),
    identify=PEGS.identify,
)
#: What was told shows only when a second request says so.
LEVER = replace(
    PEGS,
    name="lever",
    show=RequestTemplate(
        "PUT", "/pegs/{number}", body=TOLD, then=RequestTemplate("POST", "/pegs/{number}/pull")
    ),
    identify=None,
)

#: Several pegs in one request, and then one lever for all.
BOARD_LEVER = replace(
    BOARD,
    name="board with a lever",
    show=RequestTemplate(
        "PUT",
        "/pegs",
        body={"each": "segment", "put": {"peg": "{number}", **TOLD}},
        then=RequestTemplate("POST", "/pull"),
    ),
)

GRAMMARS = {each.name: each for each in (PEGS, MUTE_PEGS, BOARD, WHOLE_BOARD, LEVER, BOARD_LEVER)}
LENGTH = 4
PLACES = tuple(Place(f"s{n}", n, LENGTH * (n - 1), LENGTH) for n in (1, 2, 3))
#: A peg on the same board that nobody gave us.
FOREIGN = 9
FOREIGN_LOOK = {"tint": "123456", "push": 77, "act": "calm"}

RED = Native("steady", (255, 0, 0), 1.0)
BLUE = Native("steady", (0, 0, 255), 0.5)
ALARM = Native("flash", (255, 0, 0), 1.0)
BAR = Still(bytes((0, 255, 0)) * 2 + bytes((9, 9, 9)) * 2)
LONGER_BAR = Still(bytes((0, 255, 0)) * 3 + bytes((9, 9, 9)))
#: A flash that no controller of these has for its own.
TWO_FRAMES = Moving((bytes((255, 0, 0)) * 4, bytes((60, 0, 0)) * 4), (1250,))
LOOKS: tuple[Look, ...] = (RED, BLUE, ALARM, BAR, LONGER_BAR)

_DARK = {"tint": "000000", "push": 0, "act": "calm"}


@dataclass
class Board:
    """Pegs by number. ``shown`` is what their pixels show, ``held`` what a lever would pull."""

    name: str | None = "pegboard"
    pixels: int = LENGTH * len(PLACES)
    has_lever: bool = False
    is_whole: bool = False
    booted_ms: int = 0
    shown: dict[int, dict[str, Any]] = field(default_factory=dict)
    held: dict[int, dict[str, Any]] = field(default_factory=dict)
    #: Pegs that refuse what they are told.
    refuses: set[int] = field(default_factory=set)
    reads_refused: bool = False

    def __post_init__(self) -> None:
        self.restart(self.booted_ms)

    def restart(self, now_ms: int) -> None:
        """Everything it was told is gone."""
        self.booted_ms = now_ms
        self.held = {}
        self.shown = {int(place.number): dict(_DARK) for place in PLACES}
        self.shown[FOREIGN] = dict(FOREIGN_LOOK)

    def drift(self, number: int) -> None:
        """Somebody else changes a peg."""
        self.shown[number] = {"tint": "ffffff", "push": 3, "act": "calm"}

    def perform(self, request: Prepared, now_ms: int) -> tuple[int, bytes]:
        """Do what is asked, and answer with a status and a body."""
        body: Any = json.loads(request.body) if request.body else None
        if request.path == "/me":
            name = {} if self.name is None else {"name": self.name}
            return _ok({**name, "pixels": self.pixels})
        if request.method == "GET":
            if self.reads_refused:
                return 404, b""
            pegs = [{"peg": number, **told} for number, told in self.shown.items()]
            return _ok({"up": now_ms - self.booted_ms, "pegs": pegs})
        if request.path == "/pegs":
            return self._tell_all(body)
        if request.path == "/pull":
            self.shown.update(self.held)
            self.held = {}
            return _ok({"ok": True})
        _, _, number, *rest = request.path.split("/")
        if int(number) in self.refuses:
            return 400, b"no"
        if rest == ["pull"]:
            self.shown[int(number)] = self.held.pop(int(number), self.shown[int(number)])
        elif rest == ["row"]:
            self._paint(int(number), body["from"], body["row"])
        elif rest == ["strokes"]:
            for stroke in body:
                self._paint(int(number), stroke["from"], [stroke["ink"]] * stroke["count"])
        else:
            (self.held if self.has_lever else self.shown)[int(number)] = body
        return _ok({"ok": True})

    def _tell_all(self, pegs: list[dict[str, Any]]) -> tuple[int, bytes]:
        if any(told["peg"] in self.refuses for told in pegs):
            return 400, b"no"
        if self.is_whole:
            # What is not in the list is gone.
            self.shown = {number: {} for number in self.shown}
        for told in pegs:
            (self.held if self.has_lever else self.shown)[told.pop("peg")] = told
        return _ok({"ok": True})

    def _paint(self, number: int, at: int, inks: list[str]) -> None:
        first = at - LENGTH * (number - 1)
        row = self.shown[number].get("row", ["000000"] * LENGTH)
        self.shown[number] = {"row": [*row[:first], *inks, *row[first + len(inks) :]]}

    def shows(self, place: Place, look: Look) -> bool:
        """Whether the peg's pixels show that look, decided without the dialect's own reading."""
        told = self.shown[int(place.number)]
        if isinstance(look, Moving):
            return any(self.shows(place, Still(each)) for each in look.frames)
        if isinstance(look, Still):
            pixels = [look.frame[at : at + 3].hex() for at in range(0, len(look.frame), 3)]
            return told == {"row": pixels}
        act = {"steady": "calm", "flash": "hop"}[look.effect]
        push = int(look.level * 255 + 0.5)
        return told == {"tint": bytes(look.colour).hex(), "push": push, "act": act}


def _ok(document: object) -> tuple[int, bytes]:
    return 200, json.dumps(document).encode()


def board_for(grammar: DialectGrammar) -> Board:
    """A board that understands the dialect."""
    show = grammar.show
    return Board(
        has_lever=show is not None and show.then is not None,
        is_whole=show is not None and show.sends == "all",
    )


Fate = Literal["answered", "never left", "lost", "reply lost", "busy"]
FATES: tuple[Fate, ...] = ("answered", "never left", "lost", "reply lost", "busy")
DIALECTS = {name: Dialect(grammar) for name, grammar in GRAMMARS.items()}
