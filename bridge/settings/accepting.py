"""Findings that somebody accepts, from the file's model."""

from __future__ import annotations

from typing import Final

from bridge.engine.site import Accepted
from bridge.settings.nearest import listed
from bridge.settings.rules_file import Accept, RulesFile
from bridge.settings.shapes import whole_items
from bridge.settings.spot import Spot

#: What a finding can be about.
SUBJECTS: Final = tuple(key for key in Accept.model_fields if key not in {"finding", "because"})


def accepted_of(rules: RulesFile, spot: Spot) -> tuple[Accepted, ...]:
    """Each with what it is about."""
    return tuple(
        _accepted(keys, spot.at("accept", index)) for index, keys in whole_items(rules.accept)
    )


def _accepted(keys: Accept, spot: Spot) -> Accepted:
    about = tuple((key, getattr(keys, key)) for key in SUBJECTS if key in keys.model_fields_set)
    if not about:
        # All of a kind, those to come as well, is more than anybody has looked at.
        spot.wrong(f"says not what it is about, expected {listed(SUBJECTS)}")
    return Accepted(keys.finding, about, keys.because, spot.source)
