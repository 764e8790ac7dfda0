"""Sizes, names, mirrored tests and true `__all__` lists, read from the syntax trees.

Every rule is proved on a made-up module to be able to fail.
"""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.structure.trees import ROOT, Module, functions, module, shipped

LONGEST_MODULE = 500  # lines
LONGEST_FUNCTION = 60  # lines

#: A module of this name says nothing of what is in it, and so takes in everything.
DRAWERS = frozenset({"common", "helper", "helpers", "manager", "managers", "misc", "util", "utils"})

#: Names are whole words, and one word for one thing: the word that we use instead.
OTHER_WORDS = {
    "cfg": "settings",
    "cnt": "count",
    "color": "colour",
    "conf": "settings",
    "ctrl": "controller",
    "ctx": "what it holds",
    "evt": "event",
    "idx": "index",
    "led": "pixel",
    "leds": "pixels",
    "mgr": "what it does",
    "msg": "message",
    "num": "number",
    "req": "request",
    "resp": "reply",
    "tmp": "what it holds",
}

#: Modules without a test file of their own, each with the reason.
UNMIRRORED: dict[str, str] = {
    "bridge/__init__.py": "holds the version only",
    "bridge/errors.py": "a root of two lines; the tests of every error beneath it go through it",
    "bridge/__main__.py": "two lines; tests/cli runs it as a user does",
}


def length(subject: Module) -> Iterator[str]:
    """A module or a function that is too long to be read at once."""
    lines = len(subject.text.splitlines())
    if lines > LONGEST_MODULE:
        yield f"{subject.path}:1: {lines} lines, at most {LONGEST_MODULE}"
    for function in functions(subject.tree):
        lines = (function.end_lineno or function.lineno) - function.lineno + 1
        if lines > LONGEST_FUNCTION:
            yield subject.at(function, f"{function.name}: {lines} lines, at most 60")


def naming(subject: Module) -> Iterator[str]:
    """A module that is a drawer, or a name of ours with a shortened or a second word in it."""
    for part in Path(subject.path).with_suffix("").parts:
        if part in DRAWERS:
            yield f"{subject.path}:1: a module named {part} says nothing of what is in it"
    for node, name in _defined(subject.tree):
        for word in _words(name):
            if word in OTHER_WORDS:
                yield subject.at(node, f"{name}: say {OTHER_WORDS[word]}, not {word}")


def _defined(tree: ast.AST) -> Iterator[tuple[ast.expr | ast.stmt | ast.arg, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            yield node, node.name
        elif isinstance(node, ast.arg):
            yield node, node.arg
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            yield node, node.id


def _words(name: str) -> list[str]:
    return [word.lower() for word in re.findall(r"[A-Z]?[a-z]+|[A-Z]+(?![a-z])", name)]


def listing(subject: Module) -> Iterator[str]:
    """A package whose `__all__` is not exactly what it offers."""
    if subject.stem != "__init__":
        return
    offered = _offered(subject.tree)
    listed = _listed(subject.tree)
    for name in sorted(offered - set(listed)):
        yield f"{subject.path}:1: offers {name} and does not list it"
    for name in sorted(set(listed) - offered - _dunders(subject.tree)):
        yield f"{subject.path}:1: lists {name} and does not offer it"
    for name, times in Counter(listed).items():
        if times > 1:
            yield f"{subject.path}:1: lists {name} {times} times"


def _bound(tree: ast.Module) -> set[str]:
    names: set[str] = set()
    for node in tree.body:
        if isinstance(node, ast.Import | ast.ImportFrom):
            if isinstance(node, ast.ImportFrom) and node.module == "__future__":
                continue
            names |= {(alias.asname or alias.name).split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            names.add(node.name)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names |= {target.id for target in targets if isinstance(target, ast.Name)}
    return names


def _offered(tree: ast.Module) -> set[str]:
    return {name for name in _bound(tree) if not name.startswith("_")}


def _dunders(tree: ast.Module) -> set[str]:
    return {name for name in _bound(tree) if name.startswith("__")}


def _listed(tree: ast.Module) -> list[str]:
    for node in tree.body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
            names: list[str] = ast.literal_eval(node.value)
            return names
    return []


def mirror(subject: Module) -> Iterator[str]:
    """A module that does something and has no test file of its own.

    A package's `__init__` only re-exports (`listing` holds it to that), and a module without a
    single function only declares: its words are tried by those who use them and in
    tests/standards.
    """
    if subject.stem == "__init__" or subject.path in UNMIRRORED:
        return
    if not any(True for _ in functions(subject.tree)):
        return
    path = mirrored(subject.path)
    if not (ROOT / path).is_file():
        yield f"{subject.path}:1: has no test file {path}"


def mirrored(path: str) -> str:
    """The test file of a module: tests/facts/test_places.py of bridge/facts/places.py."""
    below = Path(path).relative_to("bridge")
    return (Path("tests") / below.parent / f"test_{below.name}").as_posix()


LOOKS = [length, naming, listing, mirror]


@pytest.mark.parametrize("look", LOOKS)
def test_every_module_keeps_the_shape(look: Callable[[Module], Iterator[str]]) -> None:
    """Short, named in whole words, listed truly and tested where one looks for the test."""
    assert [finding for subject in shipped() for finding in look(subject)] == []


BAD = [
    (length, "bridge/facts/made_up.py", "x = 1\n" * 501),
    (length, "bridge/facts/made_up.py", "def much() -> None:\n" + "    x = 1\n" * 60),
    (length, "bridge/facts/made_up.py", "class A:\n async def f(self):\n" + "  x = 1\n" * 60),
    (naming, "bridge/facts/utils.py", ""),
    (naming, "bridge/helpers/places.py", ""),
    (naming, "bridge/lights/made_up.py", "led_count = 3"),
    (naming, "bridge/lights/made_up.py", "class HttpResp: ..."),
    (naming, "bridge/lights/made_up.py", "def mix(color: str) -> None: ..."),
    (listing, "bridge/facts/__init__.py", "from bridge.facts.truth import Truth"),
    (listing, "bridge/facts/__init__.py", "__all__ = ['Truth']"),
    (listing, "bridge/facts/__init__.py", "def f() -> None: ...\n__all__ = ['f', 'f']"),
    (mirror, "bridge/facts/made_up.py", "def untested() -> None: ..."),
    (mirror, "bridge/lights/dialect/made_up.py", "class A:\n    def untested(self): ..."),
]


@pytest.mark.parametrize(("look", "path", "text"), BAD)
def test_a_breach_is_seen(look: Callable[[Module], Iterator[str]], path: str, text: str) -> None:
    """Each of these made-up modules breaks one rule once."""
    findings = list(look(module(path, text)))
    assert len(findings) == 1
    assert findings[0].startswith(f"{path}:")


GOOD = [
    (length, "bridge/facts/made_up.py", "def f() -> None:\n" + "    x = 1\n" * 59),
    (naming, "bridge/lights/made_up.py", "request = ledger = message_number = colour = 1"),
    (listing, "bridge/facts/__init__.py", '"""Only a docstring."""'),
    (listing, "bridge/__init__.py", "__all__ = ['__version__']\n__version__ = '1'"),
    (mirror, "bridge/facts/made_up.py", "WORDS = ('idle',)"),
    (mirror, "bridge/facts/__init__.py", "def here() -> None: ..."),
]


@pytest.mark.parametrize(("look", "path", "text"), GOOD)
def test_what_is_in_shape_passes(
    look: Callable[[Module], Iterator[str]], path: str, text: str
) -> None:
    """The last length that is allowed, and words that only look like the refused ones."""
    assert list(look(module(path, text))) == []


def test_every_exception_names_a_module_that_exists() -> None:
    """An exception outlives its module otherwise, and waits for the next of that name."""
    assert [path for path in UNMIRRORED if not (ROOT / path).is_file()] == []
