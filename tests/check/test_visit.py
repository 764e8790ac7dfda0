"""A visit says who a controller is, what it shows, and what the bridge would change."""

from __future__ import annotations

from dataclasses import replace

from bridge.check.visit import Question, Reply, Visit, Visiting
from bridge.engine.site import Site
from bridge.facts.places import compile_place
from tests.engine.workroom import workroom
from tests.lights.board import Board
from tests.lights.mast import MAST, PLACES, Mast


def mast_site() -> Site:
    """Two segments on a mast, one of which tells of a printer."""
    site = workroom()
    low, high = (
        replace(site.segments[name], place=replace(place, segment=name))
        for name, place in (("s1", PLACES[0]), ("s3", PLACES[1]))
    )
    return replace(site, dialects={"pegs": MAST}, segments={"s1": low, "s3": high})


def visited(site: Site, device: Board | Mast) -> Visit:
    """What a visit finds, over a network that loses nothing."""
    visiting = Visiting(site, site.controllers["rail"])
    replies = []
    for question in visiting.questions():
        asked = question.prepared
        answer = device.perform(asked, 0) if isinstance(device, Board) else device.perform(asked)
        replies.append((question, Reply(answer[0], answer[1], 12)))
    return visiting.judged(replies)


def named(identity: str | None, pixels: int = 12) -> Site:
    """The workroom, expecting that."""
    site = workroom()
    rail = replace(site.controllers["rail"], identity=identity, pixels=pixels)
    return replace(site, controllers={"rail": rail})


def test_it_changes_nothing() -> None:
    """It only asks."""
    for site in (workroom(), mast_site()):
        questions = Visiting(site, site.controllers["rail"]).questions()
        assert {question.purpose for question in questions} <= {"identify", "read", "read boot"}
        assert {question.prepared.method for question in questions} == {"GET"}


def test_it_says_who_it_is_and_what_it_shows() -> None:
    """And how long that took."""
    visit = visited(named("pegboard"), Board())
    assert visit.wrong == []
    assert visit.said[:2] == ["is 'pegboard', as the site says", "has 12 pixels, the site uses 12"]
    assert visit.said[2].startswith("s1: steady #000000")
    assert set(visit.took_ms) == {12}


def test_another_controller_is_named() -> None:
    """Also where it is one of the site's."""
    site = named("dresser")
    other = replace(site.controllers["rail"], name="rack", identity="pegboard")
    site = replace(site, controllers={**site.controllers, "rack": other})
    assert visited(site, Board()).wrong == [
        "is 'pegboard', the site expects 'dresser'; that is rack, are the two swapped?"
    ]


def test_too_few_pixels_are_told() -> None:
    """A light that is not there shows nothing."""
    assert visited(named("pegboard", 90), Board()).wrong == ["has 12 pixels, the site says 90"]


def test_what_is_stored_otherwise_would_change() -> None:
    """Segments that are not defined, the look at power-up, the main switch."""
    mast = Mast(up=False)
    mast.pennants["a"] = {"from": 0, "span": 4, "dye": "ff0000", "wind": 255}
    visit = visited(mast_site(), mast)
    assert visit.wrong == []
    assert visit.would_change == [
        "main switch or brightness (/up): would be set right",
        "s3: would be told which pixels it is",
        "s3: would show warm",
        "look at power-up (colour, level): would be off watch",
    ]
    assert visit.said == ["s1: shows #ff0000 at 100%"]


def test_provisions_put_right_what_is_stored_and_only_that() -> None:
    """Looks and the main switch are the running bridge's."""
    mast = Mast()
    mast.pennants["a"] = {"from": 0, "span": 4, "dye": "ff0000", "wind": 255}
    visiting = Visiting(mast_site(), mast_site().controllers["rail"])
    requests = visiting.provisions(visited(mast_site(), mast))
    assert [(r.purpose, r.prepared.path) for r in requests] == [
        ("define", "/pennants/b/place"),
        ("write boot", "/dawn"),
    ]
    for request in requests:
        mast.perform(request.prepared)
    again = visited(mast_site(), mast)
    assert visiting.provisions(again) == []


def test_a_failure_or_a_refusal_is_wrong() -> None:
    """With the request that it is about."""
    site = workroom()
    visiting = Visiting(site, site.controllers["rail"])
    question = visiting.questions()[0]
    failed = visiting.judged([(question, Reply(failure="connection refused"))])
    refused = visiting.judged([(question, Reply(404, b""))])
    strange = visiting.judged([(Question("read", question.prepared), Reply(200, b"<html>"))])
    assert failed.wrong == ["GET /me: connection refused"]
    assert refused.wrong == ["GET /me: refuses the request: status 404"]
    assert strange.wrong[0].startswith("its answer could not be understood")


def test_what_cannot_be_asked_is_said() -> None:
    """A dialect without identify and read."""
    site = workroom()
    mute = replace(site.dialects["pegs"], read=None, identify=None)
    visit = visited(replace(site, dialects={"pegs": mute}), Board())
    assert visit.said == ["its dialect can ask it nothing: neither identify nor read"]


def misplaced(site: Site, wrong: str = "/push") -> Site:
    """The site with a dialect that looks for the level where the board has nothing."""
    pegs = site.dialects["pegs"]
    assert pegs.read is not None
    values = tuple(
        (compile_place("/shove") if at.text == wrong else at, name) for at, name in pegs.read.values
    )
    return replace(site, dialects={"pegs": replace(pegs, read=replace(pegs.read, values=values))})


def test_a_place_that_no_answer_has_is_named() -> None:
    """A mistake in the dialect, not of the controller: else it would be told again for ever."""
    board = Board()
    assert visited(misplaced(workroom()), board).wrong == [
        "no answer has anything at /shove (level)"
    ]
    assert visited(misplaced(workroom(), "/row"), board).wrong == []


def test_what_one_segment_tells_the_dialect_finds() -> None:
    """Another may leave it out; and of a dark one it may be all that is told."""
    mast = Mast()
    for number in "ab":
        mast.pennants[number] = {"from": 0, "span": 4, "dye": "ff0000", "wind": 255}
    del mast.pennants["b"]["wind"]
    assert visited(mast_site(), mast).wrong == []
    del mast.pennants["a"]["wind"]
    assert visited(mast_site(), mast).wrong == ["no answer has anything at /wind (level)"]
