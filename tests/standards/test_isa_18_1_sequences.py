"""What a lamp does when, in the sequences A, M and R of ISA-18.1, state by state.

Source: ANSI/ISA-18.1-1979 (R2004), Annunciator Sequences and Specifications, through the tables
that annunciator makers print of it (read); the rows of R are partly from memory. The words are
ours. The standard's fast flash is our unacknowledged look, its slow flash our returned look.
"""

from __future__ import annotations

import pytest

from bridge.rules.alarm_states import SEQUENCES, Sequence, Variant
from tests.rules.alarms import F, T, alarm, at, done, machine

#: What a look of ours is in the standard's words, the same for every sequence that has it.
LAMP: dict[Variant, str] = {
    "normal": "off",
    "unacknowledged": "flash",
    "acknowledged": "steady",
    "returned": "slow flash",
}

#: The process, the button that is pressed then, and the lamp in A, M and R.
TABLE = {
    "normal": ((), ("off", "off", "off")),
    "abnormal": (("abnormal",), ("flash", "flash", "flash")),
    "back before acknowledge": (("abnormal", "normal"), ("flash", "flash", "flash")),
    "abnormal, acknowledged": (("abnormal", "acknowledge"), ("steady", "steady", "steady")),
    "back after acknowledge": (
        ("abnormal", "acknowledge", "normal"),
        ("off", "steady", "slow flash"),
    ),
    "acknowledged after it cleared": (
        ("abnormal", "normal", "acknowledge"),
        ("off", "steady", "slow flash"),
    ),
    "back after acknowledge, reset": (
        ("abnormal", "acknowledge", "normal", "reset"),
        ("-", "off", "off"),
    ),
    "acknowledged after it cleared, reset": (
        ("abnormal", "normal", "acknowledge", "reset"),
        ("-", "off", "off"),
    ),
    # A lock-in: what came and went and came again flashes as it did.
    "abnormal again before acknowledge": (
        ("abnormal", "normal", "abnormal"),
        ("flash", "flash", "flash"),
    ),
    # A new alarm out of the state that waits for a reset, or from normal, flashes.
    "abnormal again after acknowledge": (
        ("abnormal", "acknowledge", "normal", "abnormal"),
        ("flash", "flash", "flash"),
    ),
}


def lamp_after(steps: tuple[str, ...], sequence: Sequence) -> str:
    """The lamp of an alarm without delays after these steps."""
    made = machine(alarm(sequence))
    made.judge(F, at(0))
    for ms, step in enumerate(steps, 1):
        occurrence = made.occurrence or ""
        match step:
            case "acknowledge":
                made.confirmed(done(made.acknowledge(occurrence, "ann", at(ms))).number)
            case "reset":
                made.confirmed(done(made.reset(occurrence, "ann", at(ms))).number)
            case _:
                made.judge(T if step == "abnormal" else F, at(ms))
    return LAMP[made.look()]


@pytest.mark.parametrize("row", TABLE)
@pytest.mark.parametrize("sequence", SEQUENCES)
def test_lamp(row: str, sequence: Sequence) -> None:
    """As the standard's row says; a row with ``-`` has no meaning in the sequence."""
    steps, lamps = TABLE[row]
    wanted = lamps[SEQUENCES.index(sequence)]
    if wanted == "-":
        # Sequence A resets by itself: after the acknowledgement it is off, and nothing is left.
        assert lamp_after(steps[:-1], sequence) == "off"
    else:
        assert lamp_after(steps, sequence) == wanted


@pytest.mark.parametrize("sequence", SEQUENCES)
def test_flashing_is_for_the_unacknowledged(sequence: Sequence) -> None:
    """The fast flash shows exactly while there is something to acknowledge."""
    for steps, _ in TABLE.values():
        made = machine(alarm(sequence))
        is_open = False
        for ms, step in enumerate(steps, 1):
            if step == "reset" and sequence == "A":
                continue
            occurrence = made.occurrence or ""
            if step in {"acknowledge", "reset"}:
                wish = made.acknowledge if step == "acknowledge" else made.reset
                made.confirmed(done(wish(occurrence, "ann", at(ms))).number)
                is_open = False
            else:
                made.judge(T if step == "abnormal" else F, at(ms))
                is_open = is_open or step == "abnormal"
            assert (made.look() == "unacknowledged") is is_open
