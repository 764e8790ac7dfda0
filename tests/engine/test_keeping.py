"""What is kept, who waits for it, and what is done where keeping fails."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from bridge.engine.actions import Action, Note, Record
from bridge.engine.keeping import AGAIN_AFTER_MS, ANSWER_WITHIN_MS, Keeping
from bridge.engine.records import Happening, HoldRecord
from bridge.facts.moment import Moment
from tests.engine.workroom import kinds

HELD = HoldRecord("s3", "dim", None, "ann")
ANOTHER = HoldRecord("s5", "dim", None, "ann")
LINE = Happening("start", "started", None)


@dataclass
class Desk:
    """Keeping, and everything that it wants and says."""

    actions: list[Action] = field(default_factory=list)
    answers: list[tuple[str, bool, int]] = field(default_factory=list)
    again: list[int] = field(default_factory=list)
    keeping: Keeping = field(init=False)

    def __post_init__(self) -> None:
        self.keeping = Keeping(self.actions.append, lambda now: self.again.append(now.ms))
        self.keeping.keeps = True

    def keep(self, name: str, at_ms: int, record: HoldRecord = HELD) -> None:
        """Keep a record for somebody who waits."""

        def confirmed(kept: bool, now: Moment) -> None:
            self.answers.append((name, kept, now.ms))

        self.keeping.state(record, Moment(at_ms), confirmed)

    def settle_due(self) -> int:
        """Settle at the next deadline, and say when that was."""
        due_ms = self.keeping.deadline()
        assert due_ms is not None
        self.keeping.settle(Moment(due_ms))
        return due_ms


def test_records_are_numbered_in_order_and_states_are_durable() -> None:
    """States and lines of history share the numbers; history is never durable."""
    desk = Desk()
    desk.keeping.state(HELD, Moment(0))
    desk.keeping.happened(LINE)
    desk.keeping.state(ANOTHER, Moment(0), durable=False)
    assert desk.actions == [Record(1, HELD, durable=True), Record(2, LINE), Record(3, ANOTHER)]
    assert desk.keeping.deadline() is None


def test_one_confirmation_is_of_everything_up_to_it() -> None:
    """Each who waits is told once, in order; what came later waits on."""
    desk = Desk()
    for name in ("a", "b", "c"):
        desk.keep(name, 0)
    desk.keeping.recorded(2, Moment(40))
    desk.keeping.recorded(2, Moment(50))
    assert desk.answers == [("a", True, 40), ("b", True, 40)]
    desk.keeping.recorded(3, Moment(60))
    assert desk.answers[2:] == [("c", True, 60)]


def test_where_nothing_is_kept_nobody_waits() -> None:
    """No record at all; whoever would wait is told at once that it is not kept."""
    desk = Desk()
    desk.keeping.keeps = False
    desk.keep("a", 7)
    desk.keeping.happened(LINE)
    assert (desk.answers, desk.actions, desk.keeping.deadline()) == ([("a", False, 7)], [], None)


def test_what_is_not_kept_is_answered_so_and_said_once() -> None:
    """The disk is full: each record's own answer, one line in the log until it works again."""
    desk = Desk()
    desk.keep("a", 0)
    desk.keep("b", 0)
    desk.keeping.not_recorded(1, "no space left", Moment(10))
    assert desk.answers == [("a", False, 10)]
    desk.keeping.not_recorded(2, "no space left", Moment(20))
    assert desk.answers == [("a", False, 10), ("b", False, 20)]
    assert kinds(desk.actions) == ["Record", "Record", "nothing is kept"]
    assert desk.keeping.failing == "no space left"


def test_a_failure_without_a_reason_is_a_failure() -> None:
    """An empty reason must not read as if all were well."""
    desk = Desk()
    desk.keep("a", 0)
    desk.keeping.not_recorded(1, "", Moment(10))
    assert desk.keeping.failing


def test_when_writing_works_again_everything_is_recorded_anew_once() -> None:
    """By the first record that is kept after one that was not."""
    desk = Desk()
    desk.keep("a", 0)
    desk.keeping.not_recorded(1, "no space left", Moment(10))
    desk.keep("b", 100)
    desk.keeping.recorded(2, Moment(120))
    desk.keeping.recorded(2, Moment(130))
    assert desk.again == [120]
    assert desk.keeping.failing == ""
    assert kinds(desk.actions)[-1] == "states are kept again"
    assert desk.keeping.deadline() is None


def test_with_nothing_to_write_a_failing_disk_is_tried_every_minute() -> None:
    """Everything anew each time, until something is kept."""
    desk = Desk()
    desk.keep("a", 0)
    desk.keeping.not_recorded(1, "no space left", Moment(10))
    assert desk.settle_due() == 10 + AGAIN_AFTER_MS
    assert desk.settle_due() == 10 + 2 * AGAIN_AFTER_MS
    assert desk.again == [10 + AGAIN_AFTER_MS, 10 + 2 * AGAIN_AFTER_MS]


def test_a_disk_that_never_answers_is_waited_for_so_long_and_no_longer() -> None:
    """At the very millisecond, each from its own start."""
    desk = Desk()
    desk.keep("a", 0)
    desk.keep("b", 3)
    desk.keeping.settle(Moment(ANSWER_WITHIN_MS - 1))
    assert desk.answers == []
    assert desk.settle_due() == ANSWER_WITHIN_MS
    assert desk.answers == [("a", False, ANSWER_WITHIN_MS)]
    assert desk.settle_due() == ANSWER_WITHIN_MS + 3
    assert desk.answers[1:] == [("b", False, ANSWER_WITHIN_MS + 3)]
    assert desk.keeping.failing == f"no answer within {ANSWER_WITHIN_MS} ms"


def test_an_answer_that_comes_after_all_is_no_second_answer() -> None:
    """The disk had stood still: nobody is told twice, and everything is recorded anew."""
    desk = Desk()
    desk.keep("a", 0)
    desk.settle_due()
    desk.keeping.recorded(1, Moment(9000))
    assert desk.answers == [("a", False, ANSWER_WITHIN_MS)]
    assert desk.again == [9000]


@pytest.mark.parametrize("number", [0, 5, 99])
def test_a_number_that_nobody_waits_for_is_no_error(number: int) -> None:
    """Lines of history, and numbers that were never given."""
    desk = Desk()
    desk.keep("a", 0)
    desk.keeping.not_recorded(number, "gone", Moment(1))
    assert desk.answers == []


def test_who_is_told_may_keep_something_again() -> None:
    """In the middle of being told; that one is not confirmed with it."""
    desk = Desk()
    desk.keeping.state(HELD, Moment(0), lambda _kept, now: desk.keep("later", now.ms, ANOTHER))
    desk.keeping.recorded(1, Moment(10))
    assert desk.answers == []
    desk.keeping.recorded(2, Moment(20))
    assert desk.answers == [("later", True, 20)]


def test_the_log_says_what_a_failure_means() -> None:
    """An error, with why and what goes on meanwhile."""
    desk = Desk()
    desk.keeping.not_recorded(1, "read-only file system", Moment(0))
    (note,) = [action for action in desk.actions if isinstance(action, Note)]
    assert note.level == "error"
    assert note.fields["why"] == "read-only file system"
    assert "lights go on" in str(note.fields["meanwhile"])
