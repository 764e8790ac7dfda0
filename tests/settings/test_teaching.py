"""A word is taught: its place is found, the whole site checked, nothing else in the file moved."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from bridge.facts.reader import Scalar
from bridge.settings.load import load_site
from bridge.settings.problems import SettingsError
from bridge.settings.teaching import Lesson, Taught, TeachingError, teach, word_of, write
from tests.settings.copies import Edit, copy_of_good, edited

PIECES, LEDGER = "readers/pieces.yaml", "readers/ledger.yaml"

#: A second way to the job's state, words that are graded elsewhere, and one that maps no words.
MORE: Edit = (
    LEDGER,
    "facts:\n",
    (
        "facts:\n"
        "  job:\n"
        "    # closed comes first\n"
        "    - {in: page, at: /closed, values: {F: completed}, "
        "unless: [null, open], no_value: [-1]}\n"
        "    - {in: page, at: /halted, is: true, gives: processing-stopped}\n"
        "    - in: page\n"
        "      at: /duty\n"
        "      values:\n"
        "        12: processing  # at work\n"
        "        true: pending\n"
        "  site-mood: [{in: page, at: /mood, values: {G: glad}}]\n"
    ),
)
WORDLESS: Edit = (PIECES, ", values: {ashore: idle, laying: processing, aground: stopped}", "")
GRADED: Edit = (
    LEDGER,
    "    all_of: [{",
    (
        "    all_of: [{in: page, at: /woe, values: {spool: [material-empty, material-needed]}, "
        "severity: {at: /how, values: {loud: error}}}, {"
    ),
)


def _lines(before: str, after: str) -> tuple[list[str], list[str]]:
    """The lines that are gone, and those that are new."""
    old, new = before.splitlines(), after.splitlines()
    return [line for line in old if line not in new], [line for line in new if line not in old]


@pytest.mark.parametrize(
    ("lesson", "file", "new"),
    [
        (
            Lesson("kestrel", "state", "adrift", "stopped"),
            PIECES,
            (
                "  state: [{in: doing, values: {ashore: idle, laying: processing, "
                "aground: stopped, "
                "adrift: stopped}}]"
            ),
        ),
        (
            Lesson("plover", "state", "30", "stopped"),
            LEDGER,
            "    - {in: page, at: /duty, values: {7: idle, 12: processing, 30: stopped}}",
        ),
        (
            Lesson("plover", "state", '"30"', "stopped"),
            LEDGER,
            '    - {in: page, at: /duty, values: {7: idle, 12: processing, "30": stopped}}',
        ),
        (
            Lesson("plover", "state", "30", "unknown"),
            LEDGER,
            "    - {in: page, at: /duty, values: {7: idle, 12: processing, 30: unknown}}",
        ),
        (
            Lesson("kestrel", "reasons", "moth", "site-moth-warning, door-open"),
            PIECES,
            (
                '    all_of: [{in: snag, wildcard: 1, unless: ["", clear], values: {spool: '
                "material-empty, lid: cover-open, moth: [site-moth-warning, door-open]}}]"
            ),
        ),
        (
            Lesson("kestrel", "reasons", "fine", "none"),
            PIECES,
            (
                '    all_of: [{in: snag, wildcard: 1, unless: ["", clear], values: {spool: '
                "material-empty, lid: cover-open, fine: none}}]"
            ),
        ),
        (
            # What the payload may not be has nothing to do with the topic's word.
            Lesson("kestrel", "reasons", "clear", "none"),
            PIECES,
            (
                '    all_of: [{in: snag, wildcard: 1, unless: ["", clear], values: {spool: '
                "material-empty, lid: cover-open, clear: none}}]"
            ),
        ),
        (
            Lesson("plover", "job", "21", "processing", way=2),
            LEDGER,
            "        21: processing",
        ),
        (
            Lesson("plover", "job", "B", "aborted", way=0),
            LEDGER,
            (
                "    - {in: page, at: /closed, values: {F: completed, B: aborted}, "
                "unless: [null, open], no_value: [-1]}"
            ),
        ),
        (
            Lesson("plover", "site-mood", "S", "sad, or so", way=0),
            LEDGER,
            '  site-mood: [{in: page, at: /mood, values: {G: glad, S: "sad, or so"}}]',
        ),
    ],
)
def test_the_word_is_in_the_reader(lesson: Lesson, file: str, new: str, tmp_path: Path) -> None:
    """One line is new, at most one is gone; the site with it is right; the file is not written."""
    site = edited(tmp_path, MORE)
    before = (site / file).read_text("utf-8")
    taught = teach(site, lesson)
    gone, there = _lines(taught.before, taught.after)
    assert there == [new]
    assert len(gone) <= 1
    assert (taught.file, taught.before) == (file, before)
    assert taught.after.splitlines()[taught.line - 1] == new
    assert taught.entry in new
    assert (site / file).read_text("utf-8") == before
    write(site, taught)
    assert (site / file).read_text("utf-8") == taught.after
    load_site(site)


@pytest.mark.parametrize(
    ("lesson", "new"),
    [
        (
            Lesson("plover", "reasons", "quiet", "warning"),
            "values: {loud: error, quiet: warning}}",
        ),
        (Lesson("plover", "reasons", "moth", "site-moth", way=0), "moth: site-moth}"),
        (Lesson("plover", "reasons", "bit 5", "door-open", way=1), "5: door-open}"),
        (Lesson("plover", "reasons", "5", "door-open", way=1), "5: door-open}"),
    ],
)
def test_words_bits_and_severities(lesson: Lesson, new: str, tmp_path: Path) -> None:
    """Each goes where its kind is mapped."""
    site = edited(tmp_path, GRADED)
    taught = teach(site, lesson)
    assert new in taught.after.splitlines()[taught.line - 1]


@pytest.mark.parametrize(
    ("lesson", "said"),
    [
        (
            Lesson("kestle", "state", "x", "idle"),
            "'kestle' is no printer of site.yaml; did you mean 'kestrel'?",
        ),
        (
            Lesson("plover", "sate", "x", "idle"),
            "'sate' is no fact of reader ledger; did you mean 'state'?",
        ),
        (Lesson("plover", "stale", "x", "idle"), "'stale' is no fact of reader ledger"),
        (
            Lesson("plover", "state", "x", "idel"),
            "meaning: 'idel' is no state; did you mean 'idle'?",
        ),
        (Lesson("plover", "state", "x", "idle,stopped"), "meaning: 'idle,stopped' is no state"),
        (
            Lesson("plover", "state", "7", "stopped"),
            "7 means idle already (readers/ledger.yaml:18): change it there",
        ),
        (Lesson("plover", "state", "7.0", "stopped"), "7 means idle already"),
        (
            Lesson("kestrel", "state", "ashore", "idle"),
            "ashore means idle already (readers/pieces.yaml:8)",
        ),
        (
            Lesson("plover", "progress", "x", "0.5"),
            "no way to progress in reader ledger has values, so no word can be added",
        ),
        (Lesson("kestrel", "layer", "x", "5"), "reader pieces has layer from a form alone"),
        (
            Lesson("plover", "job", "x", "completed"),
            "2 ways: say which said it, with --way 1 (in page at /closed) or 3 (in page at /duty)",
        ),
        (
            Lesson("plover", "job", "x", "completed", way=1),
            "way 2 to job in reader ledger maps no words, expected 1 or 3",
        ),
        (
            Lesson("plover", "job", "x", "completed", way=9),
            "way 10 to job in reader ledger maps no words",
        ),
        (
            Lesson("plover", "job", "open", "pending", way=0),
            "open stands under unless (readers/ledger.yaml:8), which is asked first",
        ),
        (
            Lesson("plover", "job", "-1", "pending", way=0),
            "-1 stands under no_value (readers/ledger.yaml:8)",
        ),
        (
            Lesson("plover", "job", "1", "pending", way=2),
            "1 cannot stand beside true in one mapping",
        ),
        (
            Lesson("kestrel", "reasons", "x", "mateiral-empty"),
            "'mateiral-empty' is not a registered reason: did you mean 'material-empty'?",
        ),
        (
            Lesson("kestrel", "reasons", "x", "media-path-input-feed-eror"),
            "did you mean 'media-path-input-feed-error'?",
        ),
        (
            Lesson("kestrel", "reasons", "x", "media-path-input-feed-warning"),
            "is not a registered reason",
        ),
        (
            Lesson("kestrel", "reasons", "x", "door-open,dor-open"),
            "'dor-open' is not a registered reason: did you mean 'door-open'?",
        ),
        (
            Lesson("kestrel", "reasons", "x", "warning"),
            "warning is a severity, and no way to reasons in reader pieces has severity",
        ),
        (Lesson("plover", "reasons", "0", "door-open"), "0 means cover-open-error already"),
        (
            Lesson("plover", "reasons", "bit 64", "door-open"),
            "'bit 64' is no bit, expected 0 (the lowest) to 63",
        ),
        (Lesson("plover", "reasons", "lid", "door-open"), "'lid' is no bit"),
        (Lesson("plover", "state", "{…}", "idle"), "{…} is an object or a list, and no word"),
        (Lesson("plover", "state", "x" * 79 + "…", "idle"), "was cut, its end is not known"),
    ],
)
def test_what_cannot_be_taught(lesson: Lesson, said: str, tmp_path: Path) -> None:
    """It says what was expected, and nothing is written."""
    site = edited(tmp_path, MORE)
    with pytest.raises(TeachingError) as refused:
        teach(site, lesson)
    assert said in "\n".join(refused.value.lines())


def test_a_suffix_beside_a_severity(tmp_path: Path) -> None:
    """Which only shows when the file is read as a whole."""
    site = edited(tmp_path, GRADED)
    with pytest.raises(TeachingError, match="has a suffix, which is what severity is for"):
        teach(site, Lesson("plover", "reasons", "x", "door-open-error", way=0))


def test_a_text_source_has_the_text_of_a_number(tmp_path: Path) -> None:
    """There 41 and "41" are one word; in JSON they are two."""
    site = edited(tmp_path, (PIECES, "values: {ashore: idle", "values: {41: idle"))
    with pytest.raises(TeachingError, match="41 means idle already"):
        teach(site, Lesson("kestrel", "state", '"41"', "stopped"))


def test_registered_names_as_they_are(tmp_path: Path) -> None:
    """Values would take the place of the names that the printer says; a person must decide that."""
    site = edited(tmp_path, WORDLESS)
    with pytest.raises(TeachingError, match="write values there by hand, with every word"):
        teach(site, Lesson("kestrel", "state", "adrift", "stopped"))


def test_who_else_is_taught(tmp_path: Path) -> None:
    """A reader may be that of several printers."""
    site = edited(
        tmp_path,
        (
            "site.yaml",
            "  plover:\n",
            (
                "  heron:\n    reader: ledger\n"
                '    messages: {page: "http://heron.club.example/now"}\n'
                '    asks: {wake: "http://heron.club.example/wake"}\n'
                "    poll: {working: 5s, resting: 20s}\n  plover:\n"
            ),
        ),
        ("site.yaml", "length: 20, resting: warm", "length: 20, printers: [heron], table: wall"),
    )
    assert teach(site, Lesson("plover", "state", "30", "stopped")).others == ("heron",)
    assert teach(site, Lesson("kestrel", "state", "x", "stopped")).others == ()


def test_a_site_that_is_wrong_already(tmp_path: Path) -> None:
    """It is not the lesson's fault, and is said with its places."""
    site = edited(tmp_path, ("site.yaml", "zone: Europe/Dublin", "zone: Europe/Dublim"))
    with pytest.raises(SettingsError) as refused:
        teach(site, Lesson("plover", "state", "30", "stopped"))
    assert refused.value.lines()[0].startswith("site.yaml:1:7: ")


def _taught(site: Path) -> Taught:
    return teach(site, Lesson("plover", "state", "30", "stopped"))


def test_a_file_that_was_changed_meanwhile(tmp_path: Path) -> None:
    """What somebody wrote in between is not lost."""
    site = copy_of_good(tmp_path)
    taught = _taught(site)
    (site / LEDGER).write_text(taught.before + "# mine\n", "utf-8")
    with pytest.raises(TeachingError, match="was changed meanwhile: teach it again"):
        write(site, taught)
    assert (site / LEDGER).read_text("utf-8") == taught.before + "# mine\n"


def test_a_file_that_cannot_be_written(tmp_path: Path) -> None:
    """It says why, in one line."""
    site = copy_of_good(tmp_path)
    taught = _taught(site)
    shutil.rmtree(site / "readers")
    with pytest.raises(TeachingError, match=f"{LEDGER} cannot be written: no such file"):
        write(site, taught)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("adrift", "adrift"),
        ("at it", "at it"),
        ("20", 20),
        ('"20"', "20"),
        ("-1", -1),
        ("2.5", 2.5),
        ("0x1F", 31),
        ("012", 12),
        ("true", True),
        ("on", "on"),
        ("null", None),
        ('""', ""),
        ("", ""),
        ("a: b", "a: b"),
        ("[1]", "[1]"),
        ("1 # 2", "1 # 2"),
        ("1\n", "1\n"),
        ('"', '"'),
        ('"a', '"a'),
        ('"a\\nb"', "a\nb"),
        (".inf", ".inf"),
    ],
)
def test_word_of(text: str, word: Scalar) -> None:
    """As YAML 1.2 reads it in a reader's file; quotes make a text of it."""
    assert repr(word_of(text)) == repr(word)
