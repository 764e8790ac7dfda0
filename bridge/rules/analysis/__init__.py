"""What can be proved about a table over every situation, without trying them one by one.

``Frame`` packs the values of all facts so that a row is a box; ``Deciding`` asks the matcher's own
rule of whole regions; the rest are questions to it.
"""

from bridge.rules.analysis.analyse import STEPS, analyse, rows_deciding
from bridge.rules.analysis.finding import Kind, TableFinding
from bridge.rules.analysis.offers import Offer, Values, World, any_offer, offer_of

__all__ = [
    "STEPS",
    "Kind",
    "Offer",
    "TableFinding",
    "Values",
    "World",
    "analyse",
    "any_offer",
    "offer_of",
    "rows_deciding",
]
