"""Forms: the named parts of a text."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.forms import FormError, compile_form


@pytest.mark.parametrize(
    ("form", "text", "parts"),
    [
        ("{layer} of {layers}", "12 of 40", {"layer": "12", "layers": "40"}),
        ("{layer} of {layers}", "  12  of\t40\n", {"layer": "12", "layers": "40"}),
        ("{layer} of {layers}", "12of40", None),
        ("{layer} of {layers}", "of 40", None),
        ("{layer} of {layers}", "12 of", None),
        ("{layer} of {layers}", "12 Of 40", None),
        ("{layer} of {layers}", "1 of 2 of 3", {"layer": "1", "layers": "2 of 3"}),
        ("course {layer}", "course 7", {"layer": "7"}),
        ("course {layer}", "coarse 7", None),
        ("course {layer}!", "course 7!", {"layer": "7"}),
        ("course {layer}!", "course 7", None),
        ("course {layer}!", "course !", None),
        ("{a}/{b}", "1/2", {"a": "1", "b": "2"}),
        ("{a}/{b}", "//", None),
        ("{a}/{b}", "///", {"a": "/", "b": "/"}),
        ("{_} {layer} {_}", "at 7 now", {"layer": "7"}),
        ("{_} {layer}", "at 7", {"layer": "7"}),
        ("{{{layer}}}", "{7}", {"layer": "7"}),
        ("{layer}", "", None),
        ("ab{layer}ba", "aba", None),
    ],
)
def test_match(form: str, text: str, parts: dict[str, str] | None) -> None:
    """Each part is the shortest text up to the words that follow; the last is all that is left."""
    compiled = compile_form(form)
    assert compiled.match(text) == parts
    assert compiled.match(text) == parts


@pytest.mark.parametrize(
    ("form", "problem"),
    [
        ("{a}{b}", "nothing between {a} and {b}"),
        ("{a", "without its other half"),
        ("a}", "without its other half"),
        ("{}", "lower-case letters"),
        ("{Layer}", "lower-case letters"),
        ("{a} {a}", "{a} twice"),
    ],
)
def test_what_is_no_form(form: str, problem: str) -> None:
    """The text is shown with what is wrong."""
    with pytest.raises(FormError) as caught:
        compile_form(form)
    assert str(caught.value).startswith(f"'{form}' ")
    assert problem in str(caught.value)


@pytest.mark.parametrize(
    ("form", "text", "parts"),
    [
        ("nothing  to do", "nothing to do", {}),
        ("nothing to do", "nothing to do yet", None),
        ("nothing to do", "", None),
        ("{_} of {_}", "3 of 4", {}),
    ],
)
def test_a_form_may_have_no_part(form: str, text: str, parts: dict[str, str] | None) -> None:
    """Then it is only known again."""
    assert compile_form(form).match(text) == parts


def test_names() -> None:
    """The parts in their order, without what is passed over."""
    assert compile_form("{b} {_} {a}").names == ("b", "a")


def test_a_long_text_is_matched_in_one_pass() -> None:
    """A text made to send a matcher back and forth costs one look at each character."""
    form = compile_form("{a}-{b}-{c}-{d}-{e}x")
    assert form.match("-" * 200_000) is None


WORD = st.text(st.characters(categories=["L", "N"]), min_size=1, max_size=8)


@given(st.lists(WORD, min_size=3, max_size=3))
def test_what_was_filled_in_is_found(words: list[str]) -> None:
    """Parts without the words between them come back as they were."""
    names = ("a", "b", "c")
    text = "<{}> [{}] ({})".format(*words)
    assert compile_form("<{a}> [{b}] ({c})").match(text) == dict(zip(names, words, strict=True))
