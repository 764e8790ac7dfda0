"""The sequences A, M and R of ISA-18.1 from what a printer says to what a controller is sent.

Source: ANSI/ISA-18.1-1979 (R2004) through makers' tables (read; the rows of R partly from memory),
as in test_isa_18_1_sequences, which holds the machine alone to it. Here messages and wishes go
into the core, and the lamp is the request that comes out: its fast flash is the controller's hop,
its slow flash the lull.
"""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from bridge.engine.actions import Request
from bridge.engine.wishes import Acknowledge, Reset
from bridge.rules.alarm_states import SEQUENCES, Sequence
from tests.engine.evening import ALARMS, Evening, site

#: The steps, and the lamp after the last of them in A, M and R; "-" where A has nothing to reset.
TABLE = {
    "abnormal": ("flash", "flash", "flash"),
    "abnormal, normal": ("flash", "flash", "flash"),
    "abnormal, acknowledge": ("steady", "steady", "steady"),
    "abnormal, acknowledge, normal": ("off", "steady", "slow flash"),
    "abnormal, normal, acknowledge": ("off", "steady", "slow flash"),
    "abnormal, acknowledge, normal, reset": ("-", "off", "off"),
    "abnormal, normal, acknowledge, reset": ("-", "off", "off"),
    "abnormal, normal, abnormal": ("flash", "flash", "flash"),
    "abnormal, acknowledge, normal, abnormal": ("flash", "flash", "flash"),
}
CASES = [
    pytest.param(steps, sequence, lamp, id=f"{steps} ({sequence})")
    for steps, lamps in TABLE.items()
    for sequence, lamp in zip(SEQUENCES, lamps, strict=True)
    if lamp != "-"
]


#: Other segments are painted bit by bit meanwhile, and the controller takes four requests a second.
SETTLED_MS = 8_000
#: What the controller does with the alarm's colour, in the standard's words.
LAMP = {"hop": "flash", "lull": "slow flash", "calm": "steady"}


def lamp_of(evening: Evening) -> str:
    """The lamp by the last request for the segment's peg: red is the alarm's alone."""
    requests = (action for _, action in evening.actions if isinstance(action, Request))
    bodies = [each.body or b"{}" for each in requests if each.target.startswith("/pegs/1")]
    told = json.loads(bodies[-1])
    return LAMP[told["act"]] if told.get("tint") == "ff0000" else "off"


@pytest.mark.parametrize(("steps", "sequence", "lamp"), CASES)
def test_lamp(steps: str, sequence: Sequence, lamp: str) -> None:
    """As the standard's row says, and sent to the controller."""
    there = site()
    halted = replace(ALARMS["halted"], sequence=sequence, escalate=None)
    evening = Evening(site=replace(there, alarms=ALARMS | {"halted": halted})).begin().say()
    evening.run_for(SETTLED_MS)
    for step in steps.split(", "):
        match step:
            case "acknowledge":
                evening.wish(Acknowledge(evening.occurrence()))
            case "reset":
                evening.wish(Reset(evening.occurrence()))
            case _:
                evening.say(doing="stuck" if step == "abnormal" else "aside")
        evening.run_for(SETTLED_MS)
    assert lamp_of(evening) == lamp
