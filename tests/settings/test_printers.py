"""Printers: their inputs, the endpoints they share, and what they ask."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.engine.site import Access, Asking, Endpoint
from bridge.facts.reader import Input
from bridge.settings.load import load_site
from tests.settings.copies import GOOD, Edit, load_edited, wrong

SITE = "site.yaml"
URL = "http://plover.club.example/now"
PLOVER = "segments:\n  frame"


def test_topics_are_filled_from_with() -> None:
    """One input for each message of the reader."""
    assert load_site(GOOD).printers["kestrel"].inputs == (
        Input("doing", "shed", "alder/3/doing"),
        Input("laid", "shed", "alder/3/laid"),
        Input("snag", "shed", "alder/3/snag/+"),
    )


def test_a_url_becomes_an_endpoint_and_an_ask() -> None:
    """Data is sent as JSON and says so."""
    site = load_site(GOOD)
    assert site.printers["plover"].inputs == (Input("page", "http", URL),)
    assert site.endpoints == {
        URL: Endpoint(
            id=URL,
            url=URL,
            method="POST",
            headers=(("Content-Type", "application/json"),),
            body=b'{"turn":"last"}',
            working_ms=5000,
            resting_ms=20_000,
        )
    }
    assert site.printers["plover"].asks == (
        Asking("wake", "http", "http://plover.club.example/wake", b'{"rise":true}', 3_600_000),
    )


SECOND = """\
  tern:
    reader: ledger
    messages: {{page: {page}}}
    asks: {{wake: "http://tern.club.example/wake"}}
    poll: {{working: 2s, resting: 22s}}
{more}controllers:
"""


def with_second(page: str, more: str = "") -> tuple[Edit, Edit]:
    """A second printer that is polled."""
    text = SECOND.format(page=page, more=more)
    segment = "length: 20, resting: warm", "length: 20, printers: [tern], table: wall"
    return (SITE, "controllers:\n", text), (SITE, *segment)


def test_printers_with_the_same_request_share_it(tmp_path: Path) -> None:
    """Asked as often as the one that wants it oftenest."""
    site = load_edited(tmp_path, *with_second(f'"{URL}"'))
    (endpoint,) = site.endpoints.values()
    assert (endpoint.working_ms, endpoint.resting_ms) == (2000, 20_000)
    assert site.printers["tern"].inputs == site.printers["plover"].inputs


def test_an_unlike_request_to_the_same_url_is_another_endpoint(tmp_path: Path) -> None:
    """The id is made unique; the url stays."""
    page = f'{{url: "{URL}", access: {{bearer: tern}}}}'
    site = load_edited(tmp_path, *with_second(page))
    assert list(site.endpoints) == [URL, f"{URL}#2"]
    assert site.endpoints[f"{URL}#2"].url == URL
    assert site.endpoints[f"{URL}#2"].access == Access("bearer", "tern")
    assert site.printers["tern"].inputs == (Input("page", "http", f"{URL}#2"),)


def test_a_printers_access_is_for_all_its_urls(tmp_path: Path) -> None:
    """Unless one has its own."""
    edits = with_second(f'"{URL}"', "    access: {basic: tern}\n")
    site = load_edited(tmp_path, *edits)
    assert site.endpoints[f"{URL}#2"].access == Access("basic", "tern")
    assert site.printers["tern"].asks[0].access == Access("basic", "tern")


def test_a_topic_may_be_at_another_broker(tmp_path: Path) -> None:
    """Its broker stands beside it."""
    site = load_edited(
        tmp_path,
        (SITE, "brokers:\n", 'brokers:\n  attic: {url: "mqtts://attic.club.example"}\n'),
        (SITE, "laid: alder/{berth}/laid", "laid: {broker: attic, topic: 'alder/{berth}/laid'}"),
    )
    assert site.printers["kestrel"].inputs[1] == Input("laid", "attic", "alder/3/laid")


BODIES = [
    ("body: {turn: last}", b'{"turn":"last"}', (("Content-Type", "application/json"),)),
    ('body: "turn {berth}"', b"turn 4", ()),
    ('body: {berth: "{berth}", n: "n{berth}"}', b'{"berth":4,"n":"n4"}', None),
    ("body: {turn: last}, headers: {content-type: text/x}", None, (("content-type", "text/x"),)),
    ("headers: {X-Berth: '{berth}'}", None, (("X-Berth", "4"),)),
]


@pytest.mark.parametrize(("request_keys", "body", "headers"), BODIES)
def test_a_request_is_filled_and_written(
    request_keys: str,
    body: bytes | None,
    headers: tuple[tuple[str, str], ...] | None,
    tmp_path: Path,
) -> None:
    """A text is sent as it stands; data as JSON."""
    site = load_edited(
        tmp_path,
        ("readers/ledger.yaml", "body: {turn: last}", request_keys),
        (SITE, "    reader: ledger", "    reader: ledger\n    with: {berth: 4}"),
        (SITE, "example/now", "example/now?b={berth}"),
    )
    (endpoint,) = site.endpoints.values()
    assert endpoint.url == f"{URL}?b=4"
    assert body is None or endpoint.body == body
    assert headers is None or endpoint.headers == headers


READER = "    reader: ledger"
REFUSED: list[tuple[Edit, str]] = [
    ((SITE, READER, "    reader: leger"), "14:13: reader: 'leger' is no reader of readers/"),
    ((SITE, READER, f"{READER}\n    with: {{n: 3}}"), "15:12: n: is used nowhere, there is no {n}"),
    (
        (SITE, "    with: {berth: 3}\n", ""),
        "5:3: kestrel: needs 'berth', which reader pieces or an",
    ),
    ((SITE, "resting: 20s", "resting: 22501ms"), "15:22: page: is polled every 22501ms, but"),
    ((SITE, "working: 5s", "working: 999ms"), "17:21: working: 999ms is too often"),
    ((SITE, "page: ", "pge: "), "15:16: pge: is no message of reader ledger; did you mean"),
    ((SITE, "asks: {wake", "asks: {wak"), "16:12: wak: is no ask of reader ledger; did you mean"),
    ((SITE, f'page: "{URL}"', "page: {topic: x}"), "15:16: page: needs 'broker'"),
    (
        (SITE, f'"{URL}"', "{broker: shd, topic: x}"),
        "15:31: broker: 'shd' is no broker of site.yaml",
    ),
    ((SITE, "snag/+", "snag/+/+#"), "12:13: snag: 'alder/3/snag/+/+#' has # beside"),
    ((SITE, f'"{URL}"', '"ftp://plover/now"'), "13:3: plover: needs 'broker', as page is a topic"),
    ((SITE, URL, "http:///now"), "15:22: page: 'http:///now' is no address here"),
]


@pytest.mark.parametrize(("edit", "start"), REFUSED)
def test_a_wrong_printer_is_told(edit: Edit, start: str, tmp_path: Path) -> None:
    """At the key or value that is wrong."""
    lines = wrong(tmp_path, edit)
    assert any(line.startswith(f"site.yaml:{start}") for line in lines), lines
