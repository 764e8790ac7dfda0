"""The demo as its user runs it: with the truth, with a wrong site, and ended half-way."""

from __future__ import annotations

import json
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from bridge.cli.hurried import example_directory
from tests.cli.commands import hold_to_shape

DEMO = [sys.executable, "-m", "bridge", "demo"]


def started(*options: str) -> subprocess.Popen[str]:
    """The command in a process of its own."""
    return subprocess.Popen(
        [*DEMO, *options], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def test_the_evening_is_right_and_a_wrong_site_is_found_out(tmp_path: Path) -> None:
    """Two evenings at once: one as it is, one whose rules call a finished piece an idle printer."""
    lying = tmp_path / "site"
    shutil.copytree(example_directory(), lying)
    rules = (lying / "rules.yaml").read_text()
    assert "show: fetch-me" in rules
    (lying / "rules.yaml").write_text(rules.replace("fetch-me", "ready"))

    right = started("--json", "--seconds", "40")
    wrong = started("--json", "--seconds", "40", "--site", str(lying))
    outputs = [process.communicate(timeout=85) for process in (right, wrong)]
    for process, (_, complaint) in zip((right, wrong), outputs, strict=True):
        assert complaint == ""
        assert process.returncode in {0, 1}
    for output, _ in outputs:
        hold_to_shape(output, "demo")
    results = [json.loads(output) for output, _ in outputs]

    assert (right.returncode, results[0]["ok"]) == (0, True), results[0]
    assert all(results[0][name] > 0 for name in ("messages", "decisions", "requests"))
    assert (wrong.returncode, results[1]["ok"]) == (1, False)
    mismatched = {row["segment"] for row in results[1]["segments"] if not row["match"]}
    assert mismatched == {"door-frame", "bench-right"}


def test_whoever_ends_it_ends_all_of_it() -> None:
    """Broker, bridge and simulators are gone, at once, and the exit code says why."""
    demo = started("--plain")
    assert demo.stdout is not None
    port = int(demo.stdout.readline().split()[-1])
    line = ""
    while "kestrel" not in line:
        line = demo.stdout.readline()
    socket.create_connection(("127.0.0.1", port), timeout=1).close()
    begun = time.monotonic()
    demo.send_signal(signal.SIGTERM)
    _, complaint = demo.communicate(timeout=20)
    assert demo.returncode == 130
    assert complaint == ""
    assert time.monotonic() - begun < 10
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.1", port), timeout=1)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--seconds", "5"], "'5' is not from 40 to 3600"),
        (["--seconds", "long"], "'long' is not from 40 to 3600"),
        (["--site", "/nowhere"], "/nowhere: there is no site.yaml"),
    ],
)
def test_bad_input_ends_in_one_sentence(options: list[str], words: str) -> None:
    """And with the code for unusable input."""
    demo = started("--json", *options)
    output, complaint = demo.communicate(timeout=20)
    assert (demo.returncode, output) == (2, "")
    assert words in complaint
    assert "Traceback" not in complaint
