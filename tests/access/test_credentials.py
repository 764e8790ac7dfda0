"""Credentials: found by name, never shown."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.access.credentials import Credential, Credentials, variable_of
from bridge.access.failure import AccessError

SECRET = "keel:plum-3:bob"


@pytest.mark.parametrize(
    ("name", "variable"),
    [
        ("broker", "LAMPWRIGHT_CREDENTIAL_BROKER"),
        ("bench-broker", "LAMPWRIGHT_CREDENTIAL_BENCH_BROKER"),
        ("door.two", "LAMPWRIGHT_CREDENTIAL_DOOR_TWO"),
    ],
)
def test_the_variable_of_a_name(name: str, variable: str) -> None:
    """A name is looked up in a variable that a shell can set."""
    assert variable_of(name) == variable
    assert Credentials({variable: SECRET}).look_up(name).token == SECRET


def test_the_directory_comes_before_the_environment(tmp_path: Path) -> None:
    """What systemd hands over is what the unit's author meant."""
    (tmp_path / "broker").write_text("from:file\n")
    environment = {
        "CREDENTIALS_DIRECTORY": str(tmp_path),
        "LAMPWRIGHT_CREDENTIAL_BROKER": "from:environment",
        "LAMPWRIGHT_CREDENTIAL_PLOVER": "only:environment",
    }
    credentials = Credentials(environment)
    assert credentials.look_up("broker").password == "file"
    assert credentials.look_up("plover").user == "only"


def test_a_user_has_no_colon_and_a_password_may() -> None:
    """The first colon divides (RFC 7617 §2)."""
    credential = Credential("broker", SECRET)
    assert (credential.user, credential.password) == ("keel", "plum-3:bob")


def test_a_secret_is_never_shown() -> None:
    """Neither text form, nor that of what holds it, has a part of it."""
    credentials = Credentials({"LAMPWRIGHT_CREDENTIAL_BROKER": SECRET})
    credential = credentials.look_up("broker")
    for shown in (repr(credential), str(credential), repr(credentials), f"{[credential]}"):
        assert "plum" not in shown
        assert "keel" not in shown


def test_a_missing_credential_names_both_places(tmp_path: Path) -> None:
    """Whoever reads the error knows where to put it."""
    with pytest.raises(AccessError) as caught:
        Credentials({"CREDENTIALS_DIRECTORY": str(tmp_path)}).look_up("bench-broker")
    assert str(tmp_path / "bench-broker") in str(caught.value)
    assert "LAMPWRIGHT_CREDENTIAL_BENCH_BROKER" in str(caught.value)
    with pytest.raises(AccessError, match=r"\$CREDENTIALS_DIRECTORY/broker"):
        Credentials({}).look_up("broker")


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("empty", b"\n", "the credential 'empty' is empty"),
        ("bytes", b"\xff\xfe", "is not UTF-8 text"),
        ("lines", b"a:b\nc:d\n", "has control characters, expected one line"),
        ("folder", None, "cannot be read: is a directory"),
        ("../broker", None, "cannot name a credential"),
        (".hidden", None, "cannot name a credential"),
    ],
)
def test_a_credential_that_cannot_be_used(
    tmp_path: Path, name: str, content: bytes | None, says: str
) -> None:
    """One sentence each, with no part of the secret in it."""
    path = tmp_path / name.strip("./")
    if content is None:
        path.mkdir()
    else:
        path.write_bytes(content)
    with pytest.raises(AccessError, match=says):
        Credentials({"CREDENTIALS_DIRECTORY": str(tmp_path)}).look_up(name)


def test_a_token_has_no_user() -> None:
    """Asking a token for its user is a mistake in the settings, said without showing the token."""
    with pytest.raises(
        AccessError, match="'plover' has no colon, expected user:password"
    ) as caught:
        _ = Credential("plover", "gunwale").user
    assert "gunwale" not in str(caught.value)
