"""Supplies and what hangs on them, from the site's model."""

from __future__ import annotations

from bridge.engine.site import Draws, Supply
from bridge.settings.names import Names, refuse_clashes
from bridge.settings.shapes import whole
from bridge.settings.site_file import Controller as ControllerKeys
from bridge.settings.site_file import SiteFile
from bridge.settings.spot import Spot


def draws_of(keys: ControllerKeys) -> Draws | None:
    """What a controller's pixels draw."""
    return None if keys.draws is None else Draws(keys.draws.channel, keys.draws.idle)


def supplies_of(site: SiteFile, spot: Spot) -> dict[str, Supply]:
    """The supplies; problems go to ``spot``, the file's top."""
    controllers = Names("controller", "site.yaml", frozenset(site.controllers))
    known = dict(whole(site.controllers))
    refuse_clashes(spot.at("supplies"), site.supplies)
    fed: dict[str, str] = {}
    found = {}
    for name, keys in whole(site.supplies):
        at = spot.at("supplies", name)
        for index, controller in enumerate(keys.feeds):
            here = at.at("feeds", index)
            if not controllers.has(here, controller):
                continue
            if controller in fed:
                here.wrong(
                    f"{controller!r} is fed by {fed[controller]} already; where a run has two "
                    "supplies, give each its own controller, or take them as one with both limits"
                )
            elif controller in known and known[controller].draws is None:
                here.wrong(
                    f"{controller!r} does not say what its pixels draw; give it "
                    "draws: {channel: 12 mA, idle: 1 mA} from their data sheet"
                )
            fed.setdefault(controller, name)
        if keys.reserve >= keys.limit:
            at.at("reserve").wrong_key("leaves nothing of the limit for any light")
        source = spot.document.key_source(at.path)
        found[name] = Supply(name, keys.limit, tuple(keys.feeds), keys.reserve, source)
    return found
