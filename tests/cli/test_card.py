"""``lampwright card``: a page for the wall."""

from __future__ import annotations

import shutil
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from bridge.check.meanings import meanings_of
from bridge.cli.card_page import card_page
from bridge.settings.load import load_site
from tests.cli.commands import CONFIG, lampwright


def test_it_prints_a_page(capsys: pytest.CaptureFixture[str]) -> None:
    """To be sent anywhere."""
    code, said, complaint = lampwright(capsys, "card", CONFIG)
    assert (code, complaint) == (0, "")
    assert said == card_page(meanings_of(load_site(CONFIG)), "a4")
    assert "<b>out of material</b>: load a spool" in said


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_it_writes_either_form_for_either_paper(
    paper: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And names the file."""
    page, picture = tmp_path / "card.html", tmp_path / "card.svg"
    for file in (page, picture):
        code, said, _ = lampwright(capsys, "card", CONFIG, "--to", file, "--paper", paper)
        assert (code, said) == (0, f"{file}\n")
    assert ("size:A4" in page.read_text("utf-8")) is (paper == "a4")
    root = ET.fromstring(picture.read_text("utf-8"))  # noqa: S314 - our own
    assert root.attrib["width"] == {"a4": "794", "letter": "816"}[paper]


def test_what_people_write_into_the_files_is_text(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """From the rules to the page."""
    site = tmp_path / "site"
    shutil.copytree(CONFIG, site)
    rules = (site / "rules.yaml").read_text("utf-8")
    for plain, hostile in (
        ("response: load a spool", 'response: "<script>alert(1)</script>"'),
        ("cause: the spool ran out, or slipped", 'cause: "\\e[31m</style>"'),
        ("{name: out of material,", '{name: "<img src=x>",'),
    ):
        assert plain in rules
        rules = rules.replace(plain, hostile)
    (site / "rules.yaml").write_text(rules, "utf-8")
    code, said, _ = lampwright(capsys, "card", site)
    assert code == 0
    assert "<b>&lt;img src=x&gt;</b>: &lt;script&gt;alert(1)&lt;/script&gt;" in said
    assert "<i>\\x1b[31m&lt;/style&gt;</i>" in said
    assert "<script" not in said
    assert "\x1b" not in said


@pytest.mark.parametrize(
    ("name", "complaint"),
    [
        ("a.pdf", "{file}: expected a name that ends in .html or .svg"),
        ("nowhere/a.html", "{file}: cannot be written: no such file or directory"),
        ("taken.svg", "{file}: cannot be written: is a directory"),
    ],
)
def test_what_cannot_be_written_is_one_line(
    name: str, complaint: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With the exit code of unusable input."""
    (tmp_path / "taken.svg").mkdir()
    file = tmp_path / name
    code, said, complained = lampwright(capsys, "card", CONFIG, "--to", file)
    assert (code, said, complained) == (2, "", complaint.format(file=file) + "\n")


def test_a_site_that_cannot_be_used_has_no_card(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is written either."""
    code, said, complaint = lampwright(capsys, "card", tmp_path, "--to", tmp_path / "a.svg")
    assert (code, said) == (2, "")
    assert complaint.startswith("no site: ")
    assert list(tmp_path.iterdir()) == []
