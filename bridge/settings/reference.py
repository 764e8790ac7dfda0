"""Every key of every file as Markdown tables, from the same schemas that editors use."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any, Final, TypeAlias

from bridge.settings.reference_examples import EXAMPLES
from bridge.settings.schema import schemas
from bridge.settings.shapes import CREDENTIAL_PATTERN, NAME_PATTERN

#: What stands before the tables in ``config/README.md``, and what follows it to the end.
HEADING: Final = "## Every key"
#: A part of a schema, as JSON holds it.
Node: TypeAlias = Mapping[str, Any]

_PATTERNS: Final = {NAME_PATTERN: "name", CREDENTIAL_PATTERN: "name of a credential"}
#: The end of a pattern that is a number with one of these units.
_UNITS: Final = re.compile(r"^\^(?:-\?)?\[0-9\].* \?\((?P<units>[^()]+)\)\$$")
_RATE: Final = re.compile(r"^\^\[1-9\].*/\((?P<units>[^()]+)\)\$$")
_TYPES: Final = {
    "array": "list",
    "boolean": "true or false",
    "integer": "whole number",
    "null": "null",
    "number": "number",
    "object": "mapping",
    "string": "text",
}
_HEAD: Final = "| key | value | where left out | meaning |\n|---|---|---|---|"


def reference() -> str:
    """Markdown: a section a kind of file, a table and an example a mapping."""
    sections = [_section(schema, EXAMPLES[kind]) for kind, schema in schemas().items()]
    return "\n".join(sections)


def _section(schema: Node, examples: Mapping[str, str]) -> str:
    named: Mapping[str, Node] = schema.get("$defs", {})
    parts = [f"### `{schema['title']}`", _sentence(schema), *_part("", schema, named, examples)]
    for name, node in named.items():
        parts += [f"**{_words(name)}**: {_sentence(node)}", *_part(name, node, named, examples)]
    return "\n\n".join(parts) + "\n"


def _part(
    name: str, node: Node, named: Mapping[str, Node], examples: Mapping[str, str]
) -> Iterator[str]:
    yield from _tables("", node, named)
    if name in examples:
        yield f"```yaml\n{examples[name]}\n```"


def _tables(path: str, node: Node, named: Mapping[str, Node]) -> Iterator[str]:
    """The table of a mapping's keys, then those of the mappings that are written within it."""
    keys: Mapping[str, Node] = node.get("properties", {})
    later = [key for key, each in keys.items() if each.get("not") == {}]
    if len(later) < len(keys):
        required = node.get("required", ())
        rows = [
            _row(key, each, _meaning(each, named), required=key in required)
            for key, each in keys.items()
            if key not in later
        ]
        within = [f"Within `{path}`:"] if path else []
        yield "\n\n".join([*within, "\n".join([_HEAD, *rows])])
    if later:
        yield f"Not acted on by this version: {', '.join(f'`{key}`' for key in later)}."
    for key, each in keys.items():
        if "properties" in each:
            yield from _tables(f"{path}.{key}" if path else key, each, named)


def _meaning(node: Node, named: Mapping[str, Node]) -> str:
    """What a key is for, or what its value is where that says it."""
    return _sentence(node) or _sentence(named.get(_referred(node), {}))


def _row(key: str, node: Node, meaning: str, *, required: bool) -> str:
    absent = "must be there" if required else _default(node)
    value = "mapping, its keys below" if "properties" in node else _value(node)
    cells = (f"`{key}`", value, absent, meaning)
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _default(node: Node) -> str:
    default = node.get("default")
    if default is None or default in ("", [], {}):
        return ""
    return f"`{default if _is_text(default) else _json(default)}`"


def _json(value: object) -> str:
    """As it would be written in the file, where ``True`` and ``1.0`` would be odd."""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return json.dumps(value, ensure_ascii=False)


def _is_text(value: object) -> bool:
    return isinstance(value, str) and value == value.strip()


def _value(node: Node) -> str:
    """What may stand there, in words."""
    if "$ref" in node:
        return f"*{_words(_referred(node))}*"
    if "const" in node:
        const = node["const"]
        return f"`{const if _is_text(const) else _json(const)}`"
    if "enum" in node:
        return _or([f"`{each}`" for each in node["enum"]])
    choices = node.get("oneOf") or node.get("anyOf")
    if choices:
        return _choice(choices)
    return _typed(node)


def _referred(node: Node) -> str:
    """The name of the part that stands here, or nothing."""
    name: str = node.get("$ref", "").rpartition("/")[2]
    return name


def _choice(choices: list[Node]) -> str:
    words: list[str] = []
    for each in choices:
        alone = each.get("type") == "array" and each.get("items") in choices
        words.append("a list of these" if alone else _value(each))
    return _or(list(dict.fromkeys(words)))


def _typed(node: Node) -> str:
    kind = node.get("type")
    if isinstance(kind, list):
        return _or([_TYPES[each] for each in kind])
    match kind:
        case "object":
            return _mapping(node)
        case "array" if "items" in node:
            return f"list: {_value(node['items'])}"
        case "integer" | "number":
            return _TYPES[kind] + _range(node)
        case "string":
            return _text(node.get("pattern", ""))
    return _TYPES.get(str(kind), "anything")


def _mapping(node: Node) -> str:
    if "properties" in node:
        return f"mapping with {_or([f'`{key}`' for key in node['properties']])}"
    entries = node.get("additionalProperties")
    if "patternProperties" in node:
        (entries,) = node["patternProperties"].values()
        return f"mapping of names: {_value(entries)}"
    return f"mapping: {_value(entries)}" if isinstance(entries, dict) else "mapping"


def _range(node: Node) -> str:
    least, most = node.get("minimum"), node.get("maximum")
    if least is not None and most is not None:
        return f" from {least:g} to {most:g}"
    return f" from {least:g}" if least is not None else ""


def _text(pattern: str) -> str:
    if units := _UNITS.match(pattern):
        return f"number with {_or(units['units'].split('|'))}"
    if units := _RATE.match(pattern):
        return f"number with {_or([f'/{each}' for each in units['units'].split('|')])}"
    return _PATTERNS.get(pattern, "text")


def _or(words: list[str]) -> str:
    *others, last = words
    return f"{', '.join(others)} or {last}" if others else last


def _words(name: str) -> str:
    """The name of a part, as words."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).lower()


def _sentence(node: Node) -> str:
    first: str = node.get("description", "").partition("\n\n")[0]
    return first.replace("\n", " ").replace("``", "`")
