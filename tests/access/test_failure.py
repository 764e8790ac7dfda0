"""Foreign errors in plain words."""

from __future__ import annotations

import errno
import os
import socket
import ssl

import pytest

from bridge.access.failure import AccessError, failure_of
from bridge.errors import LampwrightError


@pytest.mark.parametrize(
    ("error", "why"),
    [
        (ConnectionRefusedError(errno.ECONNREFUSED, "x"), "connection refused"),
        (OSError(errno.EHOSTUNREACH, "x"), "host unreachable"),
        (OSError(errno.ENETUNREACH, "x"), "network unreachable"),
        (ConnectionResetError(errno.ECONNRESET, "x"), "the connection was reset"),
        (TimeoutError(errno.ETIMEDOUT, "x"), "no answer"),
        (TimeoutError(), "no answer in time"),
        (socket.gaierror(socket.EAI_NONAME, "x"), "there is no host of that name"),
        (socket.gaierror(socket.EAI_AGAIN, "x"), "its name cannot be looked up now"),
        (OSError(errno.ENOBUFS, "x"), os.strerror(errno.ENOBUFS).lower()),
        (OSError("odd"), "odd"),
        (ssl.SSLError(1, "odd"), "TLS failed: odd"),
    ],
)
def test_each_error_has_its_sentence(error: OSError, why: str) -> None:
    """What happened, in lower case, without a number that nobody knows."""
    assert failure_of(error).why == why


def test_what_a_person_can_do_is_said_where_there_is_something() -> None:
    """A refused connection has a remedy; a reset one has none that would be true."""
    assert failure_of(ConnectionRefusedError(errno.ECONNREFUSED, "x")).remedy is not None
    assert failure_of(ConnectionResetError(errno.ECONNRESET, "x")).remedy is None


def test_access_errors_are_for_a_person() -> None:
    """A command ends with them as with every error of ours."""
    assert issubclass(AccessError, LampwrightError)
