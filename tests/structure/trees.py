"""The syntax trees that the structure tests look at: the shipped modules or a made-up one."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PURE = frozenset(
    {"facts", "rules", "scenes", "lights", "engine", "plan", "check", "join", "recording"}
)


@dataclass(frozen=True, slots=True)
class Module:
    """One module: its path below the root, its text and its tree."""

    path: str
    text: str
    tree: ast.Module

    @property
    def room(self) -> str:
        """The package of bridge that it lies in, or "" at the top."""
        parts = Path(self.path).parts
        return parts[1] if len(parts) > 2 else ""  # bridge/ROOM/module.py

    @property
    def stem(self) -> str:
        """The module's own name."""
        return Path(self.path).stem

    def at(self, node: ast.expr | ast.stmt | ast.arg, what: str) -> str:
        """One line that names the place of a finding."""
        return f"{self.path}:{node.lineno}: {what}"


def shipped() -> list[Module]:
    """Every module under bridge/, by path."""
    paths = sorted((ROOT / "bridge").rglob("*.py"))
    return [module(path.relative_to(ROOT).as_posix(), path.read_text("utf-8")) for path in paths]


def module(path: str, text: str) -> Module:
    """A module from its text; a made-up one lets a test prove that it can fail."""
    return Module(path, text, ast.parse(text, path))


def functions(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Every function and method of a tree, nested ones too."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def imports(tree: ast.AST) -> Iterator[tuple[ast.Import | ast.ImportFrom, str]]:
    """Every imported module's full name, wherever in the tree the import stands."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node, alias.name
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node, node.module


def calls(tree: ast.AST) -> Iterator[tuple[ast.Call, str, bool]]:
    """Every call of a plain name or of an attribute: the node, the last name, whether attribute."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        if isinstance(node.func, ast.Name):
            yield node, node.func.id, False
        elif isinstance(node.func, ast.Attribute):
            yield node, node.func.attr, True
