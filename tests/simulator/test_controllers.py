"""What every simulated controller does, whatever its dialect: faults, refusals, forgetting."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from bridge.simulator.bars import Bars
from bridge.simulator.beads import Beads
from bridge.simulator.controllers import SimulatedController
from bridge.simulator.lamps import Lamps
from bridge.simulator.pixels import POWER_UP
from bridge.simulator.sails import Sails
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
    #: What must have been told before, and what after it makes it show.
    before: tuple[Request, ...] = ()
    after: tuple[Request, ...] = ()


def lamp(name: str, ink: str = "hsl(30, 80%, 4%)", glim: str = "100 %") -> dict[str, object]:
    """A lamp that burns for ever; by itself as it is at power-up."""
    return {"lamp": name, "ink": ink, "glim": glim, "burns": None}


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
    Kind(
        lambda: Sails("y", 3),
        Request("PUT", "/sails/A", {}, {"dye": [1, 0, 0, 0], "press": 1, "ease": 0}),
        Request("GET", "/sails", {}),
        before=(Request("PUT", "/sails/A/cut", {}, {"luff": 0, "cloths": 2}),),
    ),
    Kind(
        lambda: Lamps("p", 3, {"fore": (0, 2), "aft": (2, 1)}),
        Request("POST", "/pier", {}, {"lamps": [lamp("fore", "hsl(0, 100%, 50%)"), lamp("aft")]}),
        Request("GET", "/pier", {}),
        after=(Request("POST", "/pier/light", {}),),
    ),
]
RED = bytes((255, 0, 0))


def send(controller: SimulatedController, request: Request, now_ms: int = 0) -> tuple[int, bytes]:
    """Hand a request over."""
    body = b"" if request.body is None else json.dumps(request.body).encode()
    return controller.handle(request.method, request.path, request.query, {}, body, now_ms)


def ready(kind: Kind) -> SimulatedController:
    """One that can be told at once."""
    controller = kind.make()
    for request in kind.before:
        send(controller, request)
    return controller


def shown(controller: SimulatedController, kind: Kind, now_ms: int = 0) -> tuple[int, bytes]:
    """Tell it red; what it answers to that."""
    answer = send(controller, kind.show, now_ms)
    for request in kind.after:
        send(controller, request, now_ms)
    return answer


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_told_is_seen(kind: Kind) -> None:
    """The pixels told give the colour, the others keep what they had."""
    assert kind.make().pixels(0) == POWER_UP * 3
    controller = ready(kind)
    assert shown(controller, kind)[0] in {200, 204}
    assert controller.pixels(0) == RED * 2 + POWER_UP


@pytest.mark.parametrize("kind", KINDS)
def test_a_lost_write_is_answered_as_if_done(kind: Kind) -> None:
    """The answer is the same to the byte, and so only a look at the pixels tells."""
    good, bad = ready(kind), ready(kind)
    before, writes, bad.faults.loses = bad.pixels(0), bad.writes, 1
    assert shown(good, kind) == shown(bad, kind)
    assert bad.pixels(0) == before
    assert (bad.writes - writes, bad.lost) == (1, 1)
    shown(bad, kind)
    assert bad.pixels(0) == RED * 2 + POWER_UP


@pytest.mark.parametrize("kind", KINDS)
def test_a_no_may_come_with_status_200(kind: Kind) -> None:
    """Only the body tells that nothing was done."""
    controller = ready(kind)
    before, controller.faults.says_no = controller.pixels(0), 1
    status, body = shown(controller, kind)
    assert status == 200
    assert b"not now" in body
    assert controller.pixels(0) == before
    shown(controller, kind)
    assert controller.pixels(0) == RED * 2 + POWER_UP


@pytest.mark.parametrize("kind", KINDS)
def test_a_refusing_controller_does_nothing(kind: Kind) -> None:
    """Neither looks nor acts while it answers with an error."""
    controller = ready(kind)
    before, controller.faults.status = controller.pixels(0), 500
    assert shown(controller, kind)[0] == 500
    assert send(controller, kind.read)[0] == 500
    controller.faults.clear()
    assert controller.pixels(0) == before
    assert send(controller, kind.read)[0] == 200


@pytest.mark.parametrize("kind", KINDS)
def test_so_many_requests_are_refused(kind: Kind) -> None:
    """Counted, whatever they ask; then all is well."""
    controller = ready(kind)
    controller.faults.refuses = 2
    answers = [send(controller, request)[0] // 100 for request in [kind.read, kind.show] * 2]
    assert answers == [5, 5, 2, 2]


@pytest.mark.parametrize("kind", KINDS)
def test_a_reboot_forgets_and_can_be_noticed(kind: Kind) -> None:
    """The pixels, the memory and the sign of a start all change."""
    controller = kind.make()
    fresh = send(controller, kind.read, 0)
    for request in kind.before:
        send(controller, request, 5)
    shown(controller, kind, 10)
    before = send(controller, kind.read, 60_000)
    controller.reboot(61_000)
    after = send(controller, kind.read, 61_000)
    assert controller.pixels(61_000) == POWER_UP * 3
    assert before != after
    if isinstance(controller, Shelves | Sails):  # its mark is another at each start
        assert after[1] != fresh[1]
    else:  # its time awake begins again
        assert after == fresh


@pytest.mark.parametrize("kind", KINDS)
def test_without_power_it_is_dark(kind: Kind) -> None:
    """The pixels are fed by the same supply."""
    controller = ready(kind)
    shown(controller, kind)
    controller.faults.off = True
    assert controller.pixels(0) == bytes(9)


@pytest.mark.parametrize("kind", KINDS)
def test_somebody_at_its_button_makes_it_dark_and_it_says_so(kind: Kind) -> None:
    """Until it is told something else, or that it is up again."""
    controller = ready(kind)
    shown(controller, kind)
    before = send(controller, kind.read)
    controller.darken(0)
    assert controller.pixels(0) == bytes(9)
    assert send(controller, kind.read) != before
    shown(controller, kind)
    if isinstance(controller, Sails):
        assert controller.pixels(0) == bytes(9)
        send(controller, Request("PUT", "/up", {}, body=True))
    assert controller.pixels(0)[:6] == RED * 2


@pytest.mark.parametrize("kind", KINDS)
def test_colours_may_be_kept_coarsely(kind: Kind) -> None:
    """It shows and says what it kept, not what it was told."""
    controller, exact = ready(kind), ready(kind)
    controller.faults.coarse = 60
    shown(controller, kind)
    shown(exact, kind)
    red, green, blue = controller.pixels(0)[:3]
    assert red == pytest.approx(240, abs=1)
    assert max(green, blue) < 100
    assert send(controller, kind.read) != send(exact, kind.read)


@pytest.mark.parametrize("kind", KINDS)
def test_changes_may_take_their_time(kind: Kind) -> None:
    """The pixels come slowly, though it says at once that all is done."""
    controller = ready(kind)
    controller.faults.fades_ms = 1000
    before = controller.pixels(0)[0]
    shown(controller, kind)
    assert controller.pixels(500)[0] == pytest.approx((before + 255) / 2, abs=1)
    assert controller.pixels(1000)[:6] == RED * 2


@pytest.mark.parametrize("kind", KINDS)
def test_it_may_say_that_it_is_another(kind: Kind) -> None:
    """Where it is asked who it is."""
    controller = kind.make()
    controller.faults.identity = "somebody else"
    paths = ("/who", "/plate", "/tag", "/plan", "/pier/plate")
    answers = [send(controller, Request("GET", path, {})) for path in paths]
    (told,) = [body for status, body in answers if status == 200]
    assert b"somebody else" in told


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
