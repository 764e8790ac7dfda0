"""Loading a whole site: every problem of every file at once, and nothing else."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.settings.load import digest_of, load_site, load_texts
from bridge.settings.problems import SettingsError
from tests.settings.copies import (
    BAD,
    EXPECTED,
    GOOD,
    copy_of_good,
    edited,
    lines_of,
    load_edited,
    overlaid,
)

BAD_SITES = sorted(path.name for path in BAD.iterdir())
CONFIG = Path(__file__).parents[2] / "config"


def expected_lines(name: str) -> list[str]:
    """What is written beside a bad site."""
    return (BAD / name / EXPECTED).read_text("utf-8").splitlines()


@pytest.mark.parametrize("name", BAD_SITES)
def test_a_bad_site_is_told_by_its_lines(name: str, tmp_path: Path) -> None:
    """Each mistake is said once, at a place that is in its file, without follow-up noise."""
    site = overlaid(tmp_path, name)
    with pytest.raises(SettingsError) as caught:
        load_site(site)
    lines = [line.replace(f"{site}/", "SITE/") for line in caught.value.lines()]
    assert lines == expected_lines(name)
    for problem in caught.value.problems:
        written = (site / problem.file).read_bytes().decode("utf-8", "replace").split("\n")
        assert 1 <= problem.line <= len(written)
        assert 1 <= problem.column <= len(written[problem.line - 1]) + 1


def test_the_problems_are_sorted_by_file_and_line(tmp_path: Path) -> None:
    """Whoever works through a file works downwards."""
    with pytest.raises(SettingsError) as caught:
        load_site(overlaid(tmp_path, "several-at-once"))
    problems = caught.value.problems
    assert list(problems) == sorted(problems)
    assert len({problem.file for problem in problems}) == 5
    assert caught.value.exit_code == 2


SECRET_SITES = ["password-in-address", "secret-for-a-credential", "secret-in-a-header"]


@pytest.mark.parametrize("name", SECRET_SITES)
def test_a_secret_in_a_file_is_refused_and_not_repeated(name: str, tmp_path: Path) -> None:
    """A log that quotes a mistake must not carry the secret further."""
    lines = lines_of(overlaid(tmp_path, name))
    assert lines
    assert "oystershell" not in "\n".join(lines)


def test_the_good_site_loads() -> None:
    """What the bad sites are copies of is right."""
    site = load_site(GOOD)
    assert list(site.printers) == ["kestrel", "plover"]
    assert list(site.segments) == ["frame", "sill", "lamp"]
    assert site.zone.key == "Europe/Dublin"
    assert site.off_watch == "not-known"
    assert set(site.texts) == {
        str(path.relative_to(GOOD)) for path in GOOD.rglob("*") if path.is_file()
    }


def test_the_example_loads() -> None:
    """The site that everybody starts from has no problem."""
    assert load_site(CONFIG).printers


def test_the_texts_are_not_in_a_repr() -> None:
    """A site is shown in logs and errors; its files are long and somebody's own."""
    assert "Europe/Dublin\\nbrokers" not in repr(load_site(GOOD))


def test_the_digest_is_of_the_texts(tmp_path: Path) -> None:
    """The same files give the same digest, wherever they lie; any change another."""
    first = digest_of(load_site(GOOD))
    assert first == digest_of(load_site(copy_of_good(tmp_path)))
    (tmp_path / "other").mkdir()
    edit = ("site.yaml", "zone: Europe/Dublin", "zone:  Europe/Dublin")
    other = digest_of(load_edited(tmp_path / "other", edit))
    assert re.fullmatch("[0-9a-f]{64}", first)
    assert first != other


#: What somebody may write by mistake, or to see what happens.
ODD = ["", "null", "-1", "[]", "{}", "{a: {b: c}}", "5s", "{not: idle}", '"{berth}"', "$..a", "/~"]
ODD += [
    "{1: a, true: b}",
    "1e999",
    "&x",
    "!t",
    "? x",
    "|\n  a",
    "'",
    "mqtt://u:p@h",
    '"a\\nb"',
    "é",
]


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_nothing_that_is_written_ends_in_a_trace(data: st.DataObject) -> None:
    """Any word of any file, replaced by any other: a site, or lines that say where and what."""
    path = data.draw(st.sampled_from(sorted(GOOD.rglob("*.yaml"))))
    text = path.read_text("utf-8")
    word = data.draw(st.sampled_from(list(re.finditer(r'"[^"]*"|[^\s,{}\[\]:]+|[,{}\[\]:]', text))))
    odd = data.draw(st.sampled_from(ODD))
    with tempfile.TemporaryDirectory() as folder:
        site = copy_of_good(Path(folder))
        changed = text[: word.start()] + odd + text[word.end() :]
        (site / path.relative_to(GOOD)).write_text(changed, "utf-8")
        for line in lines_of(site):
            assert re.fullmatch(r"[^\n:]+:[1-9]\d*:[1-9]\d*: [^\n]+", line)


ABSENT = [
    ("site.yaml", ["site.yaml:1:1: is not there, every site has one"]),
    ("rules.yaml", ["rules.yaml:1:1: is not there, every site has one"]),
    ("legend.yaml", ["legend.yaml:1:1: is not there, every site has one"]),
    (
        "readers/ledger.yaml",
        ["site.yaml:14:13: reader: 'ledger' is no reader of readers/; known is pieces"],
    ),
    (
        "dialects/bars.yaml",
        ["site.yaml:19:52: dialect: 'bars' is no dialect of dialects/; there is none"],
    ),
]


@pytest.mark.parametrize(("file", "lines"), ABSENT)
def test_an_absent_file_is_one_line(file: str, lines: list[str], tmp_path: Path) -> None:
    """What another file would have said is not missed aloud."""
    site = copy_of_good(tmp_path)
    (site / file).unlink()
    assert lines_of(site) == lines


def test_no_directory_is_one_line(tmp_path: Path) -> None:
    """A path that leads nowhere, or to a file."""
    nowhere = tmp_path / "nowhere"
    expected = "expected the directory of a site"
    assert lines_of(nowhere) == [f"{nowhere}:1:1: is not there, {expected}"]
    nowhere.write_text("zone: UTC\n")
    assert lines_of(nowhere) == [f"{nowhere}:1:1: is a file, {expected}"]


def test_problems_of_a_printer_that_shares_a_reader_are_said_once(tmp_path: Path) -> None:
    """Two printers read by one wrong reader are one mistake."""
    site = edited(
        tmp_path,
        ("readers/pieces.yaml", "laying: processing", "laying: working"),
        ("site.yaml", "    reader: ledger", "    reader: pieces\n    broker: shed"),
        ("site.yaml", '{page: "http://plover.club.example/now"}', "{doing: a, laid: b, snag: c/+}"),
        ("site.yaml", '    asks: {wake: "http://plover.club.example/wake"}\n', ""),
        ("site.yaml", "    poll: {working: 5s, resting: 20s}\n", ""),
    )
    (line,) = lines_of(site)
    assert line.startswith("readers/pieces.yaml:8:54: laying: 'working' is no state")


def test_a_site_without_rules_or_printers_loads(tmp_path: Path) -> None:
    """Somebody begins with lights alone."""
    site = copy_of_good(tmp_path)
    (site / "rules.yaml").write_text("tables: {}\n")
    (site / "site.yaml").write_text(
        'printers: {}\ncontrollers: {door: {url: "http://d", dialect: bars, pixels: 3}}\n'
        "segments: {lone: {on: door, number: 1, length: 3, resting: warm}}\noff_watch: not-known\n"
    )
    loaded = load_site(site)
    assert loaded.segments["lone"].resting == "warm"
    assert loaded.zone.key == "UTC"


def test_a_site_is_made_of_its_texts_alone(tmp_path: Path) -> None:
    """A recording is replayed elsewhere: files that the site names are not there, nor needed."""
    plain, certain = '"mqtt://broker.club.example"', '"mqtts://b", tls: {ca: club.pem}'
    directory = edited(tmp_path, ("site.yaml", plain, certain))
    (directory / "club.pem").write_text("a certificate")
    site = load_site(directory)
    again = load_texts(site.texts)
    assert digest_of(again) == digest_of(site)
    assert (again.segments, again.tables, again.scenes) == (site.segments, site.tables, site.scenes)
    assert set(again.dialects) == set(site.dialects)


@pytest.mark.parametrize("file", ["site.yaml", "rules.yaml", "legend.yaml"])
def test_texts_without_one_of_the_files_are_no_site(file: str) -> None:
    """It is named."""
    texts = {name: text for name, text in load_site(GOOD).texts.items() if name != file}
    with pytest.raises(SettingsError) as caught:
        load_texts(texts)
    assert f"{file}:1:1: is not there" in caught.value.lines()
