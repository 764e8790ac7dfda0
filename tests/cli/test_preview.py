"""``lampwright preview``: scenes in the terminal."""

from __future__ import annotations

import re
import shutil
import sys
from itertools import pairwise
from pathlib import Path
from typing import get_args
from xml.etree import ElementTree as ET

import pytest
from PIL import Image

from bridge.cli.main import main
from bridge.scenes.frames import frame
from bridge.scenes.sight import Sight, seen
from bridge.settings.load import load_site
from tests.cli.commands import CONFIG, Terminal, lampwright


def test_one_frame_of_every_scene(capsys: pytest.CaptureFixture[str]) -> None:
    """With what it says, and a gauge's look without a known value beside it."""
    code, said, _ = lampwright(capsys, "preview", CONFIG, "--still", "--pixels", "10")
    lines = said.splitlines()
    assert code == 0
    assert [line.split()[0] for line in lines if not line.startswith(" ")][:3] == [
        "dark",
        "warm",
        "ready",
    ]
    assert sum("progress not known" in line for line in lines) == 1
    assert any(line.startswith("trouble") and "says trouble" in line for line in lines)


def test_named_scenes_only(capsys: pytest.CaptureFixture[str]) -> None:
    """In the order of their naming."""
    _, said, _ = lampwright(capsys, "preview", CONFIG, "ready", "dark", "--still")
    assert [line.split()[0] for line in said.splitlines()] == ["ready", "dark"]


def test_a_scene_that_is_not_there_is_met_with_the_nearest(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """One line."""
    code, _, complaint = lampwright(capsys, "preview", CONFIG, "feedme")
    assert code == 2
    assert complaint == "no scene 'feedme' in legend.yaml, did you mean 'feed-me'\n"


@pytest.mark.parametrize(
    "words",
    [["--pixels", "0"], ["--pixels", "many"], ["--seconds", "-1"], ["--seconds", "nan"]],
)
def test_numbers_that_cannot_be_drawn_are_refused(words: list[str]) -> None:
    """Before anything is drawn."""
    with pytest.raises(SystemExit) as ended:
        main(["preview", str(CONFIG), *words])
    assert ended.value.code == 2


def test_on_a_terminal_it_moves_where_it_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each frame is drawn over the one before, and the time is kept."""
    screen, clock = Terminal(), iter([0.0, 0.4, 0.9])
    monkeypatch.setattr("sys.stdout", screen)
    monkeypatch.setattr("time.monotonic", lambda: next(clock))
    monkeypatch.setattr("time.sleep", lambda _seconds: None)
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert main(["preview", str(CONFIG), "trouble", "--seconds", "0.5"]) == 0
    assert screen.getvalue().count("\x1b[1A") == 2
    assert "\x1b[38;2;" in screen.getvalue()


@pytest.mark.parametrize(
    ("words", "variable"), [(["--still"], ("TERM", "xterm")), ([], ("NO_COLOR", "1"))]
)
def test_on_a_terminal_it_stands_where_that_is_asked(
    words: list[str], variable: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One frame, and nothing is drawn over; without colours nothing could be seen moving."""
    screen = Terminal()
    monkeypatch.setattr("sys.stdout", screen)
    monkeypatch.setattr("time.sleep", lambda _seconds: pytest.fail("it waits for a next frame"))
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv(*variable)
    assert main(["preview", str(CONFIG), "trouble", *words]) == 0
    assert len(screen.getvalue().splitlines()) == 1
    assert "\x1b[1A" not in screen.getvalue()


def test_a_small_screen_is_not_overrun(monkeypatch: pytest.MonkeyPatch) -> None:
    """What would not fit could not be drawn over: lines are cut, and so is their number."""
    screen = Terminal()
    monkeypatch.setattr("sys.stdout", screen)
    monkeypatch.setenv("COLUMNS", "36")
    monkeypatch.setenv("LINES", "5")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert main(["preview", str(CONFIG), "--pixels", "10", "--seconds", "0"]) == 0
    lines = re.sub(r"\x1b\[[0-9;]*[A-Za-z]", "", screen.getvalue()).splitlines()
    assert len(lines) == 4
    assert max(map(len, lines)) <= 36


def strips(file: Path) -> list[list[str]]:
    """The colours of each strip's pixels in an SVG file."""
    root = ET.fromstring(file.read_text("utf-8"))  # noqa: S314 - our own
    name = "{http://www.w3.org/2000/svg}g"
    return [[pixel.attrib["fill"] for pixel in group] for group in root.iter(name)]


def codes(frame: bytes) -> list[str]:
    """The colours of a frame, as CSS writes them."""
    return [f"#{frame[at : at + 3].hex()}" for at in range(0, len(frame), 3)]


def test_without_names_scenes_answer_to_their_alarms(capsys: pytest.CaptureFixture[str]) -> None:
    """Those that show for one, in the three looks, below the scene as it is."""
    _, said, _ = lampwright(capsys, "preview", CONFIG, "--still", "--pixels", "3")
    names = [line[: line.index("  ", 3)].rstrip() for line in said.splitlines()]
    at = names.index("feed-me")
    assert names[at + 1 : at + 4] == ["  unacknowledged", "  acknowledged", "  returned"]
    answering = [name for name, below in pairwise(names) if below == "  unacknowledged"]
    assert answering == ["see-me", "feed-me", "trouble"]
    _, named, _ = lampwright(capsys, "preview", CONFIG, "feed-me", "--still", "--pixels", "3")
    assert [line.split() for line in named.splitlines()] == [said.splitlines()[at].split()]


def test_a_scene_that_writes_its_answers_shows_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Though no rule shows it for an alarm yet."""
    site = tmp_path / "site"
    shutil.copytree(CONFIG, site)
    legend = (site / "legend.yaml").read_text("utf-8")
    plain = "look-in: {says: notice, effect: steady, colour: abnormal, brightness: 100 %"
    assert plain in legend
    written = legend.replace(plain, plain + ", returned: {brightness: 20 %}")
    (site / "legend.yaml").write_text(written, "utf-8")
    _, said, _ = lampwright(capsys, "preview", site, "--still", "--pixels", "3")
    lines = said.splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith("look-in"))
    assert lines[at + 3].split()[0] == "returned"
    assert lines[at + 3].endswith("steady, 20%")


def test_a_picture_has_the_pixels_of_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A strip for each line, in the colours of the frames."""
    file = tmp_path / "legend.svg"
    code, said, _ = lampwright(capsys, "preview", CONFIG, "--to", file, "--pixels", "9")
    assert (code, said) == (0, f"{file}\n")
    site = load_site(CONFIG)
    made = strips(file)
    _, drawn, _ = lampwright(capsys, "preview", CONFIG, "--still", "--pixels", "9")
    assert len(made) == len(drawn.splitlines())
    expected = {
        name: codes(frame(scene, 9, 0, {"progress": 0.4})) for name, scene in site.scenes.items()
    }
    assert made[: len(site.scenes)][:3] == [expected["dark"], expected["warm"], expected["ready"]]
    assert all(each in made for each in expected.values())
    assert "@keyframes" in file.read_text("utf-8")


@pytest.mark.parametrize("sight", get_args(Sight))
def test_it_is_drawn_as_somebody_sees_it(
    sight: Sight,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """In files and in the terminal alike."""
    file = tmp_path / "legend.svg"
    words = ("preview", str(CONFIG), "look-in", "--sight", sight, "--pixels", "3", "--still")
    lampwright(capsys, *words, "--to", str(file))
    seen_so = seen((255, 176, 0), sight)
    assert strips(file) == [[f"#{bytes(seen_so).hex()}"] * 3]
    assert "@keyframes" not in file.read_text("utf-8")
    assert sight == "normal" or sight in file.read_text("utf-8")
    screen = Terminal()
    monkeypatch.setattr("sys.stdout", screen)
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert main(list(words)) == 0
    red, green, blue = seen_so
    assert f"\x1b[38;2;{red};{green};{blue}m███\x1b[0m" in screen.getvalue()


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (["--to", "{here}/a.jpg"], "{here}/a.jpg: expected a name that ends in .svg, .png or .gif"),
        (
            ["--to", "{here}/nowhere/a.svg"],
            "{here}/nowhere/a.svg: cannot be written: no such file or directory",
        ),
        (["--to", "{here}/taken.svg"], "{here}/taken.svg: cannot be written: is a directory"),
        (
            ["dork", "--to", "{here}/a.svg"],
            "no scene 'dork' in legend.yaml, did you mean 'dark'",
        ),
    ],
)
def test_what_cannot_be_written_is_one_line(
    words: list[str], complaint: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And no file is left behind."""
    (tmp_path / "taken.svg").mkdir()
    here = [word.format(here=tmp_path) for word in words]
    code, said, complained = lampwright(capsys, "preview", CONFIG, *here)
    assert (code, said, complained) == (2, "", complaint.format(here=tmp_path) + "\n")
    assert [each.name for each in tmp_path.iterdir()] == ["taken.svg"]


@pytest.mark.parametrize(
    ("ending", "words", "frames"),
    [("png", [], 1), ("gif", [], 2), ("gif", ["--still"], 1), ("GIF", [], 2)],
)
def test_the_same_picture_as_pixels(
    ending: str, words: list[str], frames: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A GIF moves where it may."""
    file = tmp_path / f"see-me.{ending}"
    code, said, _ = lampwright(capsys, "preview", CONFIG, "see-me", "--to", file, *words)
    assert (code, said) == (0, f"{file}\n")
    with Image.open(file) as image:
        assert image.format == ending.upper()
        assert getattr(image, "n_frames", 1) == frames
        colours = image.convert("RGB").getcolors(10_000) or []
    assert (255, 176, 0) in [colour for _, colour in colours]


def test_without_pillow_only_pictures_of_pixels_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """In one line that tells how to get it."""
    monkeypatch.setitem(sys.modules, "PIL", None)
    code, said, complaint = lampwright(capsys, "preview", CONFIG, "--to", tmp_path / "a.png")
    assert (code, said) == (2, "")
    assert complaint.startswith("a .png file needs Pillow, which is not installed: python -m pip")
    assert complaint.count("\n") == 1
    assert list(tmp_path.iterdir()) == []
    assert lampwright(capsys, "preview", CONFIG, "--to", tmp_path / "a.svg")[0] == 0


def test_the_table_is_that_of_check(capsys: pytest.CaptureFixture[str]) -> None:
    """Of every table, by the same matcher."""
    code, said, _ = lampwright(capsys, "preview", CONFIG, "--table")
    assert code == 0
    _, checked, _ = lampwright(capsys, "check", CONFIG, "--matrix")
    assert checked.startswith(said)
    assert [line for line in said.splitlines() if line.startswith("table ")] == [
        "table wall",
        "table glance",
    ]


def test_the_table_is_drawn_as_somebody_sees_it(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its patches too."""
    monkeypatch.setattr(
        "bridge.cli.drawing.colours_for", lambda _stream, _environment: "truecolour"
    )
    _, said, _ = lampwright(capsys, "preview", CONFIG, "--table", "--sight", "greyscale")
    found = re.findall(r"\x1b\[38;2;(\d+);(\d+);(\d+)m", said)
    assert len(found) > 20
    assert all(red == green == blue for red, green, blue in found)


@pytest.mark.parametrize("ending", ["svg", "png", "gif"])
def test_the_table_is_written_too(
    ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In every form."""
    file = tmp_path / f"table.{ending}"
    code, said, _ = lampwright(capsys, "preview", CONFIG, "--table", "--to", file)
    assert (code, said) == (0, f"{file}\n")
    if ending == "svg":
        assert ">table wall</text>" in file.read_text("utf-8")
        return
    with Image.open(file) as image:
        assert image.format == ending.upper()
        assert getattr(image, "n_frames", 1) == (2 if ending == "gif" else 1)


def test_the_table_and_some_scenes_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """In one line."""
    code, said, complaint = lampwright(capsys, "preview", CONFIG, "ready", "--table")
    assert (code, said) == (2, "")
    assert complaint == "--table draws every scene that its rules show; name no scene with it\n"
