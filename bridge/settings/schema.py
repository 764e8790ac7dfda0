"""JSON Schema (2020-12) of the five kinds of file, from the models that read them.

A schema accepts what its model accepts; what only shows when files are read together (names,
pixels, units of a fact) is for ``lampwright check`` to say.
"""

from __future__ import annotations

from typing import Any, Final

from bridge.settings.dialect_file import DialectFile
from bridge.settings.fact_schemas import facts_schema, given_schema, raised_schema, when_schema
from bridge.settings.legend_file import LegendFile
from bridge.settings.reader_file import ReaderFile
from bridge.settings.rules_file import RulesFile
from bridge.settings.shapes import Keys
from bridge.settings.site_file import SiteFile

DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"
_MODELS: Final[dict[str, tuple[type[Keys], str]]] = {
    "site": (SiteFile, "site.yaml"),
    "rules": (RulesFile, "rules.yaml"),
    "legend": (LegendFile, "legend.yaml"),
    "reader": (ReaderFile, "readers/NAME.yaml"),
    "dialect": (DialectFile, "dialects/NAME.yaml"),
}


def schemas() -> dict[str, dict[str, Any]]:
    """By kind of file: ``site``, ``rules``, ``legend``, ``reader``, ``dialect``."""
    return {name: _schema(model, file) for name, (model, file) in _MODELS.items()}


def _schema(model: type[Keys], file: str) -> dict[str, Any]:
    made = _plain(model.model_json_schema(by_alias=True))
    _name_facts(model, made)
    return {"$schema": DRAFT, "title": file, **made}


def _name_facts(model: type[Keys], made: dict[str, Any]) -> None:
    """Put in the facts and their words, which the models only know as texts."""
    if model is RulesFile:
        _replace(made["$defs"]["Rule"], "when", when_schema())
        made["$defs"]["Raised"] = raised_schema()
        for name, key in (("Alarm", "when"), ("Prompt", "when"), ("Prompt", "until")):
            _replace(made["$defs"][name], key, {"$ref": "#/$defs/Raised"})
        _replace(made["$defs"]["Case"], "given", given_schema())
        del made["$defs"]["Test"], made["$defs"]["Severity"]
    if model is LegendFile:
        made["$defs"]["Scene"]["anyOf"] = [{"required": ["says", "colour"]}, {"required": ["like"]}]
    if model is ReaderFile:
        _replace(made, "facts", facts_schema(made["properties"]["facts"]["additionalProperties"]))
        form = made["$defs"]["Form"]
        _replace(form, "gives", facts_schema(form["properties"]["gives"]["additionalProperties"]))


def _replace(holder: dict[str, Any], key: str, schema: dict[str, Any]) -> None:
    described = {"description": holder["properties"][key]["description"]}
    holder["properties"][key] = {**schema, **described}


def _plain(node: Any) -> Any:  # noqa: ANN401 - what JSON holds
    """Without what the library adds: titles, nulls for keys left out, defaults that are models."""
    if isinstance(node, list):
        return [_plain(item) for item in node]
    if not isinstance(node, dict):
        return node
    kept = {key: value for key, value in node.items() if not _is_noise(key, value)}
    if "patternProperties" in node:
        kept["additionalProperties"] = False
    if "anyOf" in node and node.get("default", ...) is None:
        kept = _without_null(kept)
    for key, value in kept.items():
        if key in {"properties", "$defs", "patternProperties"}:
            kept[key] = {name: _plain(entry) for name, entry in value.items()}
        elif key not in {"default", "enum", "const"}:
            kept[key] = _plain(value)
    return kept


def _is_noise(key: str, value: object) -> bool:
    if key == "default":
        return value is None or value == "" or isinstance(value, dict)
    return key == "title" and isinstance(value, str)


def _without_null(node: dict[str, Any]) -> dict[str, Any]:
    """A key that may be left out may not be left empty."""
    others = [choice for choice in node["anyOf"] if choice != {"type": "null"}]
    rest = {key: value for key, value in node.items() if key != "anyOf"}
    if len(others) > 1:
        return {"anyOf": others, **rest}
    # What stands at the key itself says more than what stands at its type.
    return {**others[0], **rest}
