"""One printer as the tables see it, in plain Python: heard, remembered, alarms, a part, times.

It shares no code with the bridge.
"""

from __future__ import annotations

from collections.abc import Iterator

from bridge.engine.view import AlarmView, PromptView
from tests.campaign.alarms import Life, Now
from tests.campaign.ears import Facts
from tests.campaign.eyes import some
from tests.campaign.past import Part, Past
from tests.campaign.sites import ALARMS, AT_REST_MS, DRAGS_ON_MS

#: Of heron no reason is ever heard, of kestrel no outcome.
WITHOUT_REASONS = "heron"
WITHOUT_OUTCOME = "kestrel"


class Mind:
    """All that is known of one printer."""

    def __init__(self, printer: str) -> None:
        self.printer, self.past = printer, Past()
        self.lives = {
            alarm.name: Life(alarm, printer)
            for alarm in ALARMS
            if alarm.name == "aground" or printer != WITHOUT_REASONS
        }
        self.part = None if printer == WITHOUT_OUTCOME else Part(printer)
        self.facts: Facts = {}
        #: Since when it is idle without a break.
        self._idle_since: int | None = None

    def settle(self, now: Now) -> None:
        """What happens by itself."""
        self.past.settle(now)
        for life in self.lives.values():
            life.settle(now)

    def judge(self, heard: Facts, now: Now) -> None:
        """What is known now, and what comes of it."""
        self.past.judge(heard, now)
        truths = {
            "aground": None if heard["state"] is None else heard["state"] == "stopped",
            "out-of-material": some(heard, "material-empty"),
            "lid-open": some(heard, "cover-open"),
        }
        for name, life in self.lives.items():
            truth = truths[name]
            life.judge(truth if isinstance(truth, bool) else None, now)
        if self.part is not None:
            done = self.past.last == "completed"
            self.part.judge(when=done, until=truths["lid-open"] is True)
            if self.past.ended:
                self.part.job_over()
            if self.past.begun:
                self.part.next_job()
        self.past.begun = self.past.ended = False
        state = heard["state"]
        if state != "idle":
            self._idle_since = None
        elif self._idle_since is None:
            self._idle_since = now.ms
        self.facts = {**heard, **self._own(heard, now)}

    def _own(self, heard: Facts, now: Now) -> Facts:
        state, since = heard["state"], self._idle_since
        own: Facts = {f"alarm {name}": life.symbol for name, life in self.lives.items()}
        if self.part is not None:
            own["part"] = self.part.waiting
        lasted = since is not None and now.ms >= since + AT_REST_MS
        return {
            **own,
            "for": self.past.seconds(heard, now),
            "long at rest": None if state is None else lasted,
        }

    def dues(self) -> Iterator[int]:
        """When something happens with nothing heard."""
        for life in self.lives.values():
            yield from (due for due, _ in life.dues())
        if (vanishes := self.past.due()) is not None:
            yield vanishes
        if self._idle_since is not None:
            yield self._idle_since + AT_REST_MS
        since = self.past.since
        if self.facts.get("for") is not None and since is not None and since.ms is not None:
            yield since.ms + DRAGS_ON_MS

    def clock(self, now: Now) -> None:
        """The wall clock became known or was stepped."""
        if self.past.since is not None:
            self.past.since.place(now)
        for life in self.lives.values():
            life.clock(now)

    def differs(self, view: AlarmView | PromptView) -> str:
        """What a picture of the bridge's has otherwise; empty where it has the same."""
        if isinstance(view, PromptView):
            part = self.part
            has = part is not None and (part.waiting, part.occurrence)
            shows: tuple[object, ...] = (view.waiting, view.occurrence)
            return "" if has == shows else f"fetch of {self.printer} is {shows}, not {has}"
        life = self.lives.get(view.alarm)
        if life is None:
            return ""
        state, escalated = life.shown
        wants = (state, life.symbol or "unknown", life.occurrence, escalated and not life.hidden)
        shows = (view.state, view.shown, view.occurrence, view.escalated)
        return "" if wants == shows else f"{view.alarm} of {self.printer} is {shows}, not {wants}"
