"""The files of a site as texts."""

from __future__ import annotations

from pathlib import Path

from bridge.settings.files import MOST_BYTES, read_files
from tests.settings.copies import GOOD, copy_of_good


def test_every_file_is_read() -> None:
    """The three at the top, and the two folders."""
    texts, problems = read_files(GOOD)
    assert problems == []
    assert set(texts) == {
        "site.yaml",
        "rules.yaml",
        "legend.yaml",
        "readers/pieces.yaml",
        "readers/ledger.yaml",
        "dialects/bars.yaml",
    }


def test_a_byte_order_mark_is_no_text(tmp_path: Path) -> None:
    """Some editors put it in front."""
    site = copy_of_good(tmp_path)
    (site / "rules.yaml").write_bytes(b"\xef\xbb\xbftables: {}\n")
    assert read_files(site)[0]["rules.yaml"] == "tables: {}\n"


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path) -> None:
    """The largest that is allowed is."""
    site = copy_of_good(tmp_path)
    (site / "rules.yaml").write_bytes(b"#" * MOST_BYTES)
    assert read_files(site)[1] == []
    (site / "rules.yaml").write_bytes(b"#" * (MOST_BYTES + 1))
    texts, (problem,) = read_files(site)
    assert str(problem) == "rules.yaml:1:1: is larger than 1 MiB, which no site needs"
    assert "rules.yaml" not in texts


def test_a_byte_that_is_not_utf_8_is_found(tmp_path: Path) -> None:
    """Line and column count characters, not bytes."""
    site = copy_of_good(tmp_path)
    (site / "rules.yaml").write_bytes("# á\n# é".encode() + b"\xe9\n")
    (problem,) = read_files(site)[1]
    assert (problem.line, problem.column) == (2, 4)
    assert "0xe9 is not UTF-8" in problem.message


def test_what_cannot_be_opened_is_one_line(tmp_path: Path) -> None:
    """A folder where a file should be; the rest is read."""
    site = copy_of_good(tmp_path)
    (site / "rules.yaml").unlink()
    (site / "rules.yaml").mkdir()
    texts, (problem,) = read_files(site)
    assert str(problem) == "rules.yaml:1:1: cannot be read: is a directory"
    assert "site.yaml" in texts


def test_the_other_suffix_is_not_passed_over_in_silence(tmp_path: Path) -> None:
    """Whoever wrote a .yml wonders why it does nothing."""
    site = copy_of_good(tmp_path)
    (site / "dialects" / "shelves.yml").write_text("{}\n")
    (site / "dialects" / "notes.txt").write_text("hello\n")
    (problem,) = read_files(site)[1]
    assert str(problem) == (
        "dialects/shelves.yml:1:1: is not read, rename it to dialects/shelves.yaml"
    )
