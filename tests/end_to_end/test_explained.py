"""``explain`` says what the daemon does with the same messages: it is the same core."""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import Iterable
from typing import Any

import pytest

from tests.end_to_end.workroom import RESTING_PAGE, Room, running, until

#: What kestrel says, by message and where it has several topics by last level, one after the other.
SAYINGS: dict[str, dict[str, bytes]] = {
    "out of material": {"snag/spool": b"out", "laid": b"7 of 20 courses", "doing": b"waiting"},
    "done, and its lid open": {
        "snag/spool": b"clear",
        "outcome": b"sound",
        "snag/lid": b"x",
        "doing": b"ashore",
    },
    "not understood": {"snag/lid": b"clear", "doing": b"l\xe4ying"},
}


Said = Iterable[tuple[str, bytes]]


async def _explained(room: Room, printer: str, sayings: Said) -> dict[str, Any]:
    words: list[str] = []
    for number, (said, body) in enumerate(sayings):
        message, _, level = said.partition("/")
        file = room.folder / f"message-{number}"
        file.write_bytes(body)
        topic = f"@alder/{printer}/{said}" if level else ""
        words += ["--message", f"{message}{topic}={file}"]
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "bridge", "explain", str(room.site)),
        *("--printer", printer, "--json", *words),
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    output, complaint = await process.communicate()
    explained: dict[str, Any] = json.loads(output)
    refused = bool(explained["not_taken"])
    assert (process.returncode, bool(complaint)) == (2 if refused else 0, refused)
    # What a segment shows of several printers hangs on the others too.
    own = [each for each in explained["segments"] if each["table"] == "wall"]
    return {**explained, "segments": own}


@pytest.mark.asyncio
async def test_explain_decides_as_the_daemon_does(room: Room) -> None:
    """Rule and scene, after each of a row of sayings: it is given all that was said until then."""
    said: list[tuple[str, bytes]] = []
    wanted: dict[str, dict[str, Any]] = {}
    for name, sayings in SAYINGS.items():
        said += sayings.items()
        explained = await _explained(room, "kestrel", said)
        wanted[name] = {each["segment"]: each for each in explained["segments"]}
        assert wanted[name].keys() == {"door-frame", "bench-right"}
    with running(room) as bridge:
        await bridge.is_up(room)
        for name, sayings in SAYINGS.items():
            for message, body in sayings.items():
                await room.publish(f"alder/kestrel/{message}", body)
            for segment, each in wanted[name].items():
                rule, scene = each["rule"], f"scene={each['scene']}"
                await bridge.says(f"segment={segment}", rule, scene, seconds=2)
        assert await bridge.end() == 0
        decided = bridge.summary()["segments"]
    for segment, each in wanted["not understood"].items():
        assert (decided[segment]["rule"], decided[segment]["scene"]) == (
            each["rule"],
            each["scene"],
        )


@pytest.mark.asyncio
async def test_what_explain_would_send_is_what_came(room: Room) -> None:
    """Byte for byte: the request that a controller got is the one that was foretold."""
    page = json.dumps({**RESTING_PAGE, "trips": 1 << 5}).encode()
    kestrel = await _explained(room, "kestrel", SAYINGS["out of material"].items())
    plover = await _explained(room, "plover", [("page", page)])
    foretold = [
        (request["method"], request["url"], request["body"])
        for segment in kestrel["segments"] + plover["segments"]
        for request in segment["requests"]
    ]
    assert len(foretold) == 3

    def came() -> set[tuple[str, str, str]]:
        return {
            (seen.method, place.url + seen.target, seen.body.decode())
            for place in room.places.values()
            for seen in place.requests
        }

    with running(room) as bridge:
        await bridge.is_up(room)
        for said, body in SAYINGS["out of material"].items():
            await room.publish(f"alder/kestrel/{said}", body)
        room.page = page
        await until(
            lambda: {(m, u, b or "") for m, u, b in foretold} <= came(), f"{foretold}", bridge
        )
