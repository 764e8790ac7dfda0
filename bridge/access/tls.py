"""TLS: who is trusted, who we say we are, and certificates that are trusted by themselves."""

from __future__ import annotations

import hashlib
import hmac
import re
import ssl
from pathlib import Path

from bridge.access.failure import AccessError

_SHA256_HEX = re.compile(r"[0-9a-f]{64}")


def context_of(
    ca_file: str | None, client_certificate: str | None, pinned: str | None
) -> ssl.SSLContext:
    """The context for one address; made anew for each connection, so that renewed files count.

    Where a certificate is pinned no issuer and no host name is looked at: whoever has that key is
    the one that was meant, and ``check_pin`` is to be called on what it shows.
    """
    try:
        context = ssl.create_default_context(cafile=_existing(ca_file, "ca_file"))
    except ssl.SSLError as error:
        raise AccessError(f"ca_file {ca_file} is damaged ({error.reason})") from None
    if pinned is not None:
        digest_of_pin(pinned)
        context.check_hostname = False
        context.verify_mode = ssl.CERT_NONE
    if client_certificate is not None:
        _show(context, client_certificate)
    return context


def digest_of_pin(pinned: str) -> bytes:
    """The 32 bytes of a SHA-256 written as hex, with or without colons."""
    text = pinned.replace(":", "").strip().lower()
    if not _SHA256_HEX.fullmatch(text):
        raise AccessError(
            f"'{pinned}' is no SHA-256 of a certificate: expected 64 hexadecimal digits, as "
            "'openssl x509 -in FILE -noout -fingerprint -sha256' prints them"
        )
    return bytes.fromhex(text)


def check_pin(pinned: str, der: bytes | None) -> None:
    """Refuse the peer's certificate (DER) unless it is the pinned one."""
    expected = digest_of_pin(pinned)
    shown = hashlib.sha256(der or b"").digest()
    if not hmac.compare_digest(expected, shown):
        raise AccessError(
            f"its certificate is not the pinned one: it shows SHA-256 {shown.hex()}; "
            "if it was renewed, pin the new one"
        )


def _existing(path: str | None, key: str) -> str | None:
    if path is None:
        return None
    try:
        text = Path(path).read_text("ascii", "replace")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise AccessError(f"{key} {path} cannot be read: {reason}") from None
    if "-----BEGIN" not in text:
        raise AccessError(f"{key} {path} holds no certificate in PEM form")
    return path


def _show(context: ssl.SSLContext, path: str) -> None:
    """Certificate and key in one PEM file, as the settings name one file."""
    _existing(path, "client_certificate")
    try:
        # An empty password fails at once where a key is encrypted; none would ask at the terminal.
        context.load_cert_chain(path, password="")
    except ssl.SSLError as error:
        raise AccessError(
            f"client_certificate {path} cannot be used: expected a certificate and its key "
            f"in one PEM file, not encrypted ({error.reason or 'no key in it'})"
        ) from None
