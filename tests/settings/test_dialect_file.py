"""The model of ``dialects/NAME.yaml``: templates."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from bridge.settings.dialect_file import PathText, Template

TEMPLATES = [
    {"paint": "{colour}"},
    ["{number}", {"each": "pixel", "put": "{colour}"}],
    {"blink": None},
    {"number": None, "first": None},
    "{number}",
    None,
]


@pytest.mark.parametrize("template", TEMPLATES)
def test_a_template_is_any_data(template: object) -> None:
    """A null takes a member away where it is merged (RFC 7396)."""
    assert TypeAdapter(Template).validate_python(template) == template


UNQUOTED = [{"number": None}, {"a": {"colour": None}}, [{"first": None}], {"ease": {"fade": None}}]


@pytest.mark.parametrize("template", UNQUOTED)
def test_a_placeholder_without_quotes_is_seen(template: object) -> None:
    """YAML reads {number} as a mapping, and would send it so."""
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(Template).validate_python(template)
    assert "put it in quotes" in caught.value.errors()[0]["msg"]


PATHS = [("/a", True), ("/a/{number}", True), ("a", False), ("/a b", False), ("/a?b", False)]


@pytest.mark.parametrize(("path", "right"), PATHS)
def test_a_path_is_one(path: str, right: bool) -> None:
    """What is asked goes under query."""
    try:
        TypeAdapter(PathText).validate_python(path)
    except ValidationError:
        assert not right
    else:
        assert right
