"""Controllers that cannot be reached, or are not what the site says: a line each, and no more."""

from __future__ import annotations

import ssl
from pathlib import Path

import pytest
from aiohttp import web
from ruamel.yaml import YAML

from tests.conftest import Certificates, Mosquitto
from tests.end_to_end.workroom import FEED_ME, Bridge, running, until, workroom
from tests.serving import serving


async def _anything(_request: web.Request) -> web.StreamResponse:
    return web.json_response({"done": True})


@pytest.mark.asyncio
async def test_each_is_one_line_and_the_others_go_on(
    tmp_path: Path, mosquitto: Mosquitto, certificates: Certificates
) -> None:
    """A name that is nobody's, a certificate that nobody vouches for, a run that is too short."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificates.lone, certificates.lone_key)
    async with (
        serving(_anything, context=context) as url,
        workroom(tmp_path, mosquitto, with_guests=True) as room,
    ):
        _change(
            room.site,
            bench={"url": "http://bench.invalid"},
            rack={"url": url},
            yard={"pixels": 90},
        )
        with running(room) as bridge:
            await bridge.says("source is up")
            await room.kestrel("laying", snag_spool="out")
            await bridge.says("controller does not answer", "controller=bench", "no host")
            await bridge.says("controller does not answer", "controller=rack", "certificate")
            await bridge.says("controller=yard", "60", "90")
            await until(lambda: room.bar() == FEED_ME, "the door", bridge)
            await until(lambda: len(room.places["pier"].shows()) >= 2, "the pier", bridge)
            for name in ("bench", "rack", "yard"):
                assert len(_warnings(bridge, name)) == 1, bridge.log
            # Whoever is not what the site says is told nothing.
            assert room.places["yard"].shows() == []
            assert await bridge.end() == 0


def _warnings(bridge: Bridge, name: str) -> list[str]:
    return [
        *bridge.lines("warning", f"controller={name}"),
        *bridge.lines("error", f"controller={name}"),
    ]


def _change(site: Path, **controllers: dict[str, object]) -> None:
    path = site / "site.yaml"
    document = YAML().load(path)
    for name, keys in controllers.items():
        document["controllers"][name] |= keys
    YAML().dump(document, path)
