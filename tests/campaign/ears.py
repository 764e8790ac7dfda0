"""What can be known of a printer from what was heard, in words of its own.

It shares no code with the bridge. Quoted are the sentences of the design that a rule stands for.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

from tests.campaign.sites import FRESH_MS

#: Facts by name; ``None`` is unknown, a name that is missing is never offered. Reasons are a set
#: of "keyword severity" and whether that is all of them.
Facts: TypeAlias = dict[str, Any]
Json: TypeAlias = Any
FOREVER: Final = 1 << 60
_LINKS: Final = {"kestrel": "aboard", "heron": "tether"}


@dataclass
class Doc:
    """One document as heard; ``body`` ``None``: something was heard that cannot be known."""

    body: bytes | None
    value: Any = None
    #: The last instant at which it counts.
    until: int = FOREVER


class Ear:
    """One printer: its documents by matter, and the facts in them."""

    def __init__(self, printer: str) -> None:
        self.docs: dict[str, Doc] = {}
        self._link = _LINKS.get(printer, "")
        self._read = {"kestrel": _kestrel, "plover": _plover, "heron": _heron}[printer]
        self._was_up = self._deaf = False
        #: Whether its source is up: that nothing arrives says nothing while nothing can.
        self.hears = False

    def lost(self) -> None:
        """The source is lost: "drop the printer's documents"."""
        self.docs.clear()
        self._was_up = self._deaf = self.hears = False

    def hear(self, matter: str, body: bytes, now: int, *, retained: bool) -> None:
        """One message, on time."""
        doc = self.docs.get(matter)
        held = doc if doc is not None and doc.body is not None else None
        if retained and held is None and matter != self._link:
            return  # "counts at first only with `retained: trust`"
        if retained and held is not None:
            if body != held.body:  # "where it differs from the document held makes it unknown"
                self.docs[matter] = Doc(None)
            return  # "renews nothing"
        value = _value(matter, body, held)
        if value is not None:
            # "Any readable message renews, an equal body ... too"; "`fresh_for` is inclusive".
            fresh_ms = FRESH_MS.get(matter.partition("/")[0])
            self.docs[matter] = Doc(body, value, FOREVER if fresh_ms is None else now + fresh_ms)
        elif doc is None:
            self.docs[matter] = Doc(None)

    def facts(self, now: int) -> Facts:
        """All of them, at ``now``."""
        values = {
            matter: doc.value if doc.body is not None and now <= doc.until else None
            for matter, doc in self.docs.items()
        }
        link = values.get(self._link)
        is_up = link in {"aye", "fast"}
        if self._was_up and not is_up:
            # "Link down or unknown ... drop the printer's documents."; that nothing is heard from
            # then on says nothing until it is up again.
            self._deaf = True
            self.docs = {m: doc for m, doc in self.docs.items() if m == self._link}
            values = {self._link: link}
        self._was_up, self._deaf = is_up, self._deaf and not is_up
        if (self._deaf or not self.hears) and not any(
            matter.startswith("snag/") for matter in values
        ):
            values["snag/"] = None
        return self._read(values)


def _value(matter: str, body: bytes, held: Doc | None) -> Json:
    """What a message makes of what is held; ``None`` where it cannot be read."""
    try:
        text = body.decode()
        value = json.loads(text) if matter in {"log", "page"} else text
    except ValueError:
        return None
    if matter != "log" or "entry" in value:
        return value
    # "A `patch` message names `full` ...; until one is heard, patches are kept out."
    return None if held is None else _patched(held.value, value)


def _patched(old: Json, patch: Json) -> Json:
    """RFC 7396."""
    if not isinstance(patch, dict):
        return patch
    new = dict(old) if isinstance(old, dict) else {}
    for key, value in patch.items():
        new[key] = _patched(new.get(key), value)
    return {key: value for key, value in new.items() if patch.get(key, 0) is not None}


def _kestrel(values: dict[str, Any]) -> Facts:
    word, laid = values.get("doing"), values.get("laid")
    states = {"ashore": "idle", "laying": "processing", "aground": "stopped"}
    snags = {m: value for m, value in values.items() if m.startswith("snag/")}
    known = {
        {"snag/spool": "material-empty error", "snag/lid": "cover-open warning"}[matter]
        for matter, value in snags.items()
        if value not in {None, "clear"}
    }
    facts = {
        "state": states.get(word or ""),
        "progress": None if laid is None else int(laid) / 100,
        # "the known keywords and whether it is complete"; none heard is complete, `absent: none`.
        "reasons": (known, None not in snags.values()),
    }
    if values.get("aboard") == "gone":
        facts = dict.fromkeys(facts)  # "`link` down makes every other fact unknown"
    return {**facts, "stale": word is None}


def _plover(values: dict[str, Any]) -> Facts:
    page = values.get("page")
    if page is None:
        return {**dict.fromkeys(("state", "job", "progress", "reasons")), "stale": True}
    duty, trips, closed = page["duty"], page["trips"], page["closed"]
    known = {
        word for bit, word in ((1, "cover-open error"), (8, "material-empty error")) if trips & bit
    }
    return {
        "state": "stopped" if page["halted"] else {7: "idle", 21: "processing"}.get(duty),
        # "only an absent place or an unmet `is` goes on to the next"; `unless` is as if absent.
        "job": {"F": "completed", "B": "aborted"}[closed]
        if closed
        else {21: "processing", 7: "no-value"}.get(duty),
        "progress": page["share"] / 100 if page["share"] >= 0 else None,
        "reasons": (known, True),
        "stale": False,
    }


def _heron(values: dict[str, Any]) -> Facts:
    # "`fresh_while: link`, while the link is up"; its reader offers no reasons.
    log = values.get("log") if values.get("tether") == "fast" else None
    if log is None:
        return {**dict.fromkeys(("state", "job", "progress")), "stale": True}
    piece = log.get("piece", {})
    return {
        "state": {"aside": "idle", "at it": "processing", "stuck": "stopped"}.get(log["hand"]),
        "job": {"whole": "completed", "broken": "aborted"}.get(piece.get("closed")),
        "progress": piece["done"] / piece["all"] if "done" in piece else None,
        "stale": False,
    }
