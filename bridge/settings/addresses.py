"""Brokers, URLs, and how requests are let in."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final
from urllib.parse import SplitResult, urlsplit

from bridge.engine.events import HTTP_SOURCE
from bridge.engine.site import Access, Broker, Login
from bridge.facts.places import PlaceError, compile_place
from bridge.settings.nearest import listed
from bridge.settings.site_file import AccessKeys, LogIn, Tls
from bridge.settings.site_file import Broker as BrokerKeys
from bridge.settings.spot import Spot

_PORTS: Final = {"mqtt": 1883, "mqtts": 8883}
_FORMS: Final = ("basic", "digest", "bearer", "header", "log_in")
_HEX_DIGITS: Final = 64
_SECRET_HEADERS: Final = frozenset({"authorization", "proxy-authorization", "cookie"})
_TOKEN: Final = re.compile(r"[A-Za-z0-9!#$%&'*+.^_`|~-]+")

#: Stands for the directory of a site of which only the texts are here.
ELSEWHERE: Final = Path("elsewhere")


def broker_of(name: str, keys: BrokerKeys, directory: Path, spot: Spot) -> Broker | None:
    """The broker, or ``None`` and a problem."""
    if name.casefold() == HTTP_SOURCE:
        spot.wrong_key("is what everything that is polled is called, name the broker otherwise")
    url = split_url(keys.url, tuple(_PORTS), spot.at("url"))
    if url is None or url.hostname is None:
        return None
    if url.path not in {"", "/"} or url.query:
        spot.at("url").wrong("an MQTT address has no path, topics stand at the printers")
    if keys.tls is not None and url.scheme == "mqtt":
        spot.at("tls").wrong_key("is for mqtts:// addresses, this one is mqtt://")
    tls, files = keys.tls or Tls(), spot.at("tls")
    return Broker(
        name=name,
        host=url.hostname,
        port=url.port or _PORTS[url.scheme],
        tls=url.scheme == "mqtts",
        credential=keys.credential,
        ca_file=_file(directory, tls.ca, files.at("ca")),
        client_certificate=_file(directory, tls.certificate, files.at("certificate")),
        pinned=_pinned(tls.pinned, files.at("pinned")),
        client_id=keys.client_id,
        keep_alive_s=_whole_seconds(keys.keep_alive, spot.at("keep_alive")),
        protocol=keys.protocol,
    )


def _whole_seconds(milliseconds: int, spot: Spot) -> int:
    seconds, rest = divmod(milliseconds, 1000)
    # MQTT 5.0 §3.1.2.10: two bytes of whole seconds.
    if rest or not 1 <= seconds <= 65_535:
        spot.wrong("MQTT counts it in whole seconds, expected 1s to 18h")
    return seconds


def split_url(text: str, schemes: tuple[str, ...], spot: Spot) -> SplitResult | None:
    """The parts of a URL with one of these schemes and a host, or ``None`` and a problem."""
    try:
        url = urlsplit(text)
        port = url.port
    except ValueError as error:
        spot.wrong(f"'{_without_secret(text)}' is no address: {str(error).lower()}")
        return None
    wanted = f"expected {listed(f'{scheme}://host' for scheme in schemes)}"
    if url.username is not None or url.password is not None or "@" in url.netloc:
        spot.wrong("has a user or a password in it, name a credential instead")
        return None
    if url.scheme not in schemes or not url.hostname or not text.isprintable() or " " in text:
        spot.wrong(f"'{_without_secret(text)}' is no address here, {wanted}")
        return None
    if url.fragment or port == 0:
        part = "part after #" if url.fragment else "port 0"
        spot.wrong(f"'{text}' has a {part}, which no request can have")
        return None
    return url


def _without_secret(text: str) -> str:
    return re.sub(r"//[^/@]*@", "//…@", text)


def access_of(keys: Any, directory: Path, spot: Spot) -> Access:  # noqa: ANN401 - a word or a mapping
    """How requests are let in."""
    if not isinstance(keys, AccessKeys):
        return Access()
    forms = [form for form in _FORMS if getattr(keys, form) is not None]
    if len(forms) > 1:
        spot.at(forms[1]).wrong_key(f"cannot stand beside {forms[0]}, expected one of them")
    form = forms[0] if forms else "none"
    ca_file = _file(directory, keys.ca, spot.at("ca"))
    pinned = _pinned(keys.pinned, spot.at("pinned"))
    if keys.log_in is not None:
        login = _login(keys.log_in, spot.at("log_in"))
        return Access("log-in", keys.log_in.credential, None, login, ca_file, pinned)
    if keys.header is not None:
        _check_header(keys.header.name, spot.at("header", "name"))
        return Access("header", keys.header.credential, keys.header.name, None, ca_file, pinned)
    named: Any = form
    credential = keys.basic or keys.digest or keys.bearer
    return Access(named, credential, None, None, ca_file, pinned)


def _login(keys: LogIn, spot: Spot) -> Login:
    split_url(keys.url, ("http", "https"), spot.at("url"))
    _check_header(keys.header, spot.at("header"))
    try:
        compile_place(keys.token_at)
    except PlaceError as error:
        spot.at("token_at").wrong(str(error))
    return Login(keys.url, keys.token_at, header=keys.header, before=keys.before)


def _check_header(name: str, spot: Spot) -> None:
    if not _TOKEN.fullmatch(name):
        spot.wrong(f"'{name}' is no header's name (RFC 9110 §5.1)")


def refuse_secrets(headers: Iterable[str], spot: Spot) -> None:
    """Headers that carry secrets come from credentials, never from a file."""
    for header in headers:
        if header.lower() in _SECRET_HEADERS:
            spot.at(header).wrong_key("may be a secret, name a credential under access instead")
        else:
            _check_header(header, spot.at(header))


def _file(directory: Path, name: str | None, spot: Spot) -> str | None:
    if name is None:
        return None
    path = directory / name
    if directory is not ELSEWHERE and not path.is_file():
        spot.wrong(f"there is no file {path}")
    return str(path)


def _pinned(text: str | None, spot: Spot) -> str | None:
    if text is None:
        return None
    digits = text.replace(":", "").lower()
    if not re.fullmatch(f"[0-9a-f]{{{_HEX_DIGITS}}}", digits):
        spot.wrong(f"is no SHA-256, expected {_HEX_DIGITS} hex digits")
    return digits
