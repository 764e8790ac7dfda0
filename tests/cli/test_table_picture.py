"""The matrices as one picture."""

from __future__ import annotations

from itertools import pairwise

from bridge.check.matrix import Matrix, matrix_of
from bridge.cli.table_picture import table_picture
from bridge.scenes.scene import HAND_BACK
from bridge.scenes.strip import Strip
from bridge.settings.load import load_site
from tests.cli.commands import CONFIG

SITE = load_site(CONFIG)
MATRICES = [matrix_of(SITE, table) for table in SITE.tables.values()]


def test_each_cell_has_its_scene_s_look_before_its_name() -> None:
    """In the order of the matrix, as that sight sees it."""
    made = table_picture("x", SITE, MATRICES, "tritanopia", moving=True)
    cells = [name for matrix in MATRICES for _, scenes in matrix.rows for name in scenes]
    strips = {name: Strip(SITE.scenes[name], 4, sight="tritanopia") for name in cells}
    assert [each.frames for each in made.lights] == [strips[name].round() for name in cells]
    places = {(each.x, each.y): each.text for each in made.words}
    for name, lights in zip(cells, made.lights, strict=True):
        assert places[lights.x + 36, lights.y + 9] == name


def test_every_row_and_column_is_told() -> None:
    """Columns by their letters."""
    texts = {each.text for each in table_picture("x", SITE, MATRICES, "normal", moving=False).words}
    for matrix in MATRICES:
        assert {f"table {matrix.table}", *(label for label, _ in matrix.rows)} <= texts
        assert f"a: {matrix.columns[0]}" in texts


def test_columns_do_not_lie_on_each_other() -> None:
    """With long and short names alike, and all is on the picture."""
    made = table_picture("x", SITE, MATRICES, "normal", moving=False)
    rows: dict[int, list[tuple[int, str]]] = {}
    for each in made.words:
        rows.setdefault(each.y, []).append((each.x, each.text))
    for row in rows.values():
        ordered = sorted(row)
        for (x, text), (right, _) in pairwise(ordered):
            assert x + 6 * len(text) <= right
    assert max(x + 6 * len(text) for row in rows.values() for x, text in row) <= made.width
    assert max(rows) < made.height


def test_what_is_handed_back_has_no_look() -> None:
    """Only its name; where things stand still, there is one frame."""
    matrix = Matrix("loft", ("nothing wrong",), (("idle", (HAND_BACK,)), ("stopped", ("see-me",))))
    made = table_picture("x", SITE, [matrix], "normal", moving=False)
    assert [each.frames for each in made.lights] == [(Strip(SITE.scenes["see-me"], 4).at(0),)]
    assert HAND_BACK in [each.text for each in made.words]
