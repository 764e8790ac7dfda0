"""``lampwright shelve``: the wish that it sends."""

from __future__ import annotations

import pytest

from bridge.engine.wishes import Shelve
from tests.cli.commands import CONFIG, hold_to_shape, lampwright
from tests.cli.local_daemon import LocalDaemon


def test_it_wishes_that(local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]) -> None:
    """Once, in the name that was given."""
    code, said, _ = lampwright(
        capsys,
        "shelve",
        "jam",
        "--printer",
        "kestrel",
        "--for",
        "2h",
        "--reason",
        "soon",
        "--site",
        CONFIG,
        "--who",
        "Ada",
        "--json",
    )
    hold_to_shape(said, "wish")
    assert (code, local_daemon.wishes) == (
        0,
        [("Ada", Shelve("jam", "kestrel", 7_200_000, "soon"))],
    )


@pytest.mark.parametrize(
    "words",
    [
        ("jam", "--printer", "kestrel", "--for", "2h"),
        ("jam", "--printer", "kestrel", "--reason", "soon"),
        ("jam", "--for", "2h", "--reason", "soon"),
        ("--printer", "kestrel", "--for", "2h", "--reason", "soon"),
        ("jam", "--printer", "kestrel", "--for", "2", "--reason", "soon"),
    ],
)
def test_what_is_missing_is_told(
    words: tuple[str, ...], local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]
) -> None:
    """Before anybody is asked."""
    with pytest.raises(SystemExit) as ended:
        lampwright(capsys, "shelve", *words, "--site", CONFIG)
    assert ended.value.code == 2
    assert "usage: lampwright shelve" in capsys.readouterr().err
    assert local_daemon.wishes == []
