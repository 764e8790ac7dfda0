"""Merge patches: what RFC 7396's examples (tests/standards) do not say of their own accord."""

from __future__ import annotations

import copy

from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.patches import merge_patch
from bridge.facts.places import Document

NAMES = st.sampled_from(["a", "b", "c"])
PATCHES = st.recursive(
    st.none() | st.booleans() | st.integers(0, 3) | st.lists(st.none() | st.integers(0, 3)),
    lambda children: st.dictionaries(NAMES, children, max_size=3),
    max_leaves=12,
)


def _nulls(document: Document) -> bool:
    """Whether an object has a member that is null, lists left aside."""
    if not isinstance(document, dict):
        return False
    return any(value is None or _nulls(value) for value in document.values())


@given(PATCHES, PATCHES)
def test_neither_side_is_changed(target: Document, patch: Document) -> None:
    """The document that is held stays what it was until the new one takes its place."""
    before = copy.deepcopy((target, patch))
    merge_patch(target, patch)
    assert (target, patch) == before


@given(PATCHES, PATCHES)
def test_a_patch_twice_is_a_patch_once(target: Document, patch: Document) -> None:
    """A patch that is delivered twice does no harm."""
    once = merge_patch(target, patch)
    assert merge_patch(once, patch) == once


@given(PATCHES, PATCHES)
def test_no_null_is_left_by_a_patch(target: Document, patch: Document) -> None:
    """A null in a patch removes; it is never stored, at any depth."""
    if isinstance(patch, dict) and not _nulls(target):
        assert not _nulls(merge_patch(target, patch))


@given(PATCHES)
def test_the_empty_patch(target: Document) -> None:
    """It leaves an object alone and makes one of anything else."""
    assert merge_patch(target, {}) == (target if isinstance(target, dict) else {})
