"""One more entry in a mapping of a YAML file, with every other character left as it is.

A round trip through a YAML writer keeps comments, but not columns, quotes and line breaks; so the
entry is put in at the position of its neighbour, in the neighbour's style, and the result is read
again: it must be the old data and the new entry, or nothing is given.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any, Final, TypeAlias

from ruamel.yaml import YAML
from ruamel.yaml.events import (
    CollectionEndEvent,
    CollectionStartEvent,
    MappingStartEvent,
    NodeEvent,
)

from bridge.errors import LampwrightError
from bridge.settings.document import Path, parse

#: What an entry may be: a code, and a word or a list of words.
Code: TypeAlias = str | int | float | bool | None
Meaning: TypeAlias = str | tuple[str, ...]

_REST_OF_LINE: Final = re.compile(r"[ \t]*(,?)[ \t]*(?:(?<=[ \t,])#[^\r\n]*)?(?=\r?\n|\Z)")
_LINE_END: Final = re.compile(r"\r?\n|\Z")
#: JSON writes these as they are, and YAML does not take them within quotes, or breaks lines there.
_NOT_PRINTED: Final = re.compile("[\x7f-\x9f\u2028\u2029\ufeff]")


class NotInsertedError(LampwrightError):
    """There is no place for the entry that would leave the rest as it is; ``line`` has it."""

    def __init__(self, entry: str, line: int) -> None:
        super().__init__(f"cannot be put in without writing lines anew: add {entry} by hand")
        self.line = line


@dataclass(slots=True)
class _Node:
    """Offsets of a node's first character and of the first one behind it."""

    start: int
    end: int
    flow: bool = False
    is_mapping: bool = False
    #: Of a mapping its keys and values in turn, of a list its items.
    inner: list[_Node] = field(default_factory=list)


def with_entry(text: str, path: Path, code: Code, meaning: Meaning) -> str:
    """The text with an entry at the end of the mapping at ``path``, whose keys are texts.

    Raises ``NotInsertedError``. The file must be one that ``parse`` takes without problems, the
    mapping must have an entry and not this one.
    """
    document, _ = parse("", text)
    wanted = deepcopy(document.data)
    inner = wanted
    for step in path:
        inner = inner[step]
    inner[code] = list(meaning) if isinstance(meaning, tuple) else meaning
    entry = entry_written(code, meaning)
    place = _find(_nodes(text), document.data, path)
    for changed in _places(text, place, entry):
        found, problems = parse("", changed)
        # By their texts: Python takes 1, 1.0 and true for the same.
        if not problems and repr(found.data) == repr(wanted):
            return changed
    raise NotInsertedError(entry, text.count("\n", 0, place.start) + 1)


def entry_written(code: Code, meaning: Meaning) -> str:
    """``word: meaning`` as it may stand between braces."""
    words = [_word(word) for word in (meaning if isinstance(meaning, tuple) else (meaning,))]
    said = f"[{', '.join(words)}]" if isinstance(meaning, tuple) else words[0]
    return f"{_word(code)}: {said}"


def _word(word: Code) -> str:
    if not isinstance(word, str):
        return json.dumps(word)
    document, problems = parse("", f"{{{word}: x}}")
    if not problems and repr(document.data) == repr({word: "x"}):
        return word
    quoted = json.dumps(word, ensure_ascii=False)
    return _NOT_PRINTED.sub(lambda found: f"\\u{ord(found.group()):04x}", quoted)


def _nodes(text: str) -> _Node:
    root = _Node(0, 0)
    stack = [root]
    for event in YAML(typ="safe", pure=True).parse(text):
        if isinstance(event, NodeEvent):
            node = _Node(event.start_mark.index, event.end_mark.index)
            stack[-1].inner.append(node)
            if isinstance(event, CollectionStartEvent):
                node.flow, node.is_mapping = event.flow_style, isinstance(event, MappingStartEvent)
                stack.append(node)
        elif isinstance(event, CollectionEndEvent):
            node = stack.pop()
            # A block ends, to the parser, where the next thing begins.
            node.end = event.end_mark.index if node.flow else _end_of(node)
    return root.inner[0]


def _end_of(node: _Node) -> int:
    return node.inner[-1].end if node.inner else node.end


def _find(node: _Node, data: Any, path: Path) -> _Node:  # noqa: ANN401 - what YAML holds
    for step in path:
        if node.is_mapping:
            node = node.inner[2 * list(data).index(step) + 1]
        else:
            node = node.inner[int(str(step))]
        data = data[step]
    return node


def _places(text: str, mapping: _Node, entry: str) -> Iterator[str]:
    """The text with the entry in it, at the best place first."""
    key, last = mapping.inner[-2], mapping.inner[-1]
    line = text.rfind("\n", 0, key.start) + 1
    before = text[line : key.start]
    indent = re.sub(r"\S", " ", before)
    if not mapping.flow:
        # A text over several lines takes in the blank lines behind it.
        yield _below(text, len(text[: last.end].rstrip()), f"{indent}{entry}")
        return
    rest = _REST_OF_LINE.match(text, last.end)
    if not before.strip() and rest is not None:
        comma = rest[1]
        ended = f"{text[: last.end]}{'' if comma else ','}{text[last.end : rest.end()]}"
        yield _below(ended + text[rest.end() :], len(ended), f"{indent}{entry}{comma}")
    yield f"{text[: last.end]}, {entry}{text[last.end :]}"


def _below(text: str, end: int, line: str) -> str:
    """The text with a line below that which has the character before ``end``."""
    at = next(_LINE_END.finditer(text, end)).start()
    newline = "\r\n" if "\r\n" in text else "\n"
    return f"{text[:at]}{newline}{line}{text[at:]}"
