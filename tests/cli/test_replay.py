"""``lampwright replay``: what was shown, whether the same came of it, and what other rules do."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from bridge.recording.lines import Head, line_of
from bridge.service.recording_file import USUAL_BYTES, RecordingFile
from tests.cli.commands import hold_to_shape, lampwright
from tests.recording.evening import an_evening, texts
from tests.structure.trees import ROOT


def recorded(path: Path, limit_bytes: int = USUAL_BYTES) -> Path:
    """The evening in a file."""
    file = RecordingFile(path, limit_bytes, "0.0.1")
    file.write(an_evening())
    file.close()
    return path


@pytest.fixture
def tonight(tmp_path: Path) -> Path:
    """The evening, whole."""
    return recorded(tmp_path / "tonight")


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """The evening's site in a directory."""
    directory = tmp_path / "site"
    for name, text in texts().items():
        (directory / name).parent.mkdir(parents=True, exist_ok=True)
        (directory / name).write_text(text, "utf-8")
    return directory


def _edit(site: Path, old: str, new: str) -> None:
    path = site / "rules.yaml"
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")


def test_it_tells_what_was_shown_and_that_the_same_came_of_it(
    tonight: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A line for each change, and the verdict."""
    code, said, wrong = lampwright(capsys, "replay", tonight)
    lines = said.splitlines()
    assert (code, wrong) == (0, "")
    assert lines[0].startswith("2026-11-27 20:00:00  door-frame (kestrel) shows not-known: rule")
    assert any(
        line.startswith("2026-11-27 20:01:17  door-frame (kestrel) shows feed-me: rule out of")
        for line in lines
    )
    assert lines[-1] == f"{len(an_evening())} events in 0:05:00: identical actions at all 4 marks"


def test_its_json_has_the_documented_shape(
    tonight: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same in one object."""
    code, said, _ = lampwright(capsys, "replay", tonight, "--json")
    value: Any = hold_to_shape(said, "replay")
    assert code == 0
    assert (value["actions"], value["part"], value["cut_off"]) == ("identical", 1, False)
    held = [each for each in value["shown"] if each["segment"] == "door-sill"]
    assert [each["scene"] for each in held] == ["warm", "dark", "warm"]
    assert held[1]["at"] == "2026-11-27T20:02:20.003+00:00"


def test_actions_that_differ_are_one_finding(
    tonight: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As after a message is taken out of it, or when another version decides otherwise."""
    lines = tonight.read_text("ascii").splitlines(keepends=True)
    spoken = next(n for n, line in enumerate(lines) if n > 1500 and '"Heard"' in line)
    tonight.write_text("".join(lines[:spoken] + lines[spoken + 1 :]), "ascii")
    code, said, _ = lampwright(capsys, "replay", tonight)
    assert code == 1
    assert "other actions within the first 2000 events; recorded by 0.0.1, this is" in said


def test_a_recording_that_was_cut_off_is_replayed_to_there(
    tonight: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And said to be."""
    tonight.write_bytes(tonight.read_bytes()[:300_000])
    code, said, _ = lampwright(capsys, "replay", tonight)
    assert code == 0
    assert "its last line is cut off" in said
    assert "identical actions at all" in said


def test_parts_are_replayed_alone_or_as_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Alone, the later one says that it begins in the middle, and claims nothing."""
    later = recorded(tmp_path / "tonight", 800_000)
    code, said, _ = lampwright(capsys, "replay", later)
    assert code == 0
    assert "it begins in the middle, with part 2" in said
    assert "cannot be told" in said
    code, said, _ = lampwright(capsys, "replay", f"{later}.1", later)
    assert code == 0
    assert f"{len(an_evening())} events in 0:05:00: identical actions" in said
    code, _, wrong = lampwright(capsys, "replay", later, f"{later}.1")
    assert code == 2
    assert "it is part 1, the file before is part 2" in wrong


def test_the_same_rules_make_no_difference(
    tonight: Path, site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whichever way they are written."""
    _edit(site, "tables:", "# the same\ntables:")
    code, said, _ = lampwright(capsys, "replay", tonight, "--with", site)
    assert code == 0
    assert said == f"{len(an_evening())} events in 0:05:00: no difference\n"


def test_other_rules_are_compared_by_place_time_and_way(
    tonight: Path, site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And summed up."""
    _edit(site, "      - {name: out of material, when: {alarm: spool-empty}, show: feed-me}\n", "")
    code, said, _ = lampwright(capsys, "replay", tonight, "--with", site)
    assert code == 1
    instead = "instead of feed-me (out of material):"
    assert said.splitlines() == [
        f"2026-11-27 20:01:17 for 53.0 s  bench-left shows see-me (halted) {instead} as grave",
        f"2026-11-27 20:01:17 for 38.0 s  door-frame shows see-me (halted) {instead} as grave",
        f"2026-11-27 20:01:55 for 15.0 s  door-frame shows filling (working) {instead} milder",
        f"{len(an_evening())} events in 0:05:00: 3 differences",
        "  bench-left: 53.0 s as grave",
        "  door-frame: 38.0 s as grave, 15.0 s milder",
    ]


def test_the_comparison_has_the_documented_shape(
    tonight: Path, site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same in one object."""
    _edit(site, "show: see-me}", "show: trouble}")
    code, said, _ = lampwright(capsys, "replay", tonight, "--with", site, "--json")
    value: Any = hold_to_shape(said, "replay-with")
    assert code == 1
    assert {each["way"] for each in value["differences"]} == {"graver"}
    assert value["totals_ms"]["shelf"] == {"graver": 40_000}
    (shelf,) = [each for each in value["differences"] if each["segment"] == "shelf"]
    assert (shelf["from"], shelf["lasted_ms"]) == ("2026-11-27T20:01:05.020+00:00", 40_000)


def test_what_was_never_heard_is_told(
    tonight: Path, site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A topic of the other site that the recorded one did not subscribe to."""
    path = site / "site.yaml"
    path.write_text(path.read_text("utf-8").replace("/laid", "/count"), "utf-8")
    code, said, _ = lampwright(capsys, "replay", tonight, "--with", site)
    assert "never heard: shed alder/kestrel/count; what it would have said is unknown" in said
    assert code in {0, 1}


def test_wishes_that_mean_nothing_any_more_are_told(
    tonight: Path, site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Those about the occurrence of an alarm that is called otherwise now."""
    _edit(site, "  spool-empty:", "  spool-out:")
    _edit(site, "{alarm: spool-empty}", "{alarm: spool-out}")
    code, said, _ = lampwright(capsys, "replay", tonight, "--with", site)
    assert code == 1
    assert "2 wishes were about an alarm or prompt that does not stand" in said


UNUSABLE = {
    "no such file": (None, "cannot be read: no such file or directory"),
    "no recording": ("zone: UTC\n", "not a recorded head"),
    "nothing in it": (line_of(Head.of("r", 1, 0, "0")) + "\n", "nothing was decided"),
    "out of order": (
        line_of(Head.of("r", 1, 0, "0")) + '\n{"at_ms":1,"event":"Due","wall_ms":null}\n',
        "Due out of order, expected Started",
    ),
}


@pytest.mark.parametrize(("text", "why"), UNUSABLE.values(), ids=UNUSABLE.keys())
def test_what_cannot_be_replayed_is_one_line_and_code_2(
    text: str | None, why: str, tmp_path: Path, site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With other rules too."""
    path = tmp_path / "tonight"
    if text is not None:
        path.write_text(text, "ascii")
    for more in ((), ("--with", site)):
        code, said, wrong = lampwright(capsys, "replay", path, *more)
        assert (code, said) == (2, "")
        assert why in wrong
        assert wrong.count("\n") == 1


@pytest.mark.parametrize("speed", ["0", "-1", "fast", "nan", "inf"])
def test_a_speed_that_is_none_is_refused(
    speed: str, tonight: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By the command line."""
    with pytest.raises(SystemExit):
        lampwright(capsys, "replay", tonight, "--speed", speed)
    assert "is no number from 0 to" in capsys.readouterr().err


def test_it_can_be_watched(tonight: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Much faster than it was."""
    code, said, _ = lampwright(capsys, "replay", tonight, "--speed", "3000")
    assert (code, "identical actions" in said) == (0, True)


@pytest.mark.parametrize("seed", ["0", "1", "2"])
def test_it_says_the_same_however_python_hashes(seed: str, tonight: Path, site: Path) -> None:
    """Text and JSON, in a process of its own each."""
    _edit(site, "show: see-me}", "show: trouble}")
    outputs = []
    for more in ([], ["--with", str(site), "--json"]):
        done = subprocess.run(
            [sys.executable, "-m", "bridge", "replay", str(tonight), *more],
            cwd=ROOT,
            env={"PYTHONHASHSEED": seed, "PATH": os.environ["PATH"]},
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
        )
        outputs.append((done.returncode, done.stdout))
    assert outputs[0][0] == 0
    assert outputs[0][1].endswith("identical actions at all 4 marks\n")
    assert outputs[1][0] == 1
    assert json.loads(outputs[1][1])["totals_ms"] == {
        # 2 s of the kestrel before its alarm, 10 s of the heron after that is reset.
        "bench-left": {"graver": 12_000},
        "door-frame": {"graver": 2_000},
        "shelf": {"graver": 40_000},
    }
