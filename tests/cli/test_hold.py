"""``lampwright hold``: the wish that it sends."""

from __future__ import annotations

import pytest

from bridge.engine.wishes import Hold
from tests.cli.commands import CONFIG, hold_to_shape, lampwright
from tests.cli.local_daemon import LocalDaemon


def test_it_wishes_that(local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]) -> None:
    """Once, in the name that was given."""
    code, said, _ = lampwright(
        capsys,
        "hold",
        "shelf",
        "all",
        "dark",
        "--for",
        "8h",
        "--site",
        CONFIG,
        "--who",
        "Ada",
        "--json",
    )
    hold_to_shape(said, "wish")
    assert (code, local_daemon.wishes) == (0, [("Ada", Hold(("shelf", "all"), "dark", 28_800_000))])


def test_without_a_time_it_lasts_until_it_is_released(
    local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whether a segment may be held so is for the daemon to say."""
    assert lampwright(capsys, "hold", "shelf-lamp", "warm", "--site", CONFIG)[0] == 0
    assert [wish for _, wish in local_daemon.wishes] == [Hold(("shelf-lamp",), "warm", None)]


@pytest.mark.parametrize(
    "words",
    [
        ("dark",),
        (),
        ("shelf", "dark", "--for", "soon"),
    ],
)
def test_what_is_missing_is_told(
    words: tuple[str, ...], local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]
) -> None:
    """Before anybody is asked."""
    with pytest.raises(SystemExit) as ended:
        lampwright(capsys, "hold", *words, "--site", CONFIG)
    assert ended.value.code == 2
    assert "usage: lampwright hold" in capsys.readouterr().err
    assert local_daemon.wishes == []
