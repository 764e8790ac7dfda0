"""What to say when a connection could not be made or broke: foreign errors become one line here."""

from __future__ import annotations

import errno
import os
import socket
import ssl
from dataclasses import dataclass
from typing import Final

from bridge.errors import LampwrightError


class AccessError(LampwrightError):
    """A credential, a certificate or a log-in that cannot be used; the text is the sentence."""


@dataclass(frozen=True, slots=True)
class Failure:
    """``why``: what happened. ``remedy``: what a person can do about it, if anything."""

    why: str
    remedy: str | None = None


#: What the system says less clearly than a person would, and what to look at.
_BY_NUMBER: Final = {
    errno.ECONNREFUSED: Failure(
        "connection refused", "check that it is running and that the port is right"
    ),
    errno.EHOSTUNREACH: Failure(
        "host unreachable", "check that it is switched on and in this network"
    ),
    errno.ENETUNREACH: Failure("network unreachable", "check this machine's network"),
    errno.ECONNRESET: Failure("the connection was reset"),
    errno.EPIPE: Failure("the connection was closed"),
    errno.ETIMEDOUT: Failure("no answer", "check that it is switched on and in this network"),
}

#: A label of a name that is empty or longer than 63 bytes (RFC 1035 §2.3.4).
NO_SUCH_NAME: Final = Failure("there can be no host of that name", "check its spelling")

#: OpenSSL's reasons that a person meets, by its own names for them.
_BY_TLS_REASON: Final = {
    "WRONG_VERSION_NUMBER": Failure(
        "the port does not speak TLS", "check the port, or take TLS out of the address"
    ),
    "TLSV1_ALERT_UNKNOWN_CA": Failure(
        "our certificate was refused: its issuer is not known there", "check client_certificate"
    ),
    "TLSV13_ALERT_CERTIFICATE_REQUIRED": Failure(
        "a certificate of ours is required", "name one as client_certificate"
    ),
    "SSLV3_ALERT_HANDSHAKE_FAILURE": Failure(
        "no version or cipher of TLS in common", "bring both sides up to date"
    ),
}


def failure_of(error: OSError) -> Failure:
    """The sentence for an error of the network, of name resolution or of TLS."""
    if isinstance(error, ssl.SSLError):
        return _of_tls(error)
    if isinstance(error, socket.gaierror):
        return _of_name(error)
    if isinstance(error, TimeoutError) and error.errno is None:
        return Failure("no answer in time", "check that it is switched on and in this network")
    if error.errno is None:
        return Failure(str(error) or type(error).__name__)
    return _BY_NUMBER.get(error.errno) or Failure(os.strerror(error.errno).lower())


def not_http(message: str) -> Failure:
    """Where what was answered is no HTTP; ``message`` is the parser's."""
    return Failure(f"what it answered is not HTTP ({first_line(message)})")


def first_line(text: str) -> str:
    """What fits into a sentence of ours."""
    return text.strip().partition("\n")[0].rstrip(":. ").lower()[:200]


def _of_name(error: socket.gaierror) -> Failure:
    if error.errno == socket.EAI_AGAIN:
        return Failure(
            "its name cannot be looked up now", "check this machine's network and name server"
        )
    return Failure("there is no host of that name", "check its spelling, or give its IP address")


def _of_tls(error: ssl.SSLError) -> Failure:
    if isinstance(error, ssl.SSLCertVerificationError):
        return Failure(
            f"its certificate is not trusted: {error.verify_message.rstrip('.')}",
            "name the certificate of its issuer as ca_file, or its own SHA-256 as pinned",
        )
    # Absent, not empty, where the error was raised in Python.
    reason: str = getattr(error, "reason", None) or error.strerror or str(error)
    known = _BY_TLS_REASON.get(reason)
    return known or Failure(f"TLS failed: {reason.lower().replace('_', ' ')}")
