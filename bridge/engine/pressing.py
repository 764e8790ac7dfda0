"""Push-buttons: from a message to a wish, and never from what merely seems to be one.

1. A message that the broker stored presses nothing: nobody knows when the button was pressed.
2. Where only changes count, the first value heard presses nothing, and neither does the first
   after its source was lost or did not answer: a device that starts anew is not a hand.
3. A counter presses by growing; one that went back was started anew.
4. Contacts bounce: a second press so soon after the first is the same one.

All this can only leave an alarm as it is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import Any, Final

from bridge.engine.actions import Action, Note
from bridge.engine.events import HTTP_SOURCE, Heard, PollFailed, SourceLost, TooLarge, Wished
from bridge.engine.site import Button
from bridge.engine.wishes import Press
from bridge.facts.codes import key_of, set_of
from bridge.facts.decoding import Refusal, read_json, read_text
from bridge.facts.moment import Moment
from bridge.facts.places import ABSENT
from bridge.facts.topics import matches, wildcard_count

#: From one press to the next; two presses by hand are further apart.
BOUNCES_MS: Final = 300
#: A text of more digits is no counter.
MOST_DIGITS: Final = 18


class _Watched:
    """One button, and what it said last where only changes count."""

    def __init__(self, button: Button) -> None:
        self.button = button
        self.trouble = ""
        self._last: Any = ABSENT
        self._pressed_ms: int | None = None
        # One by one: a set of what the file has would take 1 and true for the same.
        wanted = (set_of((value,), only_text=button.at is None) for value in button.values)
        self._wanted = frozenset[Hashable]().union(*wanted)

    def is_heard_on(self, event: Heard | TooLarge) -> bool:
        """Whether what came there is heard on its topic filter."""
        button = self.button
        return event.source == button.source and matches(button.address, event.address)

    def forget(self) -> None:
        """What it says next is the first that is heard of it."""
        self._last = ABSENT

    def read(self, body: bytes) -> Any:  # noqa: ANN401 - what JSON holds
        """What it says: a value, ``ABSENT``, or a ``Refusal``."""
        if self.button.at is None:
            text = read_text(body)
            return text.strip() if isinstance(text, str) else text
        document = read_json(body)
        return document if isinstance(document, Refusal) else self.button.at.find(document)

    def presses(self, said: Any, now: Moment) -> bool:  # noqa: ANN401 - what JSON holds
        """Whether what it says now is a press, and one of its own."""
        before, self._last = self._last, said
        if said is ABSENT or not self._is_wanted(said):
            return False
        if self.button.on_change and not self._has_moved(before, said):
            return False
        if self._pressed_ms is not None and now.ms - self._pressed_ms < BOUNCES_MS:
            return False
        self._pressed_ms = now.ms
        return True

    def _is_wanted(self, said: Any) -> bool:  # noqa: ANN401 - what JSON holds
        # Without values any text counts but none: that is how a stored message is taken away.
        return key_of(said) in self._wanted if self._wanted else said != ""

    def _has_moved(self, before: Any, said: Any) -> bool:  # noqa: ANN401 - what JSON holds
        if before is ABSENT:
            return False
        counted = _number(before), _number(said)
        if not self._wanted and counted[0] is not None and counted[1] is not None:
            return counted[1] > counted[0]
        return key_of(before) != key_of(said)


class Pressing:
    """The buttons of a site. Mutable; owned by the core; no clock of its own."""

    def __init__(self, buttons: Iterable[Button], emit: Callable[[Action], None]) -> None:
        self.counts: Counter[str] = Counter()
        self._emit = emit
        self._watched = [_Watched(button) for button in buttons]
        #: Nearly every message is a printer's: those without wildcards are found at once.
        self._exact: dict[tuple[str, str], list[_Watched]] = {}
        self._filters: list[_Watched] = []
        for each in self._watched:
            button = each.button
            if button.source != HTTP_SOURCE and wildcard_count(button.address):
                self._filters.append(each)
            else:
                self._exact.setdefault((button.source, button.address), []).append(each)

    def heard(self, event: Heard, now: Moment) -> tuple[Wished, ...]:
        """What is wished by pressing, with nobody who waits for the answer."""
        body = event.body
        if event.retained or body is None:
            return ()
        return tuple(
            Wished("", each.button.who, _press(each.button))
            for each in self._listening(event)
            if self._is_pressed(each, body, now)
        )

    def hears(self, event: Heard | TooLarge) -> bool:
        """Whether a button is heard there."""
        return bool(self._listening(event))

    def _listening(self, event: Heard | TooLarge) -> Sequence[_Watched]:
        watched = self._exact.get((event.source, event.address), [])
        if not self._filters:
            return watched
        return [*watched, *(each for each in self._filters if each.is_heard_on(event))]

    def lost(self, event: SourceLost | PollFailed) -> None:
        """A source is gone or did not answer: what its buttons said last is as if never heard."""
        for each in self._watched:
            button = each.button
            if isinstance(event, SourceLost):
                is_meant = button.source == event.source
            else:
                is_meant = (button.source, button.address) == (HTTP_SOURCE, event.address)
            if is_meant:
                each.forget()

    def _is_pressed(self, watched: _Watched, body: bytes, now: Moment) -> bool:
        said = watched.read(body)
        if isinstance(said, Refusal):
            watched.forget()
            self._not_understood(watched, said)
            return False
        watched.trouble = ""
        pressed = watched.presses(said, now)
        self.counts["buttons pressed"] += pressed
        return pressed

    def _not_understood(self, watched: _Watched, refusal: Refusal) -> None:
        """Each time counted; told once, until it is understood again."""
        self.counts["button messages not understood"] += 1
        why = refusal.why.value
        if watched.trouble != why:
            watched.trouble = why
            fields = {"button": watched.button.name, "why": why, "detail": refusal.detail}
            self._emit(Note("warning", "button not understood", fields))


def _press(button: Button) -> Press:
    return Press(button.wish, button.printers, button.names)


def _number(said: Any) -> float | None:  # noqa: ANN401 - what JSON holds
    """A count, which a text message can only write as digits."""
    if isinstance(said, str) and said.isascii() and said.isdecimal() and len(said) <= MOST_DIGITS:
        return int(said)
    return said if isinstance(said, int | float) and not isinstance(said, bool) else None
