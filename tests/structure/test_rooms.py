"""What the import contracts cannot see: the pure rooms' reach, and who may judge and who may draw.

The contracts in pyproject.toml follow import statements. These tests read the syntax trees, so a
name fetched by a function at run time is seen as well, and each proves on a made-up module that it
can fail.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable, Iterator

import pytest

from tests.structure.trees import PURE, Module, calls, functions, imports, module, shipped

#: Outside the standard library, by room. Everything else a pure room imports is ours.
LIBRARIES = {"facts": {"jsonpath_rfc9535"}, "rules": {"astral"}}

#: What a pure room may take from the standard library: it computes and holds no state of the world.
COMPUTING = frozenset(
    {
        "__future__",
        "abc",
        "base64",
        "bisect",
        "collections",
        "colorsys",
        "dataclasses",
        "datetime",
        "decimal",
        "difflib",
        "enum",
        "fractions",
        "functools",
        "hashlib",
        "heapq",
        "itertools",
        "json",
        "math",
        "operator",
        "re",
        "string",
        "textwrap",
        "types",
        "typing",
        "unicodedata",
        "urllib.parse",
        "zoneinfo",
    }
)

#: Builtins that reach outside, or fetch by name what an import statement would show.
REACHING = frozenset(
    {"__import__", "breakpoint", "compile", "eval", "exec", "globals", "input", "open", "print"}
)

#: A zone is handed in like the time; looking one up by its name reads the machine's files.
LOOKING_UP = frozenset({"ZoneInfo", "available_timezones"})

#: Ways to read the machine's clock through a module that is allowed for its arithmetic.
CLOCKS = frozenset({"now", "today", "utcnow"})


def reach(subject: Module) -> Iterator[str]:
    """What a pure module touches that a pure module may not."""
    if subject.room not in PURE:
        return
    for node, name in imports(subject.tree):
        top = name.split(".")[0]
        allowed = COMPUTING | LIBRARIES.get(subject.room, set())
        if top != "bridge" and name not in allowed and top not in allowed:
            yield subject.at(node, f"imports {name}")
    reaching = REACHING - _bound(subject.tree)
    for call, name, is_attribute in calls(subject.tree):
        if not is_attribute and name in reaching:
            yield subject.at(call, f"calls {name}()")
        if name in LOOKING_UP:
            yield subject.at(call, f"looks up a zone by {name}()")
        if is_attribute and name in CLOCKS and _is_calendar(call.func):
            yield subject.at(call, f"reads the clock by {name}()")


def _bound(tree: ast.AST) -> set[str]:
    """Names that a module gives another meaning to; where they come from is looked at by itself."""
    names = {function.name for function in functions(tree)}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            names |= {alias.asname or alias.name for alias in node.names}
    return names


def _is_calendar(function: ast.expr) -> bool:
    return isinstance(function, ast.Attribute) and ast.unparse(function.value) in {
        "date",
        "datetime",
        "datetime.date",
        "datetime.datetime",
    }


def judging(subject: Module) -> Iterator[str]:
    """Where a condition is evaluated outside rules/.

    Evaluating is: calling a condition's `test`, combining truths, or a function that answers with a
    `Truth`. Comparing an answer with a member of `Truth` is not: the engine and the findings may
    read what rules/ decided. `facts/truth.py` defines the tables, and the simulator is held apart
    by a contract of its own.
    """
    if subject.room in {"rules", "simulator"} or subject.path == "bridge/facts/truth.py":
        return
    for call, name, is_attribute in calls(subject.tree):
        if is_attribute and name == "test":
            yield subject.at(call, "tests a condition")
    for node in ast.walk(subject.tree):
        if isinstance(node, ast.ImportFrom) and node.module == "bridge.facts.truth":
            taken = sorted({alias.name for alias in node.names} - {"Truth"})
            if taken:
                yield subject.at(node, f"combines truths with {', '.join(taken)}")
    for function in functions(subject.tree):
        if function.returns is not None and ast.unparse(function.returns) == "Truth":
            yield subject.at(function, f"{function.name} answers with a truth")


def drawing(subject: Module) -> Iterator[str]:
    """Where pixels are composed outside scenes/.

    Composing is: bytes repeated, bytes from a display of numbers, or a `bytearray`. Reading the
    pixels of a reply (`bytes.fromhex`, `bytes(values)`) or slicing a ready frame is not. The
    simulator's boards have pixels of their own, on purpose.
    """
    if subject.room in {"scenes", "simulator"}:
        return
    for node in ast.walk(subject.tree):
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult):
            if _makes_bytes(node.left) or _makes_bytes(node.right):
                yield subject.at(node, "repeats bytes")
        elif isinstance(node, ast.Call) and _called(node) == "bytearray":
            yield subject.at(node, "composes a bytearray")
        elif (
            isinstance(node, ast.Call)
            and _called(node) == "bytes"
            and any(isinstance(argument, ast.List | ast.Tuple) for argument in node.args)
        ):
            yield subject.at(node, "composes bytes from numbers")


def _called(node: ast.Call) -> str:
    return node.func.id if isinstance(node.func, ast.Name) else ""


def _makes_bytes(node: ast.expr) -> bool:
    if isinstance(node, ast.Constant):
        return isinstance(node.value, bytes)
    return isinstance(node, ast.Call) and _called(node) in {"bytes", "bytearray"}


LOOKS = [reach, judging, drawing]


@pytest.mark.parametrize("look", LOOKS)
def test_every_room_keeps_to_its_own(look: Callable[[Module], Iterator[str]]) -> None:
    """The pure reach nothing outside, only rules/ judges, only scenes/ draws."""
    assert [finding for subject in shipped() for finding in look(subject)] == []


BAD = [
    (reach, "bridge/facts/made_up.py", "import time"),
    (reach, "bridge/facts/made_up.py", "def late() -> None:\n    from os import environ"),
    (reach, "bridge/lights/made_up.py", "import importlib\nimportlib.import_module('socket')"),
    (reach, "bridge/lights/made_up.py", "clock = __import__('time')"),
    (reach, "bridge/engine/made_up.py", "eval('1')"),
    (reach, "bridge/engine/made_up.py", "import datetime\ndatetime.datetime.now(zone)"),
    (reach, "bridge/engine/made_up.py", "import urllib.request"),
    (reach, "bridge/facts/made_up.py", "from zoneinfo import ZoneInfo\nZoneInfo('Etc/UTC')"),
    (reach, "bridge/rules/made_up.py", "import jsonpath_rfc9535"),
    (reach, "bridge/lights/dialect/made_up.py", "import random"),
    (judging, "bridge/engine/made_up.py", "row.when.test(facts)"),
    (judging, "bridge/check/made_up.py", "from bridge.facts.truth import Truth, all_of"),
    (judging, "bridge/cli/made_up.py", "def holds(row: Row) -> Truth: ..."),
    (drawing, "bridge/lights/made_up.py", r"dark = b'\x00\x00\x00' * 60"),
    (drawing, "bridge/service/made_up.py", "strip = 60 * bytes(3)"),
    (drawing, "bridge/engine/made_up.py", "pixel = bytes([1, 2, 3])"),
    (drawing, "bridge/cli/made_up.py", "canvas = bytearray(180)"),
]


@pytest.mark.parametrize(("look", "path", "text"), BAD)
def test_a_trespass_is_seen(look: Callable[[Module], Iterator[str]], path: str, text: str) -> None:
    """Each of these made-up modules breaks one rule and is named with its line."""
    findings = list(look(module(path, text)))
    assert len(findings) == 1
    assert findings[0].startswith(f"{path}:")


GOOD = [
    (reach, "bridge/sources/made_up.py", "import socket, time"),
    (reach, "bridge/facts/made_up.py", "import re\nre.compile('x')\nimport jsonpath_rfc9535"),
    (reach, "bridge/facts/made_up.py", "from jsonpath_rfc9535 import compile\ncompile('$')"),
    (reach, "bridge/facts/made_up.py", "from urllib.parse import unquote"),
    (reach, "bridge/facts/made_up.py", "def at(zone: ZoneInfo) -> None: ..."),
    (reach, "bridge/engine/made_up.py", "def act(now: Moment) -> None:\n    self.clock.now()"),
    (judging, "bridge/rules/made_up.py", "row.when.test(facts)"),
    (judging, "bridge/engine/made_up.py", "decided.truth is Truth.TRUE"),
    (drawing, "bridge/scenes/made_up.py", "bytes((1, 2, 3)) * 60"),
    (drawing, "bridge/lights/made_up.py", "bytes.fromhex(text)[0:3]"),
]


@pytest.mark.parametrize(("look", "path", "text"), GOOD)
def test_what_is_allowed_passes(
    look: Callable[[Module], Iterator[str]], path: str, text: str
) -> None:
    """The same words in the room they belong to are no finding."""
    assert list(look(module(path, text))) == []


def test_the_list_of_computing_modules_is_of_the_standard_library() -> None:
    """A misspelt name in the allow-list would allow nothing and look as if it did."""
    assert {name.split(".")[0] for name in COMPUTING} <= sys.stdlib_module_names
