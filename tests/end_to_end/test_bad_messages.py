"""Whatever comes in place of a message: one clear line, counted, and the rest keeps working."""

from __future__ import annotations

import json
from dataclasses import dataclass

import pytest

from tests.end_to_end.workroom import FEED_ME, RESTING_PAGE, Bridge, Room, running, until

LOG = "alder/heron/log"
DOING = "alder/kestrel/doing"
WARMTH = "alder/kestrel/warmth"


@dataclass(frozen=True)
class Bad:
    """A message, what the log's line about it says, and under which name it is counted."""

    topic: str
    body: bytes
    says: tuple[str, ...]
    counted: str
    #: How often sending it three times counts: the same value again is no news.
    times: int = 3


BAD = {
    "not JSON": Bad(LOG, b"hand: aside", ("not JSON",), "refused: not JSON"),
    "NaN": Bad(
        LOG, b'{"entry": NaN}', ("NaN",), "refused: has a number that JSON does not have"
    ),
    "1e999": Bad(
        LOG, b'{"entry": 1e999}', ("1e999",), "refused: has a number that JSON does not have"
    ),
    "deeply nested": Bad(
        LOG, b"[" * 100_000 + b"]" * 100_000, ("nested deeper than 64",),
        "refused: nested deeper than 64",
    ),
    "not UTF-8": Bad(DOING, b"l\xe4ying", ("not UTF-8", "0xe4"), "refused: not UTF-8"),
    "10 MiB": Bad(
        DOING, b"x" * (10 << 20), ("message not taken", "larger than 1048576 bytes"),
        "refused: larger than 1048576 bytes",
    ),
    "an unknown word": Bad(
        DOING, b"moor\x1b[2J\ning", ("word without a mapping", "moor", "u001b[2J"),
        "words without a mapping", 1,
    ),
    "another kind of value": Bad(
        WARMTH, "hot °C over 60 °C".encode(), ("value not taken", "'hot' is no number"),
        "values of another kind", 1,
    ),
    "empty": Bad(
        LOG, b"", ("message not taken", "empty: what was held is gone"),
        "refused: empty: what was held is gone",
    ),
}  # fmt: skip


async def _works(room: Room, bridge: Bridge, layer: int) -> None:
    """Turn kestrel's frame, and see to it that what heron says is understood again."""
    await room.kestrel("laying", laid=f"{layer} of 20 courses")
    await until(lambda: room.filled == 6 * layer, f"filled to {layer}", bridge, 2)
    await room.publish("alder/heron/tether", b"fast")
    await room.publish(LOG, b'{"entry": 1, "hand": "aside"}')
    await until(
        lambda: (
            bridge.log.rfind("printer=heron rule=idle")
            > bridge.log.rfind("printer=heron rule=silent")
        ),
        "heron again",
        bridge,
    )


@pytest.mark.asyncio
async def test_a_bad_message_is_one_line_and_the_rest_works(room: Room) -> None:
    """Each kind sent three times, each with a word about it once; afterwards all is as before."""
    with running(room) as bridge:
        await bridge.is_up(room)
        for layer, (name, bad) in enumerate(BAD.items(), 1):
            before = len(bridge.log.splitlines())
            for _ in range(3):
                await room.publish(bad.topic, bad.body)
            await until(
                lambda b=bad, n=before: any(  # type: ignore[misc]
                    line in bridge.log.splitlines()[n:] for line in bridge.lines(*b.says)
                ),
                f"a line about {name}",
                bridge,
            )
            await _works(room, bridge, layer)
            since = "\n".join(bridge.log.splitlines()[before:]).splitlines()
            warnings = [line for line in since if "[info" not in line]
            assert len(warnings) <= 1, (name, warnings)
        assert await bridge.end() == 0
        counted = bridge.summary()["counted"]
    for kind in {bad.counted for bad in BAD.values()}:
        times = sum(bad.times for bad in BAD.values() if bad.counted == kind)
        assert counted[kind] == times, kind


#: A whole page of heron's log, and what may come instead of one.
WHOLE = {"entry": 1, "hand": "aside"}
WRONG_TYPES: dict[str, object] = {
    "a number for a word": {**WHOLE, "hand": 7},
    "an object for a word": {**WHOLE, "hand": {"is": "aside"}},
    "a list for a word": {**WHOLE, "hand": ["aside"]},
    "a truth for a word": {**WHOLE, "hand": True},
    "nothing for a word": {**WHOLE, "hand": None},
    "a list for a page": [WHOLE],
    "a text for a page": "aside",
    "a number for a page": 7,
    "nothing for a page": None,
}


@pytest.mark.asyncio
async def test_a_value_of_the_wrong_type_is_no_comfortable_light(room: Room) -> None:
    """The light says that it does not know, and it knows again with the next good page."""
    with running(room) as bridge:
        await bridge.is_up(room)
        await room.publish("alder/heron/tether", b"fast")

        async def decided(scene: str, times: int, what: str) -> None:
            wanted = ("segment=bench-left", f"scene={scene}")
            await until(lambda: len(bridge.lines(*wanted)) == times, what, bridge)

        for times, (kind, wrong) in enumerate(WRONG_TYPES.items(), 1):
            await room.publish(LOG, json.dumps(WHOLE).encode())
            await decided("ready", times, f"known before {kind}")
            await room.publish(LOG, json.dumps(wrong).encode())
            # It was not known at the start.
            await decided("not-known", times + 1, kind)
            # A log of changes that is no page any more is dropped whole; a word alone is not known.
            why = "stale is true (" if kind.endswith("page") else "state is unknown ("
            assert why in bridge.lines("segment=bench-left")[-1], kind
        await room.kestrel("laying", snag_spool="out")
        await until(lambda: room.bar() == FEED_ME, "the others work", bridge)


@pytest.mark.asyncio
async def test_a_polled_page_of_the_wrong_type_is_no_comfortable_light(room: Room) -> None:
    """As above, for a printer that is asked."""
    with running(room) as bridge:
        await bridge.is_up(room)
        await bridge.says("segment=shelf", "rule=idle")
        good, room.page = room.page, json.dumps({**RESTING_PAGE, "duty": 7}).encode()
        # It was not known at the start.
        shelf = ("segment=shelf", "scene=not-known")
        await until(lambda: len(bridge.lines(*shelf)) == 2, "not known", bridge)
        room.page = good
        await until(lambda: len(bridge.lines("segment=shelf", "rule=idle")) == 2, "idle", bridge)
