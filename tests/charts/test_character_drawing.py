"""A part's own chart on paper: no word over another, units, shades, jumps, arrows, the same bytes."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from chart_boxes import outside, overlaps, words_of
from matplotlib.figure import Figure
from test_character import DRAWN, drawn
from toy_kinds import TOYS, slider

from simcore.charts.character import character_page, draw_character
from simcore.charts.character_data import CharacterData, character_data
from simcore.charts.draw import FORMATS, image
from simcore.charts.style import read_style
from simcore.parts import REGISTRY
from simcore.specimen import specimen

BY_GEOMETRY = {
    "faces": "2", "outer_diameter": "200 mm", "inner_diameter": "120 mm", "clamp_force": "4 kN", "friction": "0.3",
    "breakaway": "1.4", "tolerance": "25 %",
}  # fmt: skip
LARGE = [
    ("friction disc", BY_GEOMETRY),
    ("friction disc", {"setting": "0.8 N*m", "breakaway": "1", "stribeck_speed": "0 rad/s"}),
    ("ball detent", {"setting": "25 kN*m", "spring": "coil", "after_release": "ratchets", "pockets_every": "15 deg"}),
    ("ball detent", {"crest_torque": "0.96", "residual": "0.5"}),
    ("shear pins", {"setting": "3 N*m", "clearance": "0 deg", "twist_to_fracture": "0 deg"}),
    ("magnet disc", {"pole_pairs": "1", "tolerance": "90 %"}),
    ("rigid coupling", {"rated_torque": "2 MN*m"}),
]


@pytest.fixture(autouse=True)
def _styled():
    with read_style().active():
        yield


def data_of(name: str, **changes: str) -> CharacterData:
    return character_data(specimen(drawn(name), changes), "0.1.0")


@pytest.mark.parametrize(("name", "changes"), [*((n, {}) for n in DRAWN), *LARGE])
def test_no_word_covers_another_or_leaves_the_paper(name: str, changes: dict[str, str]) -> None:
    page = character_page(specimen(drawn(name), changes), "0.1.0")
    words = words_of(page)
    assert overlaps(page, words) == []
    assert outside(page, words) == []
    sizes = [t.get_fontsize() for t in page.findobj(lambda a: hasattr(a, "get_fontsize")) if t.get_text()]
    assert min(sizes) >= 6.0
    assert 25.4 * page.get_size_inches() == pytest.approx((180.0, 110.0))


@pytest.mark.parametrize("name", TOYS)
def test_toys_are_drawn_without_overlap(name: str) -> None:
    page = character_page(specimen(TOYS[name]), "0.1.0")
    assert overlaps(page) == []
    assert outside(page) == []


def test_words_of_the_page() -> None:
    page = character_page(specimen(REGISTRY["friction disc"], {"setting": "190 N*m"}), "0.1.0")
    text = " ".join(t for t, _ in words_of(page)).replace("\u00a0", " ")
    for part in (
        "Friction disc: slips at its torque, sticks again",
        "drawn for setting 190 N·m, all else default – lets go when torque reaches breakaway",
        "setting 190 N·m ±10 %", "breakaway 218 N·m", "cold, each slip speed held until it settles", "simcore 0.1.0",
        "slip speed (rpm)", "torque (N·m)", "slipping", "stiffness 25.3 kN·m/rad",
    ):  # fmt: skip
        assert part in text


@pytest.mark.parametrize(
    ("name", "changes", "x", "y"),
    [
        ("ball detent", {}, "twist (°)", "torque (N·m)"),
        ("rigid coupling", {}, "twist (mrad)", "torque (N·m)"),
        ("magnet disc", {"setting": "12 kN*m"}, "twist (°)", "torque (kN·m)"),
    ],
)
def test_axes_carry_fitting_units(name: str, changes: dict[str, str], x: str, y: str) -> None:
    data = data_of(name, **changes)
    assert (data.x_label, data.y_label) == (x, y)
    (ax,) = character_page(specimen(drawn(name), changes), "0.1.0").axes
    assert (ax.get_xlabel(), ax.get_ylabel()) == (x, y)


def test_shades_are_the_classes_along_the_way() -> None:
    data = data_of("ball detent")
    assert [s.klass for s in data.spans] == ["engaged", "yielding", "open"]
    assert data.spans[1].start == pytest.approx(0.25, rel=1e-3)
    assert data.spans[1].stop == pytest.approx(data.spans[2].start) == pytest.approx(4.25, rel=1e-3)
    one_way = character_data(specimen(TOYS["one way"]), "0")
    assert [s.klass for s in one_way.spans] == ["open", "engaged", "slipping"]
    assert character_data(specimen(slider()), "0").spans == ()


def test_shades_reach_where_only_the_leg_before_has_come() -> None:
    """A ratchet turned free over half a pitch and back to the tooth: open all the way, not blank."""
    data = character_data(specimen(REGISTRY["ratchet backstop"]), "0")
    low, high = (min(p[0].min() for t in data.traces for p in t.pieces), max(p[0].max() for t in data.traces
                                                                              for p in t.pieces))  # fmt: skip
    spans = sorted(data.spans, key=lambda s: s.start)
    assert spans[0].start == pytest.approx(low, abs=1e-6)
    assert spans[-1].stop == pytest.approx(high, rel=1e-6)
    assert all(a.stop == pytest.approx(b.start, abs=1e-9) for a, b in pairwise(spans))
    assert spans[0].klass == "open"
    assert {s.klass for s in spans} == {"open", "engaged", "broken"}


def test_a_jump_is_a_dotted_line_between_both_limits() -> None:
    data = data_of("ball detent")
    ((x, before, after),) = data.traces[0].steps
    assert (x, before, after) == pytest.approx((4.25, 52.5, 2.25), rel=1e-6)
    ax = draw_character(Figure().add_axes((0.2, 0.2, 0.6, 0.6)), data)
    dotted = [line for line in ax.lines if np.array_equal(line.get_xdata(), [x, x])]
    assert len(dotted) == 1
    assert list(dotted[0].get_ydata()) == [before, after]
    assert dotted[0].get_linestyle() not in ("-", "solid")


def test_levels_are_those_the_curve_comes_to() -> None:
    levels = {v.name: v for v in data_of("ball detent").levels}
    assert (levels["setting"].low, levels["setting"].high) == pytest.approx((142.5, 157.5))
    assert set(levels) == {"setting", "torque at the crest", "residual drag"}
    assert [v.name for v in data_of("universal joint").levels] == ["rated torque"]
    back = character_data(specimen(TOYS["one way back"]), "0").levels
    assert [v.value for v in back] == pytest.approx([-150.0])


def test_loops_tell_their_direction_and_differ_without_colour() -> None:
    data = character_data(specimen(slider()), "0")
    ax = draw_character(Figure().add_axes((0.1, 0.1, 0.8, 0.8)), data)
    heads = [a for a in ax.texts if getattr(a, "arrow_patch", None) is not None]
    assert len(heads) >= 6
    full, inner = (read_style().look(t.place) for t in data.traces)
    assert full.line != inner.line
    first = heads[0]
    assert first.xy[0] > first.xyann[0]


def test_curves_that_run_one_way_have_no_arrow_heads() -> None:
    ax = draw_character(Figure().add_axes((0.1, 0.1, 0.8, 0.8)), data_of("ball detent"))
    assert not [a for a in ax.texts if getattr(a, "arrow_patch", None) is not None]


def test_a_page_without_sheet_or_key_is_drawn() -> None:
    bare = replace(specimen(REGISTRY["rigid coupling"]), sheet={})
    assert overlaps(character_page(bare, "0")) == []


@pytest.mark.parametrize("form", FORMATS)
def test_same_part_same_bytes(form: str) -> None:
    a, b = (image(character_page(specimen(REGISTRY["friction disc"]), "0"), form, read_style()) for _ in range(2))
    assert a == b
    assert a.startswith({"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[form])
