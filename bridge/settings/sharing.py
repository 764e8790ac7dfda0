"""What a segment must have so that several printers can share it."""

from __future__ import annotations

from fractions import Fraction
from math import ceil
from typing import Final

from bridge.rules.sharing import LEAST_MS
from bridge.scenes.parts import LEAST_PIXELS
from bridge.settings.site_file import Controller, Segment
from bridge.settings.spot import Spot

#: A share that is shorter is one spot of light from the other side of a room.
LEAST_MM: Final = 100


def check_share(keys: Segment, controller: Controller | None, spot: Spot) -> None:
    """Put at ``spot`` what keeps this segment from being shared as it says.

    ``controller`` is ``None`` where it could not be read.
    """
    if len(keys.printers) < 2 and "share" in keys.model_fields_set:
        spot.at("share").wrong("there is nothing to share with fewer than two printers")
    elif len(keys.printers) >= 2 and keys.share != "worst":
        _check_room(keys, controller, spot.at("share"))
    if "each" in keys.model_fields_set:
        _check_each(keys, spot.at("each"))


def _check_each(keys: Segment, spot: Spot) -> None:
    if keys.share != "rotate":
        spot.wrong("is the time of each printer's turn, which only 'share: rotate' has")
    elif keys.each < LEAST_MS:
        spot.wrong(
            f"{keys.each / 1000:g} s is too short for a glance, at least {LEAST_MS // 1000}s"
        )


def _check_room(keys: Segment, controller: Controller | None, spot: Spot) -> None:
    if keys.share == "rotate":
        _check_mark(keys, spot)
    elif controller is not None:
        if controller.pitch is None:
            spot.wrong(
                f"split needs the 'pitch' of {keys.on}, from which the length of a share follows"
            )
        _check_shares(keys, controller.pitch, spot)


def _check_mark(keys: Segment, spot: Spot) -> None:
    needed = LEAST_PIXELS * len(keys.printers)
    if keys.length < needed:
        spot.wrong(
            f"rotate tells whose turn it is by a mark with {LEAST_PIXELS} pixels for each printer,"
            f" which needs a length of {needed}, not {keys.length}"
        )


def _check_shares(keys: Segment, pitch: Fraction | None, spot: Spot) -> None:
    """Where the pitch is not known, only what holds for every pitch."""
    of = len(keys.printers)
    least = max(LEAST_PIXELS, ceil(LEAST_MM / pitch) if pitch else 0)
    share = keys.length // of
    if share < least:
        length = f", {float(share * pitch):.1f} mm" if pitch else ""
        spot.wrong(
            f"split leaves a printer {share} of {keys.length} pixels{length}: at least"
            f" {LEAST_PIXELS} and {LEAST_MM} mm, which needs a length of {least * of} or more"
        )
