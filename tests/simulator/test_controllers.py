"""What every simulated controller does, whatever its dialect: faults, refusals, forgetting."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from bridge.simulator.bars import Bars
from bridge.simulator.beads import Beads
from bridge.simulator.controllers import SimulatedController
from bridge.simulator.pixels import POWER_UP
from bridge.simulator.shelves import Shelves


@dataclass(frozen=True, slots=True)
class Request:
    """One request, without what does not matter here."""

    method: str
    path: str
    query: dict[str, str]
    body: object = None


@dataclass(frozen=True, slots=True)
class Kind:
    """A controller, and how it is told to show red on its first two pixels of three."""

    make: Callable[[], SimulatedController]
    show: Request
    read: Request


KINDS = [
    Kind(
        lambda: Bars("D", 3, {1: (0, 2), 2: (2, 1)}),
        Request("PUT", "/bars/1", {}, {"paint": "ff0000", "drive": 4095, "motion": "plain"}),
        Request("GET", "/bars", {}),
    ),
    Kind(
        lambda: Shelves("oak", 3, {1: (0, 2), 2: (2, 1)}),
        Request(
            "POST", "/shelves", {}, {"shelf-1": {"turn": 0, "depth": 1000, "shine": 1000, "way": 0}}
        ),
        Request("GET", "/shelves", {}),
    ),
    Kind(
        lambda: Beads("5", 3),
        Request(
            "POST",
            "/beads",
            {"from": "1", "to": "2", "tint": str(0x00FF00), "lit": "yes", "habit": "still"},
        ),
        Request("GET", "/beads", {"from": "1", "to": "3"}),
    ),
]
RED = bytes((255, 0, 0))


def send(controller: SimulatedController, request: Request, now_ms: int = 0) -> tuple[int, bytes]:
    """Hand a request over."""
    body = b"" if request.body is None else json.dumps(request.body).encode()
    return controller.handle(request.method, request.path, request.query, {}, body, now_ms)


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_told_is_seen(kind: Kind) -> None:
    """The pixels told give the colour, the others keep what they had."""
    controller = kind.make()
    assert controller.pixels(0) == POWER_UP * 3
    assert send(controller, kind.show)[0] in {200, 204}
    assert controller.pixels(0) == RED * 2 + POWER_UP


@pytest.mark.parametrize("kind", KINDS)
def test_a_lost_write_is_answered_as_if_done(kind: Kind) -> None:
    """The answer is the same to the byte, and so only a look at the pixels tells."""
    good, bad = kind.make(), kind.make()
    bad.faults.loses = 1
    assert send(good, kind.show) == send(bad, kind.show)
    assert bad.pixels(0) == POWER_UP * 3
    assert (bad.writes, bad.lost) == (1, 1)
    send(bad, kind.show)
    assert bad.pixels(0) == RED * 2 + POWER_UP


@pytest.mark.parametrize("kind", KINDS)
def test_a_refusing_controller_does_nothing(kind: Kind) -> None:
    """Neither looks nor acts while it answers with an error."""
    controller = kind.make()
    controller.faults.status = 500
    assert send(controller, kind.show)[0] == 500
    assert send(controller, kind.read)[0] == 500
    controller.faults.clear()
    assert controller.pixels(0) == POWER_UP * 3
    assert send(controller, kind.read)[0] == 200


@pytest.mark.parametrize("kind", KINDS)
def test_so_many_requests_are_refused(kind: Kind) -> None:
    """Counted, whatever they ask; then all is well."""
    controller = kind.make()
    controller.faults.refuses = 2
    assert [send(controller, request)[0] // 100 for request in [kind.read, kind.show] * 2] == [
        5,
        5,
        2,
        2,
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_a_reboot_forgets_and_can_be_noticed(kind: Kind) -> None:
    """The pixels, the memory and the sign of a start all change."""
    controller = kind.make()
    fresh = send(controller, kind.read, 0)
    send(controller, kind.show, 10)
    before = send(controller, kind.read, 60_000)
    controller.reboot(61_000)
    after = send(controller, kind.read, 61_000)
    assert controller.pixels(61_000) == POWER_UP * 3
    assert before != after
    if isinstance(controller, Shelves):  # its mark is another at each start
        assert after[1] != fresh[1]
    else:  # its time awake begins again
        assert after == fresh


@pytest.mark.parametrize("kind", KINDS)
def test_without_power_it_is_dark(kind: Kind) -> None:
    """The pixels are fed by the same supply."""
    controller = kind.make()
    send(controller, kind.show)
    controller.faults.off = True
    assert controller.pixels(0) == bytes(9)


@pytest.mark.parametrize("kind", KINDS)
def test_every_request_is_counted(kind: Kind) -> None:
    """Also those that were refused: a limit is about what arrives."""
    controller = kind.make()
    send(controller, kind.read, 5)
    send(controller, Request("DELETE", "/everything", {}), 7)
    assert controller.asked_ms == [5, 7]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("method", "path", "body"),
    [
        ("GET", "/nowhere", b""),
        ("PATCH", "/bars", b""),
        ("PUT", "/bars/1", b"{"),
        ("PUT", "/bars/9", b"{}"),
        ("PUT", "/bars/1", b"\xff\xfe"),
        ("POST", "/shelves", b"[]"),
        ("POST", "/shelves", b'{"shelf-1": 3}'),
        ("POST", "/beads", b""),
        ("POST", "/beads/string", b'{"from": true, "tints": []}'),
    ],
)
def test_nonsense_is_refused_with_a_sentence(
    kind: Kind, method: str, path: str, body: bytes
) -> None:
    """A client's error, in JSON, and nothing changes."""
    controller = kind.make()
    status, answer = controller.handle(method, path, {}, {}, body, 0)
    assert 400 <= status < 500
    assert json.loads(answer)
    assert controller.pixels(0) == POWER_UP * 3
    assert controller.writes == 0
