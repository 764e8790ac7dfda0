"""A request template compiled: filled in, it is one HTTP request, ready to be sent."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote, urlencode

from bridge.lights.dialect.codecs import Json
from bridge.lights.dialect.grammar import RequestTemplate
from bridge.lights.dialect.templates import (
    Compiled,
    Each,
    Repeat,
    Scope,
    Use,
    compile_template,
    text_form,
    text_parts,
)

#: What a literal path keeps as it is (RFC 3986 §3.3, and % for what is already encoded).
_PATH_SAFE: Final = "/%!$&'()*+,;=:@-._~?"
_CONTENT_TYPES: Final = {"json": "application/json", "form": "application/x-www-form-urlencoded"}


@dataclass(frozen=True, slots=True)
class Prepared:
    """One HTTP request: ``path`` with its query, percent-encoded."""

    method: str
    path: str
    headers: tuple[tuple[str, str], ...]
    body: bytes | None

    def __str__(self) -> str:
        body = "" if self.body is None else " " + self.body.decode("utf-8", "replace")
        return f"{self.method} {self.path}{body}"


class CompiledRequest:
    """A ``RequestTemplate`` with its texts compiled."""

    __slots__ = ("_headers", "body", "path", "query", "template")

    def __init__(self, template: RequestTemplate) -> None:
        self.template: Final = template
        self.path: Final = _compile_path(template.path)
        self.query: Final = {key: compile_template(value) for key, value in template.query.items()}
        self.body: Final = None if template.body is None else compile_template(template.body)
        self._headers: Final = _headers(template)

    @property
    def parts(self) -> tuple[tuple[tuple[str, ...], Compiled], ...]:
        """Every compiled part and the keys it stands under in the request."""
        return (
            (("path",), self.path),
            *((("query", key), query) for key, query in self.query.items()),
            *(((("body",), self.body),) if self.body is not None else ()),
        )

    @property
    def uses(self) -> tuple[Use, ...]:
        """Every placeholder."""
        return tuple(use for _, part in self.parts for use in part.uses)

    @property
    def names(self) -> frozenset[str]:
        """Every name it uses."""
        return frozenset(use.name for use in self.uses)

    @property
    def repeats(self) -> tuple[Repeat, ...]:
        """Every repetition."""
        return tuple(repeat for _, part in self.parts for repeat in part.repeats)

    def repeats_each(self, each: Each) -> bool:
        """Whether any part repeats that."""
        return any(repeat.each == each for repeat in self.repeats)

    def fill(self, scope: Scope) -> Prepared:
        """The request for that scope."""
        path = self.path.render(scope)
        if self.query:
            path += "?" + "&".join(
                f"{quote(key, safe='')}={quote(text_form(value.render(scope)), safe='')}"
                for key, value in self.query.items()
            )
        body = None if self.body is None else self._to_body(self.body.render(scope))
        return Prepared(self.template.method, path, self._headers, body)

    def _to_body(self, value: Json) -> bytes:
        return _as_form(value) if self.template.form == "form" else _as_json(value)


def _as_json(value: Json) -> bytes:
    # Without needless spaces: small boards have small buffers.
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()


def _as_form(value: Mapping[str, Json]) -> bytes:
    return urlencode({key: text_form(member) for key, member in value.items()}).encode()


def _headers(template: RequestTemplate) -> tuple[tuple[str, str], ...]:
    headers = dict(template.headers)
    if template.body is not None and "content-type" not in {key.lower() for key in headers}:
        headers["Content-Type"] = _CONTENT_TYPES[template.form]
    return tuple(headers.items())


def _compile_path(path: str) -> Compiled:
    """As a text, but what is filled in cannot leave its step of the path."""
    parts, faults = text_parts(path)
    pieces: list[Callable[[Mapping[str, Json]], str]] = [
        _filled(part.text) if part.is_name else _literal(part.text) for part in parts
    ]
    uses = tuple(Use((), part.text, (), len(parts) == 1) for part in parts if part.is_name)
    return Compiled(
        lambda scope: "".join(piece(scope.names) for piece in pieces),
        uses,
        (),
        tuple(((), fault) for fault in faults),
    )


def _literal(text: str) -> Callable[[Mapping[str, Json]], str]:
    encoded = quote(text, safe=_PATH_SAFE)
    return lambda _: encoded


def _filled(name: str) -> Callable[[Mapping[str, Json]], str]:
    return lambda names: quote(text_form(names[name]), safe="")
