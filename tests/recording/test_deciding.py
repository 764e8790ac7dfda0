"""A core of which only decisions are asked: what it shows is what the recorded one showed."""

from __future__ import annotations

from dataclasses import replace

from bridge.engine.events import Answered, Heard, Recorded, Restored, Settings, Started, Wished
from bridge.engine.wishes import Hold, Release
from bridge.recording.deciding import Deciding
from bridge.recording.lines import Occurred, entries
from bridge.recording.replaying import Replay
from bridge.settings.load import load_texts
from tests.engine.workroom import SHED, TOPIC, moment, said, workroom
from tests.recording.evening import DISK_MS, an_evening, lines_of


def test_it_decides_as_the_recorded_core_did() -> None:
    """Without an answer of any controller, at every event of an evening.

    But for the milliseconds in which the recorded one waited for its disk.
    """
    replay, deciding = Replay(), Deciding()
    shown: dict[str, tuple[str, str]] = {}
    wished_ms = 0
    for entry in entries(lines_of(an_evening()), load_texts):
        for decided in replay.take(entry):
            shown[decided.segment] = decided.rule, decided.scene
        if isinstance(entry, Occurred):
            deciding.take(entry.event, entry.moment)
            if isinstance(entry.event, Wished):
                wished_ms = entry.moment.ms
            elif entry.moment.ms > wished_ms + DISK_MS:
                assert deciding.shown == shown


def _begun(*, keeps: bool) -> Deciding:
    deciding = Deciding()
    deciding.take(Started("seed"), moment(0))
    if keeps:
        deciding.take(Restored(()), moment(0))
    deciding.take(Settings(workroom(), ""), moment(0))
    return deciding


def test_a_wish_takes_effect_without_the_recorded_disk() -> None:
    """Numbers of records are those of the recorded core: here each is kept at once."""
    for keeps in (False, True):
        deciding = _begun(keeps=keeps)
        deciding.take(Wished("t", "Ada", Hold(("s3",), "ready", None)), moment(1))
        deciding.take(Recorded(99), moment(2))
        assert deciding.shown["s3"] == ("", "ready")
        deciding.take(Wished("t", "Ada", Release(("s3",))), moment(3))
        assert deciding.shown["s3"] == ("", "warm")


def test_answers_of_another_core_are_not_given() -> None:
    """A number that means nothing here would be an error."""
    deciding = _begun(keeps=False)
    before = deciding.view()
    deciding.take(Answered(1, 200, b"{}"), moment(5))
    assert deciding.view() == before


def test_other_settings_take_the_place_of_the_recorded_ones() -> None:
    """Whatever was recorded."""
    site = workroom()
    bare = replace(site, segments={"s1": site.segments["s1"]})
    deciding = Deciding(Settings(bare, "other"))
    deciding.take(Started("seed"), moment(0))
    deciding.take(Settings(site, ""), moment(0))
    assert set(deciding.shown) == {"s1"}


def test_its_deadlines_are_its_own_and_move_on() -> None:
    """What is due happens at its due time: a page is stale ten seconds after it was heard."""
    deciding = _begun(keeps=False)
    deciding.take(Heard(SHED, TOPIC, said()), moment(100))
    times = []
    while (due := deciding.deadline()) is not None and due < 30_000:
        deciding.due(due)
        times.append(due)
    assert times == sorted(set(times))
