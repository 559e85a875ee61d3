"""Whole small lines against scipy's DOP853 at 1e-13, equations written out here once more."""

from __future__ import annotations

from math import radians

import numpy as np
import pytest
from lines import Line, Start, run
from scipy.integrate import solve_ivp


def test_motor_magnet_and_load():
    """Smooth nonlinear line: Kloss motor, damped magnet coupling, shaft, viscous load.  scipy DOP853."""
    line = Line()
    a, b, c = line.mass(0.01, 140.0, 0.05), line.mass(0.004, 120.0), line.mass(0.03, 125.0)
    motor = Start(mode=1, row={"peak": 40.0, "slip_k": 0.2})
    line.part("torque-speed motor", 0, a, start=motor, rated_power=1e3, rated_speed=150.0,
              synchronous_speed=157.0, inertia=1.0)  # fmt: skip
    magnet = line.part("magnet disc", a, b, setting=60.0, pole_pairs=3, start=Start(row={"c": 0.02}))
    shaft = line.part("shaft", b, c, stiffness=500.0, start=Start(row={"c": 0.01}))
    line.part("friction load", c, 0, running=0.0, viscous=0.1)
    r = run(line, 0.3)

    def slopes(t, y):
        s = 1 - y[3] / 157.0
        motor = 80.0 * s * 0.2 / (s * s + 0.04)
        pull = 60.0 * np.sin(3 * (y[0] - y[1])) + 0.02 * (y[3] - y[4])
        twist = 500.0 * (y[1] - y[2]) + 0.01 * (y[4] - y[5])
        return [y[3], y[4], y[5], (motor - pull) / 0.01, (pull - twist) / 0.004, (twist - 0.1 * y[5]) / 0.03]

    start = [0.05, 0.0, 0.0, 140.0, 120.0, 125.0]
    ref = solve_ivp(slopes, (0, 0.3), start, method="DOP853", rtol=1e-13, atol=1e-13, dense_output=True)
    assert r.out.y[1:4] == pytest.approx(ref.y[:3, -1], rel=1e-8)
    assert r.out.y[5:8] == pytest.approx(ref.y[3:, -1], rel=1e-8)
    grid = np.linspace(0.0, 0.3, 200_001)
    th = ref.sol(grid)
    twist = 500.0 * (th[1] - th[2]) + 0.01 * (th[4] - th[5])
    assert r.peak(shaft) == pytest.approx(np.abs(twist).max(), rel=1e-6)
    assert r.peak(magnet) > 0.0


def test_lash_rattles():
    """Two inertias rattling through a lash with damped flanks: every switch against scipy's event location,
    branch by branch."""
    half, k, c = radians(0.5), 3000.0, 1.5
    line = Line()
    a, b = line.mass(0.02, 5.0), line.mass(0.05, -1.0)
    joint = line.part("flexible coupling", a, b, stiffness=k, lash=2 * half, start=Start(mode=0, row={"c": c}))
    spring = line.part("shaft", b, 0, stiffness=400.0)
    r = run(line, 0.12)
    got = [(float(e[0]), int(e[4])) for e in r.out.events if e[1] == joint]
    ref = reference_rattle(half, k, c, 0.12)
    assert len(got) >= 6
    assert [m for _, m in got] == [m for _, m in ref]
    assert [t for t, _ in got] == pytest.approx([t for t, _ in ref], abs=2e-9)
    assert r.peak(spring) > 0.0


def reference_rattle(half, k, c, t_end):
    """Instants and new modes (0 open, 1 forward, 2 backward, 3 and 4 parted) by scipy alone."""
    side = {1: 1, 2: -1, 3: 1, 4: -1}

    def flank(m, y):
        return k * (y[0] - y[1] - side[m] * half) + c * (y[2] - y[3])

    def slopes(m):
        def f(t, y):
            T = flank(m, y) if m in (1, 2) else 0.0
            return [y[2], y[3], -T / 0.02, (T - 400.0 * y[1]) / 0.05]

        return f

    def exits(m):
        if m == 0:
            return [(lambda t, y: half - y[0] + y[1], 1), (lambda t, y: half + y[0] - y[1], 2)]
        s = side[m]
        if m < 3:
            return [(lambda t, y: s * flank(m, y), m + 2)]
        return [(lambda t, y: s * (y[0] - y[1]) - half, 0), (lambda t, y: -s * flank(m, y), m - 2)]

    t, y, m, out = 0.0, [0.0, 0.0, 5.0, -1.0], 0, []
    while True:
        watch = exits(m)
        fs = []
        for g, _ in watch:
            g.terminal, g.direction = True, -1
            fs.append(g)
        s = solve_ivp(slopes(m), (t, t_end), y, method="DOP853", rtol=1e-13, atol=1e-14, events=fs)
        if s.status == 0:
            return out
        i = next(j for j, te in enumerate(s.t_events) if len(te))
        t, y, m = float(s.t[-1]), s.y[:, -1], watch[i][1]
        out.append((t, m))
