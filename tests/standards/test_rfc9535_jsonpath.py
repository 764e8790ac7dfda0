"""RFC 9535, JSONPath: the RFC's own examples, and the compliance cases of the standard's group.

Sources: https://www.rfc-editor.org/rfc/rfc9535 (February 2024) §1.5 and §2.3 to §2.5; the
compliance suite of the jsonpath-standard group (github.com/jsonpath-standard), which lies beside
the repository. Paths that we walk ourselves are held to the same cases as the library.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonpath_rfc9535
import pytest

from bridge.facts.places import PlaceError, compile_place

SUITE = Path(__file__).parents[3] / "shared" / "data" / "jsonpath" / "cts.json"


def _cases() -> list[dict[str, Any]]:
    if not SUITE.is_file():
        return []
    cases: list[dict[str, Any]] = json.loads(SUITE.read_text("utf-8"))["tests"]
    return cases


CASES = _cases()
needs_suite = pytest.mark.skipif(not CASES, reason=f"the compliance cases are not at {SUITE}")


@needs_suite
@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_compliance(case: dict[str, Any]) -> None:
    """Each case of the suite: refused where invalid, else one of the allowed results."""
    if case.get("invalid_selector"):
        with pytest.raises(PlaceError):
            compile_place(case["selector"])
        return
    allowed = case["results"] if "results" in case else [case["result"]]
    assert compile_place(case["selector"]).find_all(case["document"]) in allowed


@needs_suite
def test_direct_walks_are_among_the_cases() -> None:
    """The suite tries enough of the paths that we walk ourselves, on every kind of document."""
    valid = [case for case in CASES if not case.get("invalid_selector")]
    walked = [case for case in valid if compile_place(case["selector"]).single]
    assert len(walked) > 50
    documents = [case["document"] for case in valid]
    for case in walked:
        ours = compile_place(case["selector"])
        theirs = jsonpath_rfc9535.compile(case["selector"])
        for document in documents:
            assert ours.find_all(document) == theirs.find(document).values()


#: §1.5, figure 1.
STORE = json.loads("""
{ "store": {
    "book": [
      { "category": "reference", "author": "Nigel Rees",
        "title": "Sayings of the Century", "price": 8.95 },
      { "category": "fiction", "author": "Evelyn Waugh",
        "title": "Sword of Honour", "price": 12.99 },
      { "category": "fiction", "author": "Herman Melville",
        "title": "Moby Dick", "isbn": "0-553-21311-3", "price": 8.99 },
      { "category": "fiction", "author": "J. R. R. Tolkien",
        "title": "The Lord of the Rings", "isbn": "0-395-19395-8", "price": 22.99 }
    ],
    "bicycle": { "color": "red", "price": 399 }
} }
""")
BOOKS = STORE["store"]["book"]
BICYCLE = STORE["store"]["bicycle"]
AUTHORS = ["Nigel Rees", "Evelyn Waugh", "Herman Melville", "J. R. R. Tolkien"]


@pytest.mark.parametrize(
    ("path", "values"),
    [
        ("$.store.book[*].author", AUTHORS),
        ("$..author", AUTHORS),
        ("$.store.*", [BOOKS, BICYCLE]),
        ("$.store..price", [8.95, 12.99, 8.99, 22.99, 399]),
        ("$..book[2]", [BOOKS[2]]),
        ("$..book[2].author", ["Herman Melville"]),
        ("$..book[2].publisher", []),
        ("$..book[-1]", [BOOKS[3]]),
        ("$..book[0,1]", BOOKS[:2]),
        ("$..book[:2]", BOOKS[:2]),
        ("$..book[?@.isbn]", BOOKS[2:]),
        ("$..book[?@.price<10]", [BOOKS[0], BOOKS[2]]),
    ],
)
def test_section_1_5(path: str, values: list[object]) -> None:
    """Table 2, every row but the last, whose order is not fixed."""
    found = compile_place(path).find_all(STORE)
    assert sorted(map(json.dumps, found)) == sorted(map(json.dumps, values))


NAMES = {"o": {"j j": {"k.k": 3}}, "'": {"@": 2}}
ARRAY = ["a", "b", "c", "d", "e", "f", "g"]
NULLS: dict[str, Any] = {"a": None, "b": [None], "c": [{}], "null": 1}


@pytest.mark.parametrize(
    ("path", "document", "values"),
    [
        # §2.3.1.3, name selector
        ("$.o['j j']", NAMES, [{"k.k": 3}]),
        ("$.o['j j']['k.k']", NAMES, [3]),
        ('$.o["j j"]["k.k"]', NAMES, [3]),
        ('$["\'"]["@"]', NAMES, [2]),
        # §2.3.3.3, index selector
        ("$[1]", ["a", "b"], ["b"]),
        ("$[-2]", ["a", "b"], ["a"]),
        # §2.3.4.3, array slice selector
        ("$[1:3]", ARRAY, ["b", "c"]),
        ("$[5:]", ARRAY, ["f", "g"]),
        ("$[1:5:2]", ARRAY, ["b", "d"]),
        ("$[5:1:-2]", ARRAY, ["f", "d"]),
        ("$[::-1]", ARRAY, list(reversed(ARRAY))),
        # §2.5.1.3, child segment
        ("$[0, 3]", ARRAY, ["a", "d"]),
        ("$[0:2, 5]", ARRAY, ["a", "b", "f"]),
        ("$[0, 0]", ARRAY, ["a", "a"]),
        # §2.6.1, null
        ("$.a", NULLS, [None]),
        ("$.a[0]", NULLS, []),
        ("$.a.d", NULLS, []),
        ("$.b[0]", NULLS, [None]),
        ("$.b[*]", NULLS, [None]),
        ("$.b[?@]", NULLS, [None]),
        ("$.b[?@==null]", NULLS, [None]),
        ("$.c[?@.d==null]", NULLS, []),
        ("$.null", NULLS, [1]),
    ],
)
def test_sections_2_3_to_2_6(path: str, document: object, values: list[object]) -> None:
    """The examples whose order of nodes is fixed."""
    assert compile_place(path).find_all(document) == values
