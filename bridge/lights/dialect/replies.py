"""What came back: whether a request was taken, and the JSON of an answer."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from bridge.facts.decoding import Refusal, read_json
from bridge.facts.places import ABSENT
from bridge.lights.dialect.codecs import Json, same_json, shown
from bridge.lights.dialect.grammar import RequestTemplate


class Verdict(Enum):
    """What became of a request; the text is what a person reads."""

    OK = "taken"
    REDIRECTED = "redirects elsewhere, which is refused"
    BUSY = "says it is busy"
    REFUSED = "refuses the request"
    FAILED = "failed at it"
    STRANGE_STATUS = "answers with a status that means nothing here"
    UNREADABLE = "answers what cannot be read"
    NOT_CONFIRMED = "does not say what a good answer says"


@dataclass(frozen=True, slots=True)
class Answer:
    """A verdict, and what it rests on."""

    verdict: Verdict
    detail: str = ""

    @property
    def ok(self) -> bool:
        """Whether the request was taken."""
        return self.verdict is Verdict.OK

    def __str__(self) -> str:
        return f"{self.verdict.value}{': ' + self.detail if self.detail else ''}"


@dataclass(frozen=True, slots=True)
class Misread:
    """An answer that tells nothing, and why."""

    why: str

    def __str__(self) -> str:
        return self.why


@dataclass(frozen=True, slots=True)
class Parsed:
    """The JSON of an answer; a wrapper, since any value may be inside."""

    document: Json


def parse(body: bytes) -> Parsed | Misread:
    """The JSON in ``body``, by the same reader and bounds as a printer's message."""
    document = read_json(body)
    if isinstance(document, Refusal):
        return Misread(f"the answer is {document.why.value}: {document.detail}")
    return Parsed(document)


def judge(template: RequestTemplate, status: int, body: bytes) -> Answer:
    """A request was taken when the status and the reply are what the dialect says they are."""
    taken = status in template.accepts if template.accepts else 200 <= status < 300
    if not taken:
        return Answer(_verdict_of(status), f"status {status}")
    check = template.reply
    if check is None:
        return Answer(Verdict.OK)
    parsed = parse(body)
    if isinstance(parsed, Misread):
        return Answer(Verdict.UNREADABLE, str(parsed))
    found = check.at.find(parsed.document)
    if found is ABSENT:
        return Answer(Verdict.NOT_CONFIRMED, f"nothing at {check.at.text or 'its root'}")
    if not same_json(found, check.wanted):
        return Answer(
            Verdict.NOT_CONFIRMED, f"{check.at.text} is {shown(found)}, not {shown(check.wanted)}"
        )
    return Answer(Verdict.OK)


def _verdict_of(status: int) -> Verdict:
    if status in {429, 503}:  # RFC 6585 §4, RFC 9110 §15.6.4: come back later
        return Verdict.BUSY
    if 300 <= status < 400:
        return Verdict.REDIRECTED
    if 400 <= status < 500:
        return Verdict.REFUSED
    if 200 <= status < 300:
        return Verdict.STRANGE_STATUS
    return Verdict.FAILED if 500 <= status < 600 else Verdict.STRANGE_STATUS
