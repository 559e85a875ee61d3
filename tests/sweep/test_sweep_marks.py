"""Names stand nearest to their own marks, and a map tells what it counted."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from sweep_samples import made

from simcore.charts.metrics import LEADING, width
from simcore.charts.style import read_style
from simcore.charts.sweep_labels import place_names
from simcore.charts.sweep_map_data import map_data
from simcore.sweep.decide import decide

STYLE = read_style()
SIDE = 144.0
"""Points of the axis, which runs from 0 to this in data as well."""


def axis() -> Axes:
    """An axis that fills its figure, one unit a point."""
    figure = Figure(figsize=(SIDE / 72.0, SIDE / 72.0))
    FigureCanvasAgg(figure)
    ax = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    ax.set_xlim(0.0, SIDE)
    ax.set_ylim(0.0, SIDE)
    return ax


def named(*marks: tuple[str, float, float]) -> dict[str, tuple[float, float, float, float]]:
    """Boxes of the words that were written, one mark a name [points]."""
    with STYLE.active():
        ax = axis()
        points = [(np.array([x]), np.array([y])) for _, x, y in marks]
        place_names(ax, [(n, i, *points[i]) for i, (n, _, _) in enumerate(marks)], points, STYLE)
        out = {}
        for t in (t for t in ax.texts if t.get_text()):
            (x, y), high = t.xy, STYLE.small * LEADING
            out[t.get_text()] = (x, y - 0.5 * high, x + width(t.get_text(), STYLE.small), y + 0.5 * high)
        return out


def away(box: tuple[float, float, float, float], x: float, y: float) -> float:
    return float(np.hypot(max(box[0] - x, 0.0, x - box[2]), max(box[1] - y, 0.0, y - box[3])))


def test_a_name_at_the_edge_does_not_stand_beside_its_neighbour_s_mark() -> None:
    """The right mark is at the edge, the left one just beside it: left of both would be read as the left one's."""
    boxes = named(("pins", 120.0, 60.0), ("detent that is at the edge", 130.0, 59.0))
    assert "pins" in boxes
    for name, own, other in (("pins", (120.0, 60.0), (130.0, 59.0)),
                             ("detent that is at the edge", (130.0, 59.0), (120.0, 60.0))):  # fmt: skip
        if name in boxes:
            assert away(boxes[name], *own) < away(boxes[name], *other)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(5.0, 139.0), st.floats(5.0, 139.0)), min_size=2, max_size=5))
def test_every_name_is_nearest_to_its_own_mark(at: list[tuple[float, float]]) -> None:
    marks = [(f"mark {i}", x, y) for i, (x, y) in enumerate(at)]
    boxes = named(*marks)
    for name, x, y in marks:
        if name in boxes:
            assert all(away(boxes[name], x, y) < away(boxes[name], u, v) for n, u, v in marks if n != name)


def test_the_first_mark_with_room_takes_the_name() -> None:
    corner, free = np.array([143.0, 70.0]), np.array([72.0, 70.0])
    others = (np.array([133.0, 143.0, 133.0]), np.array([80.0, 82.0, 62.0]))
    with STYLE.active():
        ax = axis()
        place_names(ax, [("disc", 0, corner, free)], [(corner, free), others], STYLE)
        (text,) = [t for t in ax.texts if t.get_text()]
    assert abs(text.xy[0] - 70.0) < 40.0


def test_the_map_counts_its_points() -> None:
    result = made(1, 400, allowable=300.0)
    data = map_data(result, decide(result))
    peaks = data.maps[0].peak
    known, over = int(np.isfinite(peaks).sum()), int((peaks > 300.0).sum())
    assert 0 < over < known
    assert data.frame.title.endswith(f"at {over} of the {known} points of this map")
    assert "%" not in data.frame.title
    far = made(1, 400, allowable=1e4)
    assert map_data(far, decide(far)).frame.title.endswith("nowhere on this map")


@pytest.mark.parametrize("x", [5.0, 139.0])
def test_a_lone_mark_at_an_edge_has_its_name(x: float) -> None:
    assert named(("lone mark", x, 70.0))
