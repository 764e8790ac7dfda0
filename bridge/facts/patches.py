"""JSON Merge Patch (RFC 7396)."""

from __future__ import annotations

from bridge.facts.places import Document


def merge_patch(target: Document, patch: Document) -> Document:
    """The document that ``patch`` makes of ``target``; neither is changed.

    RFC 7396 §2: objects are merged member by member, ``null`` removes, anything else replaces.
    The result may share parts with both.
    """
    if not isinstance(patch, dict):
        return patch
    merged = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            merged.pop(name, None)
        elif isinstance(value, dict):
            # Also where nothing is there yet: a null in a new object removes, it never stays.
            merged[name] = merge_patch(merged.get(name), value)
        else:
            merged[name] = value
    return merged
