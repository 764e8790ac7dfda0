"""What is known of a printer: vocabulary, truth, readers, freshness.

``PrinterFacts`` takes messages and keeps the facts; a ``Reader`` says where they are in them.
How truths combine stays in ``facts.truth``: only the rules room may ask.
"""

from bridge.facts.forms import CompiledForm, FormError, compile_form
from bridge.facts.held import Taken
from bridge.facts.moment import Moment
from bridge.facts.places import ABSENT, Absent, Document, Place, PlaceError, compile_place
from bridge.facts.printer import DocumentView, HeardResult, PrinterFacts
from bridge.facts.reader import (
    Also,
    Alternative,
    EndsAt,
    FactRule,
    Form,
    Graded,
    Input,
    Interval,
    Is,
    Message,
    Only,
    Reader,
    Scalar,
    SentAt,
    Unit,
)
from bridge.facts.reasons import ReasonError, is_known_keyword, nearest_keyword, parse_reason
from bridge.facts.topics import captured, matches, problem_of_filter, problem_of_topic
from bridge.facts.truth import Truth
from bridge.facts.values import Facts, FactValue, Reason, Reasons, Severity, Unknown, Why
from bridge.facts.vocabulary import FACTS, STALE, FactName, Kind, Says, fact_named, gravity
from bridge.facts.words import Word

__all__ = [
    "ABSENT",
    "FACTS",
    "STALE",
    "Absent",
    "Also",
    "Alternative",
    "CompiledForm",
    "Document",
    "DocumentView",
    "EndsAt",
    "FactName",
    "FactRule",
    "FactValue",
    "Facts",
    "Form",
    "FormError",
    "Graded",
    "HeardResult",
    "Input",
    "Interval",
    "Is",
    "Kind",
    "Message",
    "Moment",
    "Only",
    "Place",
    "PlaceError",
    "PrinterFacts",
    "Reader",
    "Reason",
    "ReasonError",
    "Reasons",
    "Says",
    "Scalar",
    "SentAt",
    "Severity",
    "Taken",
    "Truth",
    "Unit",
    "Unknown",
    "Why",
    "Word",
    "captured",
    "compile_form",
    "compile_place",
    "fact_named",
    "gravity",
    "is_known_keyword",
    "matches",
    "nearest_keyword",
    "parse_reason",
    "problem_of_filter",
    "problem_of_topic",
]
