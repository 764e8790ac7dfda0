"""A simulated controller that must be told much: its segments, its main switch, its own look.

Its words are its own, so that no other board's reading can be taken for right here.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from typing import Any

from bridge.facts.places import compile_place
from bridge.lights.dialect.dialect import Dialect, Prepared
from bridge.lights.dialect.grammar import (
    BootTemplate,
    CaptureTemplate,
    DialectGrammar,
    Limits,
    NativeEffect,
    ReadTemplate,
    ReplyCheck,
    RequestTemplate,
    Restart,
)
from bridge.lights.place import Place

PLACES = (Place("low", "a", 0, 4), Place("high", "b", 4, 6))
_LOOK = {"dye": "{colour}", "wind": "{level}"}
_VALUES = ((compile_place("/dye"), "colour"), (compile_place("/wind"), "level"))
_ITEM = ReadTemplate(
    RequestTemplate("GET", "/mast"),
    15_000,
    (
        *_VALUES,
        (compile_place("/from"), "first"),
        (compile_place("/span"), "length"),
    ),
    keyed="{number}",
    keyed_at=compile_place("/pennants"),
    restart=Restart(compile_place("/hoisted"), "mark"),
    main=(ReplyCheck(compile_place("/up"), wanted=True),),
)

MAST = DialectGrammar(
    "mast",
    Limits(requests=10, settles_in_ms=200),
    RequestTemplate("PUT", "/pennants/{number}", body=_LOOK),
    {"steady": (NativeEffect(None),)},
    read=_ITEM,
    define=RequestTemplate(
        "PUT", "/pennants/{number}/place", body={"from": "{first}", "span": "{length}"}
    ),
    master=RequestTemplate("PUT", "/up", body=True),
    capture=CaptureTemplate(
        replace(_ITEM, values=(), restart=None, main=()), kept=compile_place("/cloth")
    ),
    restore=RequestTemplate("PUT", "/pennants/{number}/cloth", body="{kept}"),
    boot=BootTemplate(
        ReadTemplate(RequestTemplate("GET", "/dawn"), 0, _VALUES),
        RequestTemplate("PUT", "/dawn", body=_LOOK),
        a_day=2,
    ),
)
#: As it, but its segments are where nobody can read them.
BLIND_MAST = replace(MAST, read=replace(_ITEM, values=_VALUES))
DIALECT, BLIND_DIALECT = Dialect(MAST), Dialect(BLIND_MAST)


@dataclass
class Mast:
    """``pennants`` by number; ``cloth`` is a look in the mast's own writing."""

    up: bool = True
    dawn: dict[str, Any] = field(default_factory=lambda: {"dye": "101010", "wind": 9})
    pennants: dict[str, dict[str, Any]] = field(default_factory=dict)
    hoisted: int = 1
    dawns_written: int = 0
    #: What is stored is not kept.
    forgets_dawn: bool = False
    done: list[str] = field(default_factory=list)

    def lose_power(self) -> None:
        """Nothing is defined any more."""
        self.hoisted, self.pennants = self.hoisted + 1, {}

    def somebody_sets(self, number: str, cloth: str) -> None:
        """By the mast's own page."""
        self.pennants[number] |= {"cloth": cloth, "dye": "abcdef", "wind": 200}

    def perform(self, request: Prepared) -> tuple[int, bytes]:
        """Do what is asked."""
        self.done.append(f"{request.method} {request.path}")
        body: Any = json.loads(request.body) if request.body else None
        match request.path.split("/")[1:]:
            case ["mast"]:
                pennants = {
                    number: {**each, "cloth": each.get("cloth", "plain")}
                    for number, each in self.pennants.items()
                }
                return _ok({"up": self.up, "hoisted": self.hoisted, "pennants": pennants})
            case ["up"]:
                self.up = body
            case ["dawn"] if request.method == "GET":
                return _ok(self.dawn)
            case ["dawn"]:
                self.dawns_written += 1
                self.dawn = self.dawn if self.forgets_dawn else body
            case ["pennants", number, "place"]:
                self.pennants[number] = {"dye": "000000", "wind": 0, **body}
            case ["pennants", number, *rest]:
                if number not in self.pennants:
                    return 404, b""
                changed = {"cloth": body} if rest else {**body, "cloth": "plain"}
                self.pennants[number] |= changed
        return _ok({})


def _ok(document: object) -> tuple[int, bytes]:
    return 200, json.dumps(document).encode()
