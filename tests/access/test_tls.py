"""Who is trusted: authorities, pins, certificates of ours. With openssl's own certificates."""

from __future__ import annotations

import hashlib
import ssl
from pathlib import Path

import pytest

from bridge.access.failure import AccessError
from bridge.access.tls import check_pin, context_of, digest_of_pin
from tests.conftest import Certificates


def test_an_authority_is_the_only_one_trusted(certificates: Certificates) -> None:
    """With a ca_file the machine's own list does not count, and host names do."""
    context = context_of(str(certificates.authority), None, None)
    assert context.verify_mode is ssl.CERT_REQUIRED
    assert context.check_hostname
    assert [dict(one["subject"][0])["commonName"] for one in _trusted(context)] == [
        "Alder Lane authority"
    ]


def _trusted(context: ssl.SSLContext) -> list[dict[str, tuple[tuple[tuple[str, str], ...], ...]]]:
    return context.get_ca_certs()  # type: ignore[return-value]


def test_a_pin_takes_the_place_of_issuer_and_name() -> None:
    """A self-signed certificate needs neither; its own bytes are checked instead."""
    context = context_of(None, None, "00" * 32)
    assert context.verify_mode is ssl.CERT_NONE
    assert not context.check_hostname


def test_the_pinned_certificate_passes_and_no_other(certificates: Certificates) -> None:
    """The fingerprint that openssl prints is the pin, however it is written."""
    lone = ssl.PEM_cert_to_DER_cert(certificates.lone.read_text())
    for pin in (certificates.lone_pin, certificates.lone_pin.replace(":", "").lower()):
        check_pin(pin, lone)
    other = ssl.PEM_cert_to_DER_cert(certificates.server.read_text())
    with pytest.raises(AccessError, match=hashlib.sha256(other).hexdigest()):
        check_pin(certificates.lone_pin, other)
    with pytest.raises(AccessError, match="not the pinned one"):
        check_pin(certificates.lone_pin, None)


@pytest.mark.parametrize("pin", ["", "AB", "g" * 64, "0" * 63, "0" * 40])
def test_what_is_no_sha256(pin: str) -> None:
    """An old SHA-1 fingerprint, or half a paste, is refused with how to get the right one."""
    with pytest.raises(AccessError, match="expected 64 hexadecimal digits"):
        digest_of_pin(pin)
    with pytest.raises(AccessError, match="expected 64 hexadecimal digits"):
        context_of(None, None, pin)


def test_a_certificate_of_ours(certificates: Certificates) -> None:
    """Certificate and key in one file are taken."""
    context = context_of(str(certificates.authority), str(certificates.client), None)
    assert len(context.get_ca_certs()) == 1


@pytest.mark.parametrize(
    ("key", "text", "says"),
    [
        ("ca_file", None, "ca_file .* cannot be read: no such file"),
        ("ca_file", "hello", "holds no certificate in PEM form"),
        ("ca_file", "-----BEGIN CERTIFICATE-----\nno\n-----END CERTIFICATE-----\n", "is damaged"),
        ("client_certificate", None, "client_certificate .* cannot be read: no such file"),
        ("client_certificate", "-----BEGIN nothing", "expected a certificate and its key"),
    ],
)
def test_files_that_cannot_be_used(tmp_path: Path, key: str, text: str | None, says: str) -> None:
    """One sentence each, which names the key and the file."""
    path = tmp_path / "some.pem"
    if text is not None:
        path.write_text(text)
    with pytest.raises(AccessError, match=says):
        context_of(
            str(path) if key == "ca_file" else None,
            str(path) if key == "client_certificate" else None,
            None,
        )


def test_a_certificate_without_its_key(certificates: Certificates) -> None:
    """The commonest mistake: the key was left in a file of its own."""
    with pytest.raises(AccessError, match="a certificate and its key in one PEM file"):
        context_of(None, str(certificates.server), None)


def test_an_encrypted_key_asks_nobody(certificates: Certificates, tmp_path: Path) -> None:
    """A daemon has no terminal to ask a password at: it is an error at once."""
    import subprocess  # noqa: PLC0415 (only this test makes a key)

    locked = tmp_path / "locked.key"
    command = ["/usr/bin/env", "openssl", "pkey", "-in", str(certificates.server_key)]
    subprocess.run([*command, "-aes128", "-passout", "pass:hull", "-out", str(locked)], check=True)
    both = tmp_path / "both.pem"
    both.write_text(certificates.server.read_text() + locked.read_text())
    with pytest.raises(AccessError, match="not encrypted"):
        context_of(None, str(both), None)
