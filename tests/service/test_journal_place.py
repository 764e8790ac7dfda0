"""Where a site's journal lies."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.service.journal_place import journal_path

CASES = [
    ({"STATE_DIRECTORY": "/var/lib/lampwright"}, "/var/lib/lampwright/lampwright.db"),
    ({"STATE_DIRECTORY": "/var/lib/a:/var/lib/b", "HOME": "/root"}, "/var/lib/a/lampwright.db"),
    ({"XDG_STATE_HOME": "/kept", "HOME": "/home/ada"}, "/kept/lampwright/NAME.db"),
    ({"XDG_STATE_HOME": "kept", "HOME": "/home/ada"}, "/home/ada/.local/state/lampwright/NAME.db"),
    ({"HOME": "/home/ada"}, "/home/ada/.local/state/lampwright/NAME.db"),
    ({}, "/nonexistent/.local/state/lampwright/NAME.db"),
]


@pytest.mark.parametrize(("environment", "expected"), CASES)
def test_a_journal_lies_where_state_belongs(environment: dict[str, str], expected: str) -> None:
    """The unit's directory first, then the user's; a path that is not absolute is ignored."""
    path = journal_path(Path("/etc/lampwright"), environment)
    assert str(path).replace(path.stem, "NAME") == expected.replace(path.stem, "NAME")


def test_each_site_of_a_user_has_a_journal_of_its_own(tmp_path: Path) -> None:
    """By where the site lies, however it is named."""
    (tmp_path / "one").mkdir()
    (tmp_path / "same").symlink_to("one")
    names = [journal_path(tmp_path / name, {}) for name in ("one", "two", "same", "two/../one")]
    assert names[0] != names[1]
    assert names[0] == names[2] == names[3]
