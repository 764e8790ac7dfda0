"""Credentials by name, from systemd's credentials directory or the environment.

Never from the settings, never in a log line, never in a ``repr``.
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from bridge.access.failure import AccessError

#: Set by systemd for a unit with ``LoadCredential=`` (systemd.exec(5)).
DIRECTORY_VARIABLE: Final = "CREDENTIALS_DIRECTORY"
VARIABLE_PREFIX: Final = "LAMPWRIGHT_CREDENTIAL_"

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")


class Credential:
    """One credential: a text that is ``user:password`` or a token, by what it is used for."""

    __slots__ = ("_text", "name")

    def __init__(self, name: str, text: str) -> None:
        self.name: Final = name
        self._text: Final = text

    def __repr__(self) -> str:
        return f"Credential({self.name!r})"

    @property
    def token(self) -> str:
        """The whole text."""
        return self._text

    @property
    def user(self) -> str:
        """What stands before the first colon (RFC 7617: a user's name has none)."""
        return self._halves()[0]

    @property
    def password(self) -> str:
        """What stands after the first colon."""
        return self._halves()[1]

    @property
    def basic(self) -> str:
        """The header of HTTP basic authentication: RFC 7617 §2, in UTF-8."""
        pair = f"{self.user}:{self.password}"
        return "Basic " + base64.b64encode(pair.encode()).decode()

    @property
    def log_in(self) -> bytes:
        """What a log-in is posted: the text where it is a JSON object, else user and password."""
        if self._text.startswith("{"):
            return self._text.encode()
        return json.dumps({"user": self.user, "password": self.password}).encode()

    def _halves(self) -> tuple[str, str]:
        user, colon, password = self._text.partition(":")
        if not colon:
            raise AccessError(
                f"the credential '{self.name}' has no colon, expected user:password in it"
            )
        return user, password


class Credentials:
    """Looks credentials up by name in an environment that is handed in."""

    def __init__(self, environment: Mapping[str, str]) -> None:
        directory = environment.get(DIRECTORY_VARIABLE)
        self._directory = Path(directory) if directory else None
        self._environment = environment

    def __repr__(self) -> str:
        return f"Credentials({DIRECTORY_VARIABLE}={str(self._directory)!r})"

    def look_up(self, name: str) -> Credential:
        """The credential of that name; its directory comes before the environment."""
        if not _NAME.fullmatch(name):
            raise AccessError(
                f"'{name}' cannot name a credential: expected letters, digits, '-', '_' and '.'"
            )
        text = self._from_directory(name)
        if text is None:
            text = self._environment.get(variable_of(name))
        if text is None:
            raise AccessError(self._missing(name))
        text = text.rstrip("\r\n")
        if not text:
            raise AccessError(f"the credential '{name}' is empty")
        if not text.isprintable():
            raise AccessError(f"the credential '{name}' has control characters, expected one line")
        return Credential(name, text)

    def _from_directory(self, name: str) -> str | None:
        if self._directory is None:
            return None
        path = self._directory / name
        try:
            return path.read_text("utf-8")
        except FileNotFoundError:
            return None
        except UnicodeDecodeError:
            raise AccessError(f"the credential in {path} is not UTF-8 text") from None
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise AccessError(f"the credential in {path} cannot be read: {reason}") from None

    def _missing(self, name: str) -> str:
        directory = self._directory or Path(f"${DIRECTORY_VARIABLE}")
        return (
            f"there is no credential '{name}': put it in the file {directory / name} "
            f"(systemd: LoadCredential={name}:FILE) or in the variable {variable_of(name)}"
        )


def variable_of(name: str) -> str:
    """The environment variable that holds the credential of that name."""
    return VARIABLE_PREFIX + re.sub(r"[-.]", "_", name).upper()
