"""The controller's own look at power-up: read, compared with ours, written."""

from __future__ import annotations

import json

from bridge.lights.dialect.booting import Booting
from bridge.lights.dialect.grammar import BootTemplate, RequestTemplate
from bridge.lights.dialect.readback import Observation
from bridge.lights.look import Native
from tests.lights.dialect.building import RACK, WALL, grammar_of, read_of, values_of
from tests.lights.dialect.test_stored_problems import BOOT_READ, BOOT_WRITE

GREY = Native("steady", (216, 216, 208), 0.25)
WHOLE_READ = read_of(
    request=RequestTemplate("GET", "/wake"),
    each=None,
    match=(),
    values=values_of({"/paint": "colour", "/drive": "level"}),
)
WHOLE = Booting(grammar_of(), BootTemplate(WHOLE_READ, BOOT_WRITE))
BY_BAR = Booting(
    grammar_of(),
    BootTemplate(
        BOOT_READ,
        RequestTemplate("PUT", "/bars/{number}/wake", body={"p": "{colour}", "d": "{level}"}),
    ),
)


def test_one_look_stands_for_the_whole_controller() -> None:
    """Where nothing in the request tells segments apart."""
    assert WHOLE.places([WALL, RACK]) == (WALL,)
    ((request, about),) = WHOLE.reads([WALL, RACK])
    assert (request.path, about) == ("/wake", (WALL,))
    (write,) = WHOLE.writes([(WALL, GREY)])
    assert (write.path, json.loads(write.body or b"")) == (
        "/wake",
        {"paint": "d8d8d0", "drive": 64},
    )


def test_segments_are_written_one_by_one() -> None:
    """Where the request names one."""
    assert BY_BAR.places([WALL, RACK]) == (WALL, RACK)
    writes = BY_BAR.writes([(WALL, GREY), (RACK, GREY)])
    assert [write.path for write in writes] == ["/bars/1/wake", "/bars/2/wake"]


def test_only_another_look_differs() -> None:
    """As it would be written, rounding and all."""
    same = WHOLE.observed(b'{"paint": "d8d8d0", "drive": 64}', [WALL])
    other = WHOLE.observed(b'{"paint": "ffffff", "drive": 64}', [WALL])
    assert isinstance(same, Observation)
    assert isinstance(other, Observation)
    assert WHOLE.differences(WALL, GREY, same.seen["wall"]) == ()
    assert WHOLE.differences(WALL, GREY, other.seen["wall"]) == ("colour",)


def test_an_effect_that_is_not_stored_adds_nothing() -> None:
    """What an effect adds to a show is no part of what is stored."""
    assert b"plain" not in (WHOLE.writes([(WALL, GREY)])[0].body or b"")
