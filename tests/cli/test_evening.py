"""Holding the evening: what it needs of the bridge, and that it cannot be held without one."""

from __future__ import annotations

import asyncio
import json
import shutil
from pathlib import Path

import pytest

from bridge.cli.evening import DemoError, Evening
from bridge.cli.evening_picture import Silence
from bridge.cli.hurried import example_directory
from bridge.simulator.brokers import mosquitto_path, start_broker
from bridge.simulator.inspection import Verdict
from bridge.simulator.reference import SEGMENTS
from tests.cli.commands import hold_to_shape

GOOD = [Verdict(1, segment.name, "warm", "warm", None) for segment in SEGMENTS]


class _NoBroker:
    name = "none"
    port = 1

    def stop(self) -> None:
        """Nothing."""


def ended(verdicts: list[Verdict], scene: str = "warm") -> Evening:
    """An evening that is over, of which these were the looks and this the bridge's decision."""
    segments = {segment.name: {"rule": "", "scene": scene} for segment in SEGMENTS}
    counted = {"messages": 3, "decisions": 2, "requests": 1, "segments": segments}
    return Evening(60, Silence(), _NoBroker(), Path(), Path(), verdicts, counted)


def test_the_result_has_the_shape_that_is_relied_on() -> None:
    """Exactly these keys, in this order, as ``config/README.md`` tells programs."""
    result = ended(GOOD).result()
    assert list(result) == ["ok", "broker", "messages", "decisions", "requests", "segments"]
    assert result["ok"] is True
    assert result["segments"][0] == {
        "segment": "door-frame",
        "decided": "warm",
        "shows": "warm",
        "match": True,
    }
    hold_to_shape(json.dumps(result), "demo")


@pytest.mark.parametrize(
    ("verdicts", "scene"),
    [
        ([*GOOD, Verdict(2, "shelf", "warm", "dark", "pixel 0")], "warm"),
        ([Verdict(0, "shelf", "warm", "dark", "pixel 0"), *GOOD], "warm"),
        ([one for one in GOOD if one.segment != "shelf"], "warm"),
        (GOOD, "dark"),
        ([], "warm"),
    ],
)
def test_one_difference_spoils_the_evening(verdicts: list[Verdict], scene: str) -> None:
    """Seen late or early, never looked at, or decided otherwise than shown."""
    assert ended(verdicts, scene).result()["ok"] is False


def test_a_site_that_the_bridge_refuses_is_no_evening(tmp_path: Path) -> None:
    """What the bridge said of it is told, and nothing is left running."""
    site = tmp_path / "site"
    shutil.copytree(example_directory(), site)
    rules = (site / "rules.yaml").read_text()
    (site / "rules.yaml").write_text(rules.replace("show: ready", "show: redy"))
    (tmp_path / "work").mkdir()
    broker = start_broker(mosquitto_path())
    try:
        evening = Evening(60, Silence(), broker, site, tmp_path / "work")
        with pytest.raises(DemoError, match="the bridge ended by itself with code 2") as caught:
            asyncio.run(evening.hold())
    finally:
        broker.stop()
    assert any("rules.yaml" in line and "redy" in line for line in caught.value.lines())
