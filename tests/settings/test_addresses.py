"""Brokers, URLs, and how requests are let in."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.engine.site import Access, Broker, Login
from tests.settings.copies import Edit, edited, lines_of, load_edited, wrong

SITE = "site.yaml"
OLD = '{url: "mqtt://broker.club.example"}'

BROKERS = [
    ('{url: "mqtt://b"}', Broker("shed", "b", 1883)),
    ('{url: "mqtt://b/"}', Broker("shed", "b", 1883)),
    ('{url: "MQTT://B:1999"}', Broker("shed", "b", 1999)),
    ('{url: "mqtt://[::1]:1999"}', Broker("shed", "::1", 1999)),
    ('{url: "mqtts://b"}', Broker("shed", "b", 8883, tls=True)),
    (
        '{url: "mqtt://b", credential: shed, keep_alive: 1m, client_id: lane, protocol: 3.1.1}',
        Broker("shed", "b", 1883, False, "shed", None, None, None, "lane", 60, "3.1.1"),  # noqa: FBT003
    ),
]


@pytest.mark.parametrize(("written", "broker"), BROKERS)
def test_a_broker_is_what_was_written(written: str, broker: Broker, tmp_path: Path) -> None:
    """The port follows the scheme where it is not said."""
    assert load_edited(tmp_path, (SITE, OLD, written)).brokers["shed"] == broker


def test_certificates_are_found_from_the_site(tmp_path: Path) -> None:
    """A pin may be written as openssl prints it."""
    pin = ":".join(["AB"] * 32)
    tls = f'{{url: "mqtts://b", tls: {{ca: ca.pem, certificate: own.pem, pinned: "{pin}"}}}}'
    site = edited(tmp_path, (SITE, OLD, tls))
    assert len(lines_of(site)) == 2
    for name in ("ca.pem", "own.pem"):
        (site / name).write_text("-")
    assert lines_of(site) == []
    (tmp_path / "again").mkdir()
    broker = load_edited(
        tmp_path / "again", (SITE, OLD, f'{{url: "mqtts://b", tls: {{pinned: "{pin}"}}}}')
    ).brokers["shed"]
    assert broker.pinned == "ab" * 32


ACCESSES = [
    ("none", Access()),
    ("{}", Access()),
    ("{basic: door}", Access("basic", "door")),
    ("{digest: door}", Access("digest", "door")),
    ("{bearer: door}", Access("bearer", "door")),
    ("{header: {name: X-Lane, credential: door}}", Access("header", "door", "X-Lane")),
    ("{basic: door, pinned: '" + "0" * 64 + "'}", Access("basic", "door", pinned="0" * 64)),
    (
        '{log_in: {credential: door, url: "http://d/in", token_at: /token}}',
        Access("log-in", "door", login=Login("http://d/in", "/token")),
    ),
    (
        '{log_in: {credential: door, url: "http://d/in", token_at: "", header: X-T, before: ""}}',
        Access("log-in", "door", login=Login("http://d/in", "", header="X-T", before="")),
    ),
]


@pytest.mark.parametrize(("written", "access"), ACCESSES)
def test_an_access_is_what_was_written(written: str, access: Access, tmp_path: Path) -> None:
    """Credentials by name."""
    site = load_edited(tmp_path, (SITE, "identity: D-4", f"access: {written}"))
    assert site.controllers["door"].access == access


DOOR = "http://door.club.example"
REFUSED: list[tuple[Edit, str]] = [
    ((SITE, OLD, '{url: "mqtt://b/topic"}'), "3:15: url: an MQTT address has no path"),
    ((SITE, OLD, '{url: "mqtt://"}'), "3:15: url: 'mqtt://' is no address here, expected mqtt://"),
    ((SITE, OLD, '{url: "mqtt://b:port"}'), "3:15: url: 'mqtt://b:port' is no address: port"),
    ((SITE, OLD, '{url: "mqtt://b:0"}'), "3:15: url: 'mqtt://b:0' has a port 0"),
    ((SITE, OLD, '{url: "mqtt://u@b"}'), "3:15: url: has a user or a password in it"),
    ((SITE, OLD, '{url: "mqtt://b", keep_alive: 1500ms}'), "3:39: keep_alive: MQTT counts it in"),
    ((SITE, OLD, '{url: "mqtt://b", keep_alive: 1d}'), "3:39: keep_alive: MQTT counts it in"),
    ((SITE, OLD, '{url: "mqtt://b", tls: {}}'), "3:27: tls: is for mqtts:// addresses"),
    ((SITE, OLD, '{url: "mqtts://b", tls: {pinned: ab}}'), "3:42: pinned: is no SHA-256"),
    ((SITE, DOOR, "http://door.club.example:x"), "19:15: url: 'http://door.club.example:x' is no"),
    ((SITE, DOOR, "mqtt://door.club.example"), "19:15: url: 'mqtt://door.club.example' is no"),
    ((SITE, DOOR, "http://door club"), "19:15: url: 'http://door club' is no address here"),
    ((SITE, DOOR, "http://door#a"), "19:15: url: 'http://door#a' has a part after #"),
    ((SITE, DOOR, "http://[::1"), "19:15: url: 'http://[::1' is no address"),
    ((SITE, "identity: D-4", "access: open"), "19:98: access: is 'open', expected none"),
    ((SITE, "identity: D-4", "access: [basic]"), "19:98: access: is a list, expected a single"),
    (
        (SITE, "identity: D-4", "access: {header: {name: 'X Y', credential: a}}"),
        "19:114: name: 'X Y' is no header's name",
    ),
    (
        (SITE, "identity: D-4", "access: {log_in: {credential: a, url: d, token_at: token}}"),
        "19:128: url: 'd' is no address here",
    ),
    (
        ("readers/ledger.yaml", "method: POST,", "method: POST, headers: {'A B': c},"),
        "2:95: A B: 'A B' is no header's name",
    ),
]


@pytest.mark.parametrize(("edit", "start"), REFUSED)
def test_a_wrong_address_is_told(edit: Edit, start: str, tmp_path: Path) -> None:
    """At its value; a secret in it is not repeated."""
    lines = wrong(tmp_path, edit)
    assert any(line.startswith(f"{edit[0]}:{start}") for line in lines), lines
