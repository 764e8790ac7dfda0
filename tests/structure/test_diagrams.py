"""The diagrams in DEVELOPERS.md are drawn from the tables that the bridge runs by."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from bridge.lights.standing import standing_diagram
from bridge.rules.alarm_states import diagram
from bridge.rules.prompt_states import prompt_diagram
from tests.structure.trees import ROOT


@pytest.mark.parametrize("drawn", [diagram, prompt_diagram, standing_diagram])
def test_the_diagram_is_the_table(drawn: Callable[[], str]) -> None:
    """Whoever changes a transition draws it anew: print the function's text into the page."""
    page = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    assert f"```mermaid\n{drawn()}```" in page
