"""The copy that the demo plays in: our addresses, short waits, and else the example itself."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from bridge.cli.hurried import Addresses, NoExampleError, example_directory, hurry
from bridge.engine.site import Site
from bridge.settings.load import load_site

ADDRESSES = Addresses(
    7123,
    {
        "door": "http://127.0.0.1:7001",
        "rack": "http://127.0.0.1:7002",
        "bench": "http://127.0.0.1:7003",
        "plover": "http://127.0.0.1:7004",
    },
)


def test_every_address_is_ours(tmp_path: Path) -> None:
    """Nothing of the copy points anywhere but to the simulators."""
    hurry(example_directory(), tmp_path, ADDRESSES)
    site = load_site(tmp_path)
    assert [(broker.host, broker.port) for broker in site.brokers.values()] == [("127.0.0.1", 7123)]
    assert {name: one.url for name, one in site.controllers.items()} == {
        name: url for name, url in ADDRESSES.urls.items() if name != "plover"
    }
    assert [one.url for one in site.endpoints.values()] == ["http://127.0.0.1:7004/ledger"]


def test_waits_are_short_and_the_rest_is_the_example(tmp_path: Path) -> None:
    """Missed after seconds; the rules and the scenes stay to the letter."""
    hurry(example_directory(), tmp_path, ADDRESSES)
    short, example = load_site(tmp_path), load_site(example_directory())
    assert {one.working_ms for one in short.endpoints.values()} == {1000}
    for printer in short.printers.values():
        fresh = {one.fresh_for_ms for one in printer.reader.messages.values()}
        assert fresh <= {4000, None}
    assert {one.read.every_ms for one in short.dialects.values() if one.read} == {2000}
    assert {alarm.off_delay_ms for alarm in short.alarms.values()} == {0, 300}
    # Written anew, so that lines and columns are others.
    assert _rows(short) == _rows(example)
    assert short.scenes == example.scenes
    assert {name: one.place for name, one in short.segments.items()} == {
        name: one.place for name, one in example.segments.items()
    }


def _rows(site: Site) -> list[tuple[object, ...]]:
    return [
        (row.name, row.when, row.show, row.says)
        for table in site.tables.values()
        for row in (*table.rows, table.otherwise)
    ]


def _without_site(site: Path) -> None:
    (site / "site.yaml").unlink()


def _with_tabs(site: Path) -> None:
    (site / "readers" / "pieces.yaml").write_text("messages:\n\t- 1\n")


def _with_another_controller(site: Path) -> None:
    text = (site / "site.yaml").read_text()
    (site / "site.yaml").write_text(text.replace("\n  door:", "\n  gate:"))


def _without_messages(site: Path) -> None:
    (site / "readers" / "pieces.yaml").write_text("facts: {}\n")


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (_without_site, "there is no site.yaml"),
        (_with_tabs, "pieces.yaml"),
        (_with_another_controller, "gate"),
        (_without_messages, "messages"),
    ],
)
def test_another_site_is_refused(tmp_path: Path, spoil: object, words: str) -> None:
    """With what is missing, and what to do."""
    site = tmp_path / "site"
    shutil.copytree(example_directory(), site)
    assert callable(spoil)
    spoil(site)
    with pytest.raises(NoExampleError, match=words) as caught:
        hurry(site, tmp_path / "copy", ADDRESSES)
    assert "--site" in str(caught.value)
