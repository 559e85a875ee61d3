"""Colours: apart in grey, and apart for eyes that lack one kind of cone."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from simcore.charts.style import read_style

# sRGB to CIE XYZ, D65: IEC 61966-2-1; L*a*b*: CIE 15.
XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
# Full loss of one kind of cone, on linear RGB: Machado, Oliveira, Fernandes 2009 (coefficients from memory).
BLIND = {
    "protan": "0.152286 1.052583 -0.204868 0.114503 0.786281 0.099216 -0.003882 -0.048116 1.051998",
    "deutan": "0.367322 0.860646 -0.227968 0.280085 0.672501 0.047413 -0.011820 0.042940 0.968881",
    "tritan": "1.255528 -0.076749 -0.178779 -0.078411 0.930809 0.147602 0.004733 0.691367 0.303900",
}


def linear(color: str) -> np.ndarray:
    c = np.array([int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def lab(rgb: np.ndarray) -> np.ndarray:
    x = XYZ @ np.clip(rgb, 0, 1) / (XYZ @ np.ones(3))
    f = np.where(x > 216 / 24389, np.cbrt(x), (24389 / 27 * x + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def contrast(color: str) -> float:
    """Contrast with white paper, WCAG 2.1."""
    return 1.05 / (0.05 + float(XYZ[1] @ linear(color)))


COLORS = [look.color for look in read_style().looks]


def test_known_lightness():
    """Mid grey #777777 has L* = 50.0 (CIE 15)."""
    assert lab(linear("#777777"))[0] == pytest.approx(50.0, abs=0.1)


def test_lightness_differs_pairwise():
    light = [lab(linear(c))[0] for c in COLORS]
    first = [abs(a - b) for a, b in combinations(light[:4], 2)]
    assert min(first) > 11.0
    assert min(abs(a - b) for a, b in combinations(light, 2)) > 4.5


@pytest.mark.parametrize("kind", BLIND)
def test_apart_without_one_kind_of_cone(kind):
    seen = [lab(np.array(BLIND[kind].split(), dtype=float).reshape(3, 3) @ linear(c)) for c in COLORS]
    assert min(float(np.linalg.norm(a - b)) for a, b in combinations(seen, 2)) > 8.0


def test_verdicts_differ_in_lightness_and_for_every_eye():
    """Where candidates are many, colour says who passes; the marker says it too."""
    style = read_style()
    passes, fails = style.verdict_look(True), style.verdict_look(False)
    assert passes.marker != fails.marker
    assert abs(lab(linear(passes.color))[0] - lab(linear(fails.color))[0]) > 11.0
    for matrix in BLIND.values():
        seen = [lab(np.array(matrix.split(), dtype=float).reshape(3, 3) @ linear(x.color)) for x in (passes, fails)]
        assert float(np.linalg.norm(seen[0] - seen[1])) > 20.0
    assert min(contrast(passes.color), contrast(fails.color)) > 4.5


def test_first_four_stand_off_the_paper():
    assert min(contrast(c) for c in COLORS[:4]) > 2.7


def test_marker_and_line_together_never_repeat():
    looks = read_style().looks
    assert len({look.marker for look in looks}) == len(looks) == 8
    assert len({str(look.line) for look in looks}) >= 7


def test_shades_of_modes_and_cells_are_neutral():
    style = read_style()
    for key in ("class.yielding", "class.slipping", "class.open", "class.broken", "heat.high", "bare.color"):
        c = style.color(key)
        assert c[1:3] == c[3:5] == c[5:7]
