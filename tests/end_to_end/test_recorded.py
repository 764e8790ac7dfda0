"""A real bridge recorded, and what can be told from the recording afterwards."""

from __future__ import annotations

import asyncio
import json
import resource
import signal
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.end_to_end.workroom import FEED_ME, Bridge, Room, running, until

SECRET = "kept-under-the-bench"


async def _lampwright(*words: str | Path) -> tuple[int, str, str]:
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "bridge", *map(str, words)),
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    output, complaint = await process.communicate()
    return process.returncode or 0, output.decode(), complaint.decode()


async def _replayed(*files: Path) -> dict[str, Any]:
    code, output, complaint = await _lampwright("replay", *files, "--json")
    assert (code, complaint) == (0, "")
    value: dict[str, Any] = json.loads(output)
    return value


async def _runs_out(room: Room, bridge: Bridge) -> None:
    """Kestrel's spool is empty, and its frame says so."""
    await bridge.is_up(room)
    await room.kestrel("waiting", snag_spool="out", laid="7 of 20 courses")
    await until(lambda: _asks_for_a_spool(room), "the empty spool", bridge)


def _asks_for_a_spool(room: Room) -> bool:
    """Whatever its motion: nobody has acknowledged it."""
    return (room.bar() or ("",))[0] == FEED_ME[0]


@pytest.mark.asyncio
async def test_what_a_real_bridge_did_comes_again(room: Room) -> None:
    """Identical actions to the last mark, and for each segment what the bridge itself said."""
    file = room.folder / "tonight"
    with running(room, "--record", str(file)) as bridge:
        await _runs_out(room, bridge)
        await room.kestrel("ashore", snag_spool="clear", outcome="sound")
        await until(lambda: b'"sound"' in file.read_bytes(), "the end of it on the disk", bridge)
        assert await bridge.end() == 0
    replayed = await _replayed(file)
    assert (replayed["actions"], replayed["cut_off"]) == ("identical", False)
    assert replayed["marks"] >= 2
    last = {each["segment"]: each for each in replayed["shown"]}
    for name, segment in bridge.summary()["segments"].items():
        assert (last[name]["rule"], last[name]["scene"]) == (segment["rule"], segment["scene"])
    # With its own rules there is nothing to tell.
    assert (await _lampwright("replay", file, "--with", room.site))[0] == 0


@pytest.mark.asyncio
async def test_a_bridge_that_is_killed_leaves_what_can_be_replayed(room: Room) -> None:
    """All but the last second or so; the next one keeps it as the older file."""
    file, older = room.folder / "tonight", room.folder / "tonight.1"
    with running(room, "--record", str(file)) as bridge:
        await _runs_out(room, bridge)
        await until(lambda: b'"out"' in file.read_bytes(), "the empty spool on the disk", bridge)
        bridge.process.send_signal(signal.SIGKILL)
        await asyncio.to_thread(bridge.process.wait)
    assert (await _replayed(file))["actions"] == "identical"
    code, output, _ = await _lampwright(
        "explain", "--recording", file, "--segment", "door-frame", "--json"
    )
    (explained,) = json.loads(output)["explained"]
    assert (code, explained["segments"][0]["scene"]) == (0, "feed-me")
    before = file.read_bytes()
    with running(room, "--record", str(file), name="later") as bridge:
        await bridge.is_up(room)
        assert await bridge.end() == 0
    assert older.read_bytes() == before
    # What the first start kept is in what the second one recorded.
    assert (await _replayed(file))["actions"] == "identical"


@pytest.mark.asyncio
async def test_no_secret_is_recorded(room: Room, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the credential's name, as in the settings."""
    monkeypatch.setenv("LAMPWRIGHT_CREDENTIAL_SHED_BROKER", f"ada:{SECRET}")
    path = room.site / "site.yaml"
    text = path.read_text("utf-8")
    assert "shed: {" in text
    path.write_text(text.replace("shed: {", "shed: {credential: shed-broker, ", 1), "utf-8")
    file = room.folder / "tonight"
    with running(room, "--record", str(file)) as bridge:
        await bridge.is_up(room)
        assert await bridge.end() == 0
    recorded = file.read_text("ascii")
    assert "credential: shed-broker" in recorded
    assert SECRET not in recorded


@pytest.mark.asyncio
async def test_a_full_disk_ends_the_recording_and_not_the_lights(room: Room) -> None:
    """One line in the log."""
    file = room.folder / "tonight"
    with running(room, "--record", str(file)) as bridge:
        await bridge.is_up(room)
        await until(lambda: file.stat().st_size > 0, "something recorded", bridge)
        # As a full disk: what is written beyond fails (setrlimit(2), EFBIG).
        size = file.stat().st_size + 2000
        resource.prlimit(bridge.process.pid, resource.RLIMIT_FSIZE, (size, size))
        await room.publish("alder/kestrel/laid", b"7 of 20 courses" + b" " * 4000)
        await asyncio.sleep(1.5)
        await room.publish("alder/kestrel/laid", b"8 of 20 courses")
        await bridge.says("the recording ended", "file too large")
        await _runs_out(room, bridge)
        assert await bridge.end() == 0
    assert len(bridge.lines("the recording ended")) == 1
    replayed = await _replayed(file)
    assert replayed["actions"] == "identical"


@pytest.mark.asyncio
async def test_what_cannot_be_recorded_is_told_before_anything_runs(room: Room) -> None:
    """Code 2 and one line, for a file that is somebody else's and for a limit that is none."""
    site = room.site / "site.yaml"
    before = site.read_bytes()
    code, _, wrong = await _lampwright("run", room.site, "--record", site)
    assert code == 2
    assert f"{site}: is no recording, and is not replaced by one" in wrong
    assert site.read_bytes() == before
    for size, why in (("5", "has no unit"), ("10 kB", "is less than 1 MB"), ("x", "is no size")):
        code, _, wrong = await _lampwright("run", room.site, "--record-limit", size)
        assert (code, why in wrong) == (2, True)
    code, _, wrong = await _lampwright("run", room.site, "--dry-run", "--record", room.folder / "x")
    assert (code, wrong) == (2, "--record goes with a run, not with --dry-run\n")
