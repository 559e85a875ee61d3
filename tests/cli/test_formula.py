"""Formulas written in TeX come out in letters that a terminal shows."""

from __future__ import annotations

import pytest

from simcore.formula import SIGNS, SPELLED, plain_formula

TOLD = {
    r"T = k(\varphi - x) + c\nu": "T = k(φ - x) + cν",
    r"C\dot\vartheta = P": "C dϑ/dt = P",
    r"\frac{a}{b_{12}}": "a/b_12",
    r"\frac12 k(\varphi \mp \beta)": "1/2 k(φ ∓ β)",
    r"\int|\dot\varphi_p|\,dt": "∫|dφ_p/dt| dt",
    r"\left\lceil\frac{t_n + t_{sensor}}{P} - \varphi\right\rceil P": "⌈(t_n + t_sensor)/P - φ⌉ P",
    r"\frac{qd}{3kA}\left(1 - \frac{6}{\pi^2}\sum_n \frac{1}{n^2}": "qd/(3kA) (1 - 6/π² Σ_n 1/n²",
    r"\sin^2\frac{\alpha\pi}{2}\,\frac{\sinh^2 a}{\sinh\left(2(1+\nu)a\right)}": "sin²(απ/2) sinh² a/sinh(2(1+ν)a)",
    r"r^2\sin^2\theta\cos 2\theta": "r² sin² θ cos 2θ",
    r"\dot T_c/k": "(dT_c/dt)/k",
    r"\frac{F^{0.9}}{L^{0.8}}": "F^0.9/L^0.8",
    r"e^{-\pi(g-g_0)/\tau_p}": "e^(-π(g-g_0)/τ_p)",
    r"\sqrt{J_1J_2}\,\sqrt x": "√(J_1 J_2) √x",
    r"R_i = \{0.145, 0.738\}\cdot 10^{-3}": "R_i = (0.145, 0.738) · 10⁻³",
    r"F = k d \text{ below the plateau}": "F = k d below the plateau",
    r"\mathrm{clip}\!\left(a\right), \qquad b": "clip(a),   b",
}


@pytest.mark.parametrize(("tex", "plain"), list(TOLD.items()))
def test_formulas_in_plain_letters(tex: str, plain: str) -> None:
    assert plain_formula(tex) == plain


def test_an_encoding_without_greek_gets_words() -> None:
    assert "½ φ_s² ≤ √2 Ж".encode("latin-1", "spelled") == b"\xbd phi_s\xb2 <= sqrt2 \\u0416"
    assert "Tν(1+αϑx) Gω_1".encode("ascii", "spelled") == b"T nu(1+alpha theta x) G omega_1"
    signs = "".join(SIGNS.values()) + "".join(SPELLED)
    spelled = signs.encode("ascii", "spelled").decode()
    assert "\\" not in spelled
    assert "omega" in spelled
