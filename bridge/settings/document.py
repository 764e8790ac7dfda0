"""One YAML file as plain data, with the position of every key, value and item.

Read from the parser's events, so that an anchor is refused before anything could be expanded
(no alias bomb, no cycle), nesting ends at a cap without recursion, and the words are YAML 1.2's
core schema exactly: ``on`` is a text, ``012`` is twelve, ``12:30`` and ``2001-01-01`` are texts.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple, TypeAlias

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    CollectionEndEvent,
    DocumentStartEvent,
    Event,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
)

from bridge.rules.table import Source
from bridge.settings.nearest import shown
from bridge.settings.problems import Problem

#: Deeper than any setting; shallow enough that nothing that walks the data can run out of stack.
MOST_DEEP: Final = 32
_LONGEST_NUMBER: Final = 40
#: Nobody reads on; a file with more of them was not written for this.
_MOST_PROBLEMS: Final = 50

Step: TypeAlias = object
Path: TypeAlias = tuple[Step, ...]


class Mark(NamedTuple):
    """A position in a file, from 1."""

    line: int
    column: int


class _Marks(NamedTuple):
    key: Mark
    value: Mark


@dataclass(slots=True)
class Document:
    """The data of one file. Mappings and lists are plain; ``at`` finds where they were written."""

    file: str
    text: str
    data: Any = None
    start: Mark = Mark(1, 1)
    #: By the identity of a container that ``data`` keeps alive: its entries' positions.
    marks: dict[int, dict[Step, _Marks]] = field(default_factory=dict, repr=False)

    def at(self, path: Path, *, key: bool = False) -> Mark:
        """Where the value (or its key) at ``path`` is; steps that are not there are skipped."""
        return self._walk(self.data, path, key=key)[1]

    def at_within(self, base: Any, path: Path, *, key: bool = False) -> Mark:  # noqa: ANN401
        """The same, beginning at a container of this document."""
        return self._walk(base, path, key=key)[1]

    def within(self, base: Any, path: Path) -> Any:  # noqa: ANN401 - what YAML holds
        """The innermost value that ``path`` leads to from a container."""
        return self._walk(base, path, key=False)[0]

    def _walk(self, base: Any, path: Path, *, key: bool) -> tuple[Any, Mark]:  # noqa: ANN401
        data, mark = base, self.start
        for step in path:
            marks = self.marks.get(id(data))
            name = None if marks is None else _step_in(marks, step)
            if marks is None or name is _NO_STEP:
                continue
            data, mark = data[name], marks[name].key if key else marks[name].value
        return data, mark

    def source(self, path: Path) -> Source:
        """The same as a ``Source`` that outlives the file."""
        return Source(self.file, *self.at(path))

    def key_source(self, path: Path) -> Source:
        """The position of the key instead."""
        return Source(self.file, *self.at(path, key=True))


_NO_STEP: Final = object()


def _step_in(marks: dict[Step, _Marks], step: Step) -> Any:  # noqa: ANN401 - a key of YAML
    if step in marks:
        return step
    # A key that is no text is told by its text in the errors of the models.
    return next(
        (name for name in marks if not isinstance(name, str) and str(name) == step), _NO_STEP
    )


def parse(file: str, text: str) -> tuple[Document, list[Problem]]:
    """The file's document, and every problem that YAML itself has with it."""
    document = Document(file, text)
    if problems := list(_bad_characters(file, text)):
        return document, problems
    builder = _Builder(document)
    try:
        for event in YAML(typ="safe", pure=True).parse(text):
            if not builder.feed(event):
                break
    except YAMLError as error:
        where = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
        builder.refuse(_mark(where), _in_words(error))
    if not builder.problems and document.data is None:
        builder.refuse(Mark(1, 1), "is empty, expected a mapping (key: value)")
    return document, builder.problems


def _in_words(error: YAMLError) -> str:
    parts = (getattr(error, "context", None), getattr(error, "problem", None) or error)
    said = " ".join(str(part) for part in parts if part)
    # By far the commonest slip: a path or a topic with a placeholder, between braces of YAML's.
    brace = "but got '{'" in said
    hint = "a text with {…} in it needs quotes" if brace else "is a bracket or a quote missing?"
    return f"is not YAML: {' '.join(said.split())}; {hint}"


_INDENTING_TAB = re.compile(r"^[ ]*\t[ \t]*(?=\S)", re.MULTILINE)
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ufeff\ufffe\uffff]")
_MOST_OF_A_KIND = 5


def _bad_characters(file: str, text: str) -> Iterator[Problem]:
    for found in list(_INDENTING_TAB.finditer(text))[:_MOST_OF_A_KIND]:
        at = found.start() + found.group().index("\t")
        yield Problem(file, *_position(text, at), "a tab indents this line, YAML wants blanks")
    for found in list(_CONTROL.finditer(text))[:_MOST_OF_A_KIND]:
        name = f"U+{ord(found.group()):04X}"
        yield Problem(
            file,
            *_position(text, found.start()),
            f"the control character {name} may not stand here",
        )


def _position(text: str, offset: int) -> Mark:
    return Mark(text.count("\n", 0, offset) + 1, offset - text.rfind("\n", 0, offset))


def _mark(mark: Any) -> Mark:  # noqa: ANN401 - the library's marks have no type of their own
    return Mark(1, 1) if mark is None else Mark(mark.line + 1, mark.column + 1)


@dataclass(slots=True)
class _Open:
    """A container that is being filled. ``key`` waits for its value; a refused one has no data."""

    data: Any
    marks: dict[Step, _Marks]
    is_mapping: bool
    key: tuple[Any, Mark] | None = None
    #: The key was refused: its value is read and forgotten.
    forget: bool = False


class _Builder:
    """Takes events one by one and fills the document; refusals do not stop it, depth does."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.problems: list[Problem] = []
        self._stack: list[_Open] = []
        self._documents = 0
        self._anchors: set[str] = set()

    def refuse(self, mark: Mark, message: str) -> None:
        self.problems.append(Problem(self.document.file, *mark, message))

    def feed(self, event: Event) -> bool:
        """Take one event; false where reading on makes no sense."""
        if len(self.problems) >= _MOST_PROBLEMS:
            return False
        mark = _mark(event.start_mark)
        if isinstance(event, DocumentStartEvent):
            self._documents += 1
            if self._documents > 1:
                self.refuse(mark, "a second document begins here, expected one in a file")
                return False
        elif isinstance(event, NodeEvent):
            return self._node(event, mark)
        elif isinstance(event, CollectionEndEvent):
            self._stack.pop()
        return True

    def _node(self, event: NodeEvent, mark: Mark) -> bool:
        if isinstance(event, AliasEvent):
            # Its anchor was refused; to refuse each use too would bury that.
            if event.anchor not in self._anchors:
                self.refuse(mark, f"*{event.anchor}: there is no such anchor, and none is read")
            self._place(None, mark)
            return True
        if event.anchor is not None:
            self._anchors.add(event.anchor)
            self.refuse(
                mark,
                f"&{event.anchor}: anchors and aliases are not read, write the value out each time",
            )
        if (tag := getattr(event, "tag", None)) is not None:
            self.refuse(mark, f"the tag {tag} is not read, write the plain value")
        if isinstance(event, ScalarEvent):
            if not event.value and event.style is None and self._stack and self._stack[-1].key:
                # Nothing stands there, and the parser's mark is where something else begins.
                mark = self._stack[-1].key[1]
            self._place(self._scalar(event, mark), mark)
            return True
        return self._open(event, mark)

    def _open(self, event: NodeEvent, mark: Mark) -> bool:
        if len(self._stack) >= MOST_DEEP:
            self.refuse(mark, f"is nested more than {MOST_DEEP} deep, no setting is")
            return False
        is_mapping = isinstance(event, MappingStartEvent)
        data: Any = {} if is_mapping else []
        marks: dict[Step, _Marks] = {}
        if self._expects_key():
            what = "a mapping" if is_mapping else "a list"
            self.refuse(mark, f"{what} cannot be a key; a text with {{…}} needs quotes")
            self._stack[-1].key, self._stack[-1].forget = (None, mark), True
        else:
            self._place(data, mark)
        self.document.marks[id(data)] = marks
        self._stack.append(_Open(data, marks, is_mapping=is_mapping))
        return True

    def _expects_key(self) -> bool:
        return bool(self._stack) and self._stack[-1].is_mapping and self._stack[-1].key is None

    def _place(self, value: Any, mark: Mark) -> None:  # noqa: ANN401 - what YAML holds
        if not self._stack:
            self.document.data, self.document.start = value, mark
            return
        top = self._stack[-1]
        if not top.is_mapping:
            top.marks[len(top.data)] = _Marks(mark, mark)
            top.data.append(value)
        elif top.key is None:
            top.key, top.forget = (value, mark), not self._accepts_key(top, value, mark)
        else:
            key, key_mark = top.key
            if not top.forget:
                top.data[key] = value
                top.marks[key] = _Marks(key_mark, mark)
            top.key = None

    def _accepts_key(self, top: _Open, key: Any, mark: Mark) -> bool:  # noqa: ANN401 - what YAML holds
        if key == "<<":
            self.refuse(mark, "<<: merging is not read, write the keys out again")
            return False
        if key not in top.data:
            return True
        line = top.marks[key].key.line
        same = next(known for known in top.data if known == key)
        as_written = (
            shown(key) if type(same) is type(key) else f"{shown(key)} (the same as {shown(same)})"
        )
        self.refuse(mark, f"the key {as_written} stands twice, first in line {line}")
        return False

    def _scalar(self, event: ScalarEvent, mark: Mark) -> Any:  # noqa: ANN401 - what YAML holds
        text = str(event.value)
        if event.style is not None:
            return text
        if text in _WORDS:
            return _WORDS[text]
        if _NOT_FINITE.fullmatch(text):
            self.refuse(
                mark, f"{text} is no number that a setting can have; quote it if it is a text"
            )
            return None
        for pattern, read in _NUMBERS:
            if pattern.fullmatch(text):
                return self._number(text, read, mark)
        return text

    def _number(self, text: str, read: Any, mark: Mark) -> Any:  # noqa: ANN401 - what YAML holds
        number = read(text) if len(text) <= _LONGEST_NUMBER else None
        if number is None or number in (float("inf"), float("-inf")):
            self.refuse(mark, f"{shown(text)} is too long a number; quote it if it is a text")
            return None
        return number


#: YAML 1.2.2 §10.3.2, the core schema.
_WORDS: Final[dict[str, bool | None]] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
_NUMBERS: Final = (
    (re.compile(r"[-+]?[0-9]+"), int),
    (re.compile(r"0o[0-7]+"), lambda text: int(text, 8)),
    (re.compile(r"0x[0-9a-fA-F]+"), lambda text: int(text, 16)),
    (re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?"), float),
)
_NOT_FINITE: Final = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")
