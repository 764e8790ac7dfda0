"""What each segment of the example site must show, worked out a second time and from the truth.

Its own small table of scenes and its own reading of the rules: it shares no code with the bridge
and reads none of its files, so that an error in one cannot hide in the other. It judges raw pixels
over time, as an eye would, and states how far they may be off.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from bridge.simulator.life import Closed, Condition, Doing, Life, Snag

Colour = tuple[int, int, int]
#: A segment's pixels at an instant (ms of the controller's clock), 3 bytes a pixel.
Shows = Callable[[int], bytes]


@dataclass(frozen=True, slots=True)
class Look:
    """``slack``: how many code values of 255 each channel may be off, for rounding on the way."""

    form: Literal["whole", "thirds", "beats", "bar"]
    colour: Colour
    brightness: float = 1.0
    period_ms: tuple[int, int] = (0, 0)
    trough: Colour = (0, 0, 0)
    slack: int = 2

    @property
    def full(self) -> Colour:
        """The colour as bright as it gets."""
        red, green, blue = (int(part * self.brightness + 0.5) for part in self.colour)
        return red, green, blue

    @property
    def gap(self) -> Colour:
        """The trough of a bar, at the same brightness."""
        red, green, blue = (int(part * self.brightness + 0.5) for part in self.trough)
        return red, green, blue


_RED, _AMBER, _BLUE, _GREEN, _WHITE = (
    (255, 42, 26), (255, 176, 0), (42, 96, 255), (0, 176, 128), (216, 216, 216),
)  # fmt: skip
#: 2700 K on the black-body locus; published tables of sRGB differ by some code values in blue.
_WARM: Final = (255, 168, 86)
#: IEC 60073, second hand: slow 0.4 to 0.8 Hz, normal 1.4 to 2.8 Hz.
_SLOW_MS, _NORMAL_MS = (1250, 2500), (358, 714)

LOOKS: Final = {
    "dark": Look("whole", (0, 0, 0)),
    "warm": Look("whole", _WARM, 0.30, slack=5),
    "ready": Look("whole", _WARM, 0.08),
    "filling": Look("bar", _GREEN, 0.60, trough=(0, 74, 90)),
    "not-known": Look("thirds", _WHITE, 0.25),
    "fetch-me": Look("whole", _BLUE, 0.60),
    "clear-me": Look("thirds", _AMBER, 0.60),
    "look-in": Look("whole", _AMBER, 1.0),
    "see-me": Look("beats", _AMBER, 1.0, _SLOW_MS),
    "see-me, new": Look("beats", _AMBER, 1.0, _NORMAL_MS),
    # What nobody acknowledged beats at the normal rate (ISA-18.1).
    "feed-me": Look("beats", _BLUE, 0.80, _SLOW_MS),
    "feed-me, new": Look("beats", _BLUE, 0.80, _NORMAL_MS),
    "trouble": Look("whole", _RED, 1.0),
    "trouble, new": Look("beats", _RED, 1.0, _NORMAL_MS),
}


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of a controller's run and whose printer it tells of, or the scene it rests in.

    One that ``glances`` shows the worst of several.
    """

    name: str
    controller: str
    first: int
    length: int
    printer: str | None = None
    rests_in: str = "warm"
    glances: tuple[str, ...] = ()


SEGMENTS: Final = (
    Segment("door-frame", "door", 0, 120, "kestrel"),
    Segment("door-sill", "door", 120, 30, glances=("kestrel", "plover", "heron")),
    Segment("shelf", "rack", 0, 60, "plover"),
    Segment("shelf-lamp", "rack", 60, 30, rests_in="dark"),
    Segment("bench-left", "bench", 0, 36, "heron"),
    Segment("bench-right", "bench", 36, 36, "kestrel"),
)
#: The printer that never says why it stands still.
SAYS_NO_REASONS: Final = frozenset({"heron"})


@dataclass(frozen=True, slots=True)
class Press:
    """Somebody presses one of the club's buttons."""

    at_ms: int
    button: Literal["lathe", "bench"]


def scenes_over(
    printer: str, life: Life, presses: Iterable[Press], until_ms: int
) -> list[tuple[int, str]]:
    """From when on which scene a printer asks for; neighbours of one scene are one."""
    waiting = Waiting(printer)
    pressed = {press.at_ms: press.button for press in presses}
    times = sorted({start for start, _ in life.stretches} | pressed.keys())
    spans: list[tuple[int, str]] = []
    for at_ms in times:
        scene = waiting.scene(life.at(at_ms), pressed.get(at_ms))
        if at_ms < until_ms and (not spans or spans[-1][1] != scene):
            spans.append((at_ms, scene))
    return spans


#: What a glance tells of, the worst first; everything else is well.
_GLANCES: Final = ("trouble, new", "feed-me, new", "trouble", "feed-me", "not-known")


def glance_over(several: Iterable[Sequence[tuple[int, str]]]) -> list[tuple[int, str]]:
    """From when on which scene shows of several printers, given what each asks for."""
    asked = [dict(spans) for spans in several]
    now = ["ready"] * len(asked)
    spans: list[tuple[int, str]] = []
    for at_ms in sorted({at for each in asked for at in each}):
        now = [each.get(at_ms, before) for each, before in zip(asked, now, strict=True)]
        scene = next((scene for scene in _GLANCES if scene in now), "warm")
        if not spans or spans[-1][1] != scene:
            spans.append((at_ms, scene))
    return spans


class Waiting:
    """What one printer waits for a person for, from one instant to the next."""

    def __init__(self, printer: str) -> None:
        self._says_reasons = printer not in SAYS_NO_REASONS
        #: By scene, whether somebody acknowledged it.
        self._alarms: dict[str, bool] = {}
        self._part = self._was_sound = False

    def scene(self, now: Condition, pressed: str | None = None) -> str:
        """The scene that it asks for in this condition, and after that press."""
        alarm = self._alarm(now)
        if alarm is not None:
            self._alarms.setdefault(alarm, False)
        self._part = self._waits_for_part(now)
        if pressed == "lathe":
            self._alarms = dict.fromkeys(self._alarms, True)
        elif pressed == "bench":
            self._part = False
        if now.on:
            # What is over and was acknowledged is forgotten.
            self._alarms = {
                name: seen for name, seen in self._alarms.items() if name == alarm or not seen
            }
        return self._gravest() or self._plain(now)

    def _alarm(self, now: Condition) -> str | None:
        if now.snag is None or not now.on or not self._says_reasons:
            return None
        return "feed-me" if now.snag is Snag.SPOOL else "trouble"

    def _waits_for_part(self, now: Condition) -> bool:
        sound, was_sound = now.closed is Closed.SOUND, self._was_sound
        self._was_sound = sound
        if now.doing in {Doing.WARMING, Doing.WORKING}:
            return False
        return self._part or (sound and not was_sound)

    def _gravest(self) -> str | None:
        """New ones first; of several trouble first."""
        new = [f"{name}, new" for name in ("trouble", "feed-me") if self._alarms.get(name) is False]
        seen = [name for name in ("trouble", "feed-me") if self._alarms.get(name)]
        return next(iter([*new, *seen]), None)

    def _plain(self, now: Condition) -> str:
        if now.on and now.doing in {Doing.HELD, Doing.SNAGGED}:
            return "look-in"
        if self._part:
            return "fetch-me"
        if not now.on:
            return "not-known"
        if now.doing in {Doing.WARMING, Doing.WORKING}:
            return "filling"
        return "ready" if now.closed in {None, Closed.SOUND} else "clear-me"


#: How often the pixels are looked at, and for how long: two of the slowest beats.
_STEP_MS: Final = 20
_WATCH_MS: Final = 5_000
#: A weak half may be anything lit below this share of the full one.
_WEAK_AT_MOST: Final = 0.6


def differs(scene: str, shows: Shows, now_ms: int, done: tuple[float, float]) -> str | None:
    """What keeps these pixels from being that scene; ``None`` where they are.

    ``done`` is the least and the most that a bar may tell, one pixel to either side forgiven.
    """
    look = LOOKS[scene]
    frames = [shows(at) for at in range(now_ms, now_ms + _WATCH_MS, _STEP_MS)]
    if look.form == "beats":
        return _differs_in_beat(look, frames)
    if any(frame != frames[0] for frame in frames):
        return "the pixels change by themselves"
    pixels = _pixels(frames[0])
    if look.form == "bar":
        return _differs_in_bar(look, pixels, done)
    return _differs_in_pattern(look, pixels)


def recognised(shows: Shows, now_ms: int) -> str:
    """The scene that these pixels look like, or what they are instead."""
    for scene in LOOKS:
        if differs(scene, shows, now_ms, (0.0, 1.0)) is None:
            return scene
    kinds = sorted({"#" + bytes(pixel).hex() for pixel in _pixels(shows(now_ms))})
    return f"none of the scenes ({' '.join(kinds[:4])}{' ...' if kinds[4:] else ''})"


def _pixels(frame: bytes) -> list[Colour]:
    return list(zip(frame[0::3], frame[1::3], frame[2::3], strict=True))


def _near(pixel: Colour, wanted: Colour, slack: int) -> bool:
    return all(abs(one - other) <= slack for one, other in zip(pixel, wanted, strict=True))


def _differs_in_pattern(look: Look, pixels: Sequence[Colour]) -> str | None:
    for index, pixel in enumerate(pixels):
        gap = look.form == "thirds" and index % 3 > 0
        wanted = (0, 0, 0) if gap else look.full
        if not _near(pixel, wanted, look.slack):
            return f"pixel {index} is {pixel}, not {wanted}"
    return None


def _differs_in_bar(look: Look, pixels: Sequence[Colour], done: tuple[float, float]) -> str | None:
    kinds = "".join(_kind(look, pixel) for pixel in pixels)
    lit = len(kinds) - len(kinds.lstrip("f"))
    edge = kinds[lit : lit + 1] == "m"
    if kinds[lit + edge :].strip("t"):
        return f"no bar, a trough and at most one pixel between them: {kinds}"
    least, most = (share * len(pixels) for share in done)
    if lit + edge < least - 1 or lit > most + 1:
        return f"{lit} pixels are lit, not {least:.1f} to {most:.1f}"
    return None


def _kind(look: Look, pixel: Colour) -> str:
    """Full, trough, mixed of both, or none of these."""
    if _near(pixel, look.full, look.slack):
        return "f"
    if _near(pixel, look.gap, look.slack):
        return "t"
    between = all(
        min(a, b) - look.slack <= part <= max(a, b) + look.slack
        for part, a, b in zip(pixel, look.full, look.gap, strict=True)
    )
    return "m" if between else "?"


def _differs_in_beat(look: Look, frames: Sequence[bytes]) -> str | None:
    states = [_state(look, _pixels(frame)) for frame in frames]
    for state, frame in zip(states, frames, strict=True):
        if state == "?":
            return f"neither the full nor a weak look of it: {sorted(set(_pixels(frame)))[:3]}"
    rises = [
        index * _STEP_MS
        for index in range(1, len(states))
        if states[index - 1 : index + 1] == ["w", "f"]
    ]
    if len(rises) < 2:
        return "it does not beat"
    least, most = look.period_ms
    for begin, end in itertools.pairwise(rises):
        if not least - _STEP_MS <= end - begin <= most + _STEP_MS:
            return f"it beats every {end - begin} ms, not every {least} to {most}"
    return None


def _state(look: Look, pixels: Sequence[Colour]) -> str:
    if len(set(pixels)) > 1:
        return "?"
    if _near(pixels[0], look.full, look.slack):
        return "f"
    weak = any(pixels[0]) and all(
        part <= full * _WEAK_AT_MOST + look.slack
        for part, full in zip(pixels[0], look.full, strict=True)
    )
    return "w" if weak else "?"
