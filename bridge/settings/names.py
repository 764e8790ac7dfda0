"""Names that the files give to things, and the check that one which is used is also given."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from bridge.settings.nearest import listed, meant, shown
from bridge.settings.spot import Spot


@dataclass(frozen=True, slots=True)
class Names:
    """The names of one kind of thing; ``known`` is ``None`` where they could not be read.

    A thing that has a problem of its own is known all the same: to say that it is not would be
    noise.
    """

    what: str
    where: str
    known: frozenset[str] | None

    def has(self, spot: Spot, name: str) -> bool:
        """Whether the name is known; puts a problem at ``spot`` where it is not."""
        if self.known is None or name in self.known:
            return True
        spot.wrong(f"{shown(name)} {self._is_none(name)}")
        return False

    def has_key(self, spot: Spot, name: str) -> bool:
        """The same for a name that is a key, which begins the sentence."""
        if self.known is None or name in self.known:
            return True
        spot.wrong_key(self._is_none(name))
        return False

    def _is_none(self, name: str) -> str:
        return f"is no {self.what} of {self.where}{meant(name, self.known or ())}"


def refuse_clashes(spot: Spot, names: Iterable[str]) -> None:
    """Names that differ only in case: a file system, or a person, takes them for one."""
    folded: dict[str, list[str]] = defaultdict(list)
    for name in names:
        folded[name.casefold()].append(name)
    for same in folded.values():
        for name in same[1:]:
            others = listed(map(shown, same[: same.index(name)]), "and")
            spot.at(name).wrong_key(f"differs from {others} only in case")
