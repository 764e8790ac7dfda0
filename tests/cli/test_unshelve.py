"""``lampwright unshelve``: the wish that it sends."""

from __future__ import annotations

import pytest

from bridge.engine.wishes import Unshelve
from tests.cli.commands import CONFIG, hold_to_shape, lampwright
from tests.cli.local_daemon import LocalDaemon


def test_it_wishes_that(local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]) -> None:
    """Once, in the name that was given."""
    code, said, _ = lampwright(
        capsys,
        "unshelve",
        "jam",
        "--printer",
        "kestrel",
        "--site",
        CONFIG,
        "--who",
        "Ada",
        "--json",
    )
    hold_to_shape(said, "wish")
    assert (code, local_daemon.wishes) == (0, [("Ada", Unshelve("jam", "kestrel"))])


@pytest.mark.parametrize(
    "words",
    [
        ("jam",),
        ("--printer", "kestrel"),
    ],
)
def test_what_is_missing_is_told(
    words: tuple[str, ...], local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]
) -> None:
    """Before anybody is asked."""
    with pytest.raises(SystemExit) as ended:
        lampwright(capsys, "unshelve", *words, "--site", CONFIG)
    assert ended.value.code == 2
    assert "usage: lampwright unshelve" in capsys.readouterr().err
    assert local_daemon.wishes == []
