"""Push-buttons from the file."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.engine.site import Access, Button, Endpoint
from bridge.facts.places import compile_place
from tests.settings.copies import Edit, load_edited, wrong

SITE = "site.yaml"
ALARMS: Edit = (
    "rules.yaml",
    "tables:\n",
    """alarms:
  jam: {when: {reasons: {any: [extruder-jam]}}, response: clear it, show: feed-me}
prompts:
  collect: {when: {last-job: completed}}
tables:
""",
)
SILENT: Edit = (
    "rules.yaml",
    "      - {name: silent",
    "      - {name: jammed, when: {alarm: jam}, show: feed-me}\n      - {name: silent",
)


def button(keys: str) -> tuple[Edit, ...]:
    """The good site with an alarm, a prompt and the button ``lathe`` of these keys."""
    return (
        ALARMS,
        SILENT,
        (SITE, "resting: dark\n", f"resting: dark\nbuttons:\n  lathe: {keys}\n"),
    )


PLAIN = "broker: shed, topic: alder/lathe, wishes: acknowledge"
READ = [
    (
        f"{{{PLAIN}}}",
        Button("lathe", "shed", "alder/lathe", "acknowledge", "button lathe"),
    ),
    (
        """{broker: shed, topic: alder/+/act, at: /act, is: [down, 1, true], counts: changes,
          wishes: reset, printers: [kestrel], alarms: [jam], who: the lathe}""",
        Button(
            "lathe",
            "shed",
            "alder/+/act",
            "reset",
            "the lathe",
            at=compile_place("/act"),
            values=("down", 1, True),
            on_change=True,
            printers=("kestrel",),
            names=("jam",),
        ),
    ),
    (
        "{url: 'http://plate.club.example/count', wishes: collected, prompts: [collect], is: 3}",
        Button(
            "lathe",
            "http",
            "http://plate.club.example/count",
            "collected",
            "button lathe",
            values=(3,),
            on_change=True,
            names=("collect",),
        ),
    ),
]


@pytest.mark.parametrize(("keys", "expected"), READ)
def test_a_button_is_what_was_written(keys: str, expected: Button, tmp_path: Path) -> None:
    """What is polled presses by changing; what is heard by each message, unless it is said."""
    assert load_edited(tmp_path, *button(keys)).buttons == {"lathe": expected}


def test_a_site_needs_no_button(tmp_path: Path) -> None:
    """There are other ways to wish."""
    assert load_edited(tmp_path).buttons == {}


URL = "http://plate.club.example/count"


def test_a_url_is_asked_as_often_as_it_says(tmp_path: Path) -> None:
    """Whether the printers work or rest."""
    keys = f"{{url: '{URL}', every: 2s, access: {{bearer: plate}}, wishes: acknowledge}}"
    site = load_edited(tmp_path, *button(keys))
    access = Access("bearer", "plate")
    assert site.endpoints[URL] == Endpoint(
        URL, URL, access=access, working_ms=2000, resting_ms=2000
    )


def test_a_url_that_a_printer_has_too_is_asked_once(tmp_path: Path) -> None:
    """As often as the one that wants it more often."""
    url = "http://plover.club.example/now"
    plain: Edit = ("readers/ledger.yaml", ", request: {method: POST, body: {turn: last}}", "")
    keys = f"{{url: '{url}', every: 7s, wishes: acknowledge}}"
    site = load_edited(tmp_path, plain, *button(keys))
    assert site.buttons["lathe"].address == site.printers["plover"].inputs[0].address
    (endpoint,) = (each for each in site.endpoints.values() if each.url == url)
    assert (endpoint.working_ms, endpoint.resting_ms) == (5000, 7000)


WRONG = [
    ("{wishes: acknowledge}", ["lathe: has neither 'topic' nor 'url', expected one of them"]),
    (
        f"{{{PLAIN}, url: '{URL}'}}",
        ["lathe: has both 'topic' and 'url', expected one of them"],
    ),
    (
        "{topic: alder/lathe, wishes: acknowledge}",
        ["lathe: needs 'broker', where 'alder/lathe' is heard"],
    ),
    (
        "{broker: shedd, topic: 'alder/#/act', wishes: acknowledge}",
        [
            "broker: 'shedd' is no broker of site.yaml; did you mean 'shed'?",
            "topic: 'alder/#/act' goes on after #, which must be the last level",
        ],
    ),
    (f"{{{PLAIN}, every: 2s}}", ["every: is for URLs, this button has a topic"]),
    (
        f"{{url: '{URL}', broker: shed, wishes: acknowledge}}",
        ["broker: is for topics, this one has a URL"],
    ),
    (
        f"{{url: '{URL}', every: 500ms, wishes: acknowledge}}",
        ["every: 500 ms is too often, expected at least 1s"],
    ),
    (
        f"{{url: '{URL}', counts: messages, wishes: acknowledge}}",
        ["counts: is for topics: a URL says the same until somebody presses"],
    ),
    (
        "{url: 'mqtt://plate.club.example', wishes: acknowledge}",
        ["url: 'mqtt://plate.club.example' is no address here, expected http://host or"],
    ),
    (f"{{{PLAIN}, at: act}}", ["at: 'act' is no place"]),
    (
        f"{{{PLAIN}, printers: [kestral], alarms: [jamm]}}",
        [
            "printers: 'kestral' is no printer of site.yaml; did you mean 'kestrel'?",
            "alarms: 'jamm' is no alarm of rules.yaml; did you mean 'jam'?",
        ],
    ),
    (f"{{{PLAIN}, printers: [kestrel, kestrel]}}", ["printers: has 'kestrel' twice"]),
    (
        f"{{{PLAIN}, prompts: [collect]}}",
        ["prompts: cannot stand here: nobody can acknowledge prompts, only alarms"],
    ),
    (
        "{broker: shed, topic: a, wishes: collected, alarms: [jam], prompts: [colect]}",
        [
            "alarms: cannot stand here: nobody collects alarms, only prompts",
            "prompts: 'colect' is no prompt of rules.yaml; did you mean 'collect'?",
        ],
    ),
    (f"{{{PLAIN}, printers: []}}", ["printers: "]),
    (
        "{broker: shed, topic: a, wishes: silence}",
        ["wishes: is 'silence', expected acknowledge, reset or collected"],
    ),
    ("{broker: shed, topic: a}", ["lathe: "]),
    (f"{{{PLAIN}, is: {{above: 3}}}}", ["is: "]),
]


@pytest.mark.parametrize(("keys", "expected"), WRONG)
def test_what_no_button_can_be_is_told(keys: str, expected: list[str], tmp_path: Path) -> None:
    """Every problem at once, in its place, with the nearest name."""
    lines = wrong(tmp_path, *button(keys))
    found = [line for start in expected for line in lines if f": {start}" in line]
    assert (len(lines), len(found)) == (len(expected), len(expected)), lines
    assert all(line.startswith("site.yaml:26:") for line in lines)


def test_names_that_differ_only_in_case_are_told(tmp_path: Path) -> None:
    """A person takes them for one."""
    keys = f"{{{PLAIN}}}\n  Lathe: {{{PLAIN}}}"
    (line,) = wrong(tmp_path, *button(keys))
    assert "Lathe: differs from 'lathe' only in case" in line


def test_what_cannot_be_read_elsewhere_makes_no_noise_here(tmp_path: Path) -> None:
    """Nobody knows which alarms there would have been."""
    edits = (button(f"{{{PLAIN}, alarms: [jam]}}")[2], ("rules.yaml", "tables:\n", "tables: [\n"))
    lines = wrong(tmp_path, *edits)
    assert lines
    assert all(line.startswith("rules.yaml:") for line in lines)
