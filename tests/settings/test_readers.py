"""Readers: messages, forms, freshness, and what a reader offers."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.facts.places import compile_place
from bridge.facts.reader import EndsAt, Form, Message, Only, SentAt
from bridge.settings.load import load_site
from bridge.settings.readers import in_words
from tests.settings.copies import GOOD, Edit, load_edited, wrong

LEDGER = "readers/ledger.yaml"
PIECES = "readers/pieces.yaml"


def test_messages_and_forms_are_what_was_written() -> None:
    """Times in milliseconds."""
    reader = load_site(GOOD).printers["kestrel"].reader
    assert reader.messages["doing"] == Message(
        "doing", "text", 40_000, required=True, every_ms=10_000
    )
    assert reader.forms == (Form("laid", "{layer} of {layers} courses"),)


def test_a_reader_offers_its_facts_and_those_of_its_forms() -> None:
    """Never stale."""
    site = load_site(GOOD)
    assert site.printers["kestrel"].reader.offers == {
        "state",
        "progress",
        "reasons",
        "layer",
        "layers",
    }


def test_reasons_may_be_a_union() -> None:
    """With what silence means."""
    rule = load_site(GOOD).printers["kestrel"].reader.facts["reasons"]
    assert (rule.union, rule.absent_none, len(rule.alternatives)) == (True, True, 1)
    rule = load_site(GOOD).printers["plover"].reader.facts["reasons"]
    assert (rule.union, rule.absent_none) == (True, False)


def test_the_rarer_keys_of_a_message(tmp_path: Path) -> None:
    """Patches, true age, a beat."""
    keys = (
        "joins: patch, full: /all, retained: trust, sent_at: {at: /made, form: epoch s},"
        " beat: '$.turns', every: 20s, "
    )
    site = load_edited(tmp_path, (LEDGER, "{kind: json, ", f"{{kind: json, {keys}"))
    assert site.printers["plover"].reader.messages["page"] == Message(
        name="page",
        kind="json",
        fresh_for_ms=45_000,
        required=True,
        joins="patch",
        full=compile_place("/all"),
        retained="trust",
        sent_at=SentAt(compile_place("/made"), EndsAt.EPOCH_S),
        beat=compile_place("$.turns"),
        every_ms=20_000,
    )


def test_one_address_may_bring_several_messages(tmp_path: Path) -> None:
    """Told apart by a member; or each printer has a part of the body, of its own name."""
    keys = "only: {at: /on, is: [duty, 7]}, within: \"$[?@.tag == '{tag}']\", "
    site = load_edited(
        tmp_path,
        (LEDGER, "{kind: json, ", f"{{kind: json, {keys}"),
        ("site.yaml", "    reader: ledger", "    reader: ledger\n    with: {tag: S-7}"),
    )
    message = site.printers["plover"].reader.messages["page"]
    assert message.only == Only(compile_place("/on"), ("duty", 7))
    assert message.within == compile_place("$[?@.tag == 'S-7']")


def test_a_form_gives_facts(tmp_path: Path) -> None:
    """Besides its parts, or without any."""
    forms = (
        '  - {in: laid, form: "{layer} of {layers} courses", gives: {state: processing}}\n'
        "  - {in: laid, form: ready, gives: {job: completed, layer: 0}}\n"
    )
    reader = (
        load_edited(
            tmp_path, (PIECES, '  - {in: laid, form: "{layer} of {layers} courses"}\n', forms)
        )
        .printers["kestrel"]
        .reader
    )
    assert reader.forms == (
        Form("laid", "{layer} of {layers} courses", gives=(("state", "processing"),)),
        Form("laid", "ready", gives=(("job", "completed"), ("layer", 0))),
    )
    assert "job" in reader.offers


LINK = "facts:\n  link: [{in: laid, values: {aye: up, gone: down}}]\n  state: [{in: doing"


def test_fresh_while_the_link_is_up(tmp_path: Path) -> None:
    """The link's own message needs no freshness, and must be one that the broker keeps."""
    site = load_edited(
        tmp_path,
        (PIECES, "fresh_for: 40s, every: 10s", "fresh_while: link"),
        (PIECES, "laid: {kind: text, fresh_for: 40s}", "laid: {kind: text, retained: trust}"),
        (PIECES, 'forms:\n  - {in: laid, form: "{layer} of {layers} courses"}\n', ""),
        (PIECES, "  progress: [{ratio: [layer, layers]}]\n", ""),
        (PIECES, "facts:\n  state: [{in: doing", LINK),
    )
    messages = site.printers["kestrel"].reader.messages
    assert messages["doing"].fresh_for_ms is None
    assert messages["laid"].fresh_for_ms is None


def test_placeholders_make_a_reader_for_each_printer(tmp_path: Path) -> None:
    """In places, not in forms."""
    site = load_edited(
        tmp_path,
        (LEDGER, "/heat/0", "'/heat/{tip}'"),
        ("site.yaml", "    reader: ledger", "    reader: ledger\n    with: {tip: 2}"),
    )
    (way,) = site.printers["plover"].reader.facts["extruder-temperature"].alternatives
    assert way.at == compile_place("/heat/2")


ALL_OF = "{all_of: [{in: page, at: /share}]}"
MESSAGE = "laid: {kind: text, fresh_for: 40s}"
REFUSED: list[tuple[Edit, str]] = [
    ((PIECES, MESSAGE, "laid: {kind: text}"), "3:3: laid: needs 'fresh_for'"),
    ((PIECES, "40s}", "40s, every: 21s}"), "3:33: fresh_for: 40s is less than twice every (21s)"),
    ((PIECES, "40s}", "40s, fresh_while: link}"), "3:38: fresh_while: cannot stand beside"),
    ((PIECES, "40s}", "40s, joins: patch, full: /a}"), "3:45: joins: patches are JSON"),
    ((PIECES, "40s}", "40s, full: /a}"), "3:38: full: is for joins: patch only"),
    ((PIECES, "40s}", "40s, beat: /a}"), "3:38: beat: is for JSON, this message is a text"),
    ((PIECES, MESSAGE, "laid: {kind: txt}"), "3:16: kind: is 'txt', expected json or text; did"),
    ((LEDGER, "json, ", "json, beat: turns, "), "2:28: beat: 'turns' is no place"),
    ((LEDGER, "json, ", "json, full: turns, joins: patch, "), "2:28: full: 'turns' is no place"),
    ((LEDGER, "required: true", "required: false"), "1:1: messages: none is required"),
    ((PIECES, "in: laid,", "in: lad,"), "6:10: in: 'lad' is no message of readers/pieces.yaml"),
    ((PIECES, "in: laid,", "in: laid, at: /a,"), "6:16: at: is for JSON, the message laid is"),
    ((PIECES, "{layer} of", "{reasons} of"), "6:22: form: {reasons} cannot be a part"),
    ((PIECES, "{layer} of", "{{layer} of"), "6:22: form: '{{layer} of {layers} courses' has a }"),
    ((PIECES, "{layer} of {layers}", "no"), "6:22: form: 'no courses' names no part"),
    ((PIECES, 'courses"}', 'courses", gives: {job: done}}'), "6:66: job: 'done' is no job"),
    ((PIECES, 'courses"}', 'courses", gives: {jobs: 1}}'), "6:61: 'jobs' is no fact"),
    (
        (PIECES, 'courses"}', 'courses", gives: {reasons: none}}'),
        "6:61: reasons: cannot stand beside all_of",
    ),
    ((PIECES, "40s}", "40s, only: {at: /a, is: 1}}"), "3:38: only: is for JSON"),
    ((PIECES, "40s}", "40s, within: /a}"), "3:38: within: is for JSON, this message is a text"),
    ((LEDGER, "json, ", "json, only: {at: /a, is: []}, "), "2:41: is: is an empty list"),
    (
        (LEDGER, "json, ", "json, joins: patch, full: /a, within: /b, "),
        "2:46: within: cannot stand beside joins: patch",
    ),
    ((PIECES, "of {layers}", "of {_}"), "9:30: ratio: this reader never gives 'layers'"),
    ((PIECES, "[{ratio", "[{ration"), "9:14: progress: needs 'in'"),
    (
        (LEDGER, "[{in: page, at: /share, scale: [0, 10000], no_value: [-1]}]", ALL_OF),
        "9:14: all_of: is for reasons, expected a list of ways to find progress",
    ),
    ((PIECES, "    absent: none", "    absent: some"), "12:13: absent: is 'some', expected none"),
    ((PIECES, "  laid:", "  Doing: {kind: text, fresh_for: 1s}\n  laid:"), "3:3: Doing: differs"),
]


@pytest.mark.parametrize(("edit", "start"), REFUSED)
def test_a_wrong_reader_is_told(edit: Edit, start: str, tmp_path: Path) -> None:
    """At the key or value that is wrong."""
    lines = wrong(tmp_path, edit)
    assert any(line.startswith(f"{edit[0]}:{start}") for line in lines), lines


def test_a_ratio_of_ratios_is_refused(tmp_path: Path) -> None:
    """It could go round in a circle."""
    more = "  site-share: [{ratio: [progress, layers]}]\n  progress: [{ratio"
    (line,) = wrong(tmp_path, (PIECES, "  progress: [{ratio", more))
    assert line.startswith("readers/pieces.yaml:9:25: ratio: 'progress' is a ratio itself")


WORDS = [(90_000, "90s"), (120_000, "2m"), (7_200_000, "2h"), (1500, "1500ms"), (0, "0ms")]


@pytest.mark.parametrize(("milliseconds", "text"), WORDS)
def test_durations_are_written_as_in_the_files(milliseconds: int, text: str) -> None:
    """In the largest unit that is whole."""
    assert in_words(milliseconds) == text
