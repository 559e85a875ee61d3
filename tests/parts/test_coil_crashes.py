"""Crashes of magnetic particle and hysteresis clutch with changing currents against solutions written anew for scipy
(DOP853 at 1e-11)."""

from __future__ import annotations

from math import cos, inf, pi, radians, sin
from typing import NamedTuple

import numpy as np
import pytest
from lines import Line, pull, run
from scipy.integrate import solve_ivp
from states import FADES

PARTICLE, HYSTERESIS = "magnetic particle clutch", "magnetic hysteresis clutch"


class Coil:
    """Current of the two crashes, written anew: L*i' + R*i = R*i_s(t), and torque by current."""

    def __init__(self, S: float, rest: float, currents: dict = FADES) -> None:
        self.S, self.rest, self.s = S, rest, 1.0 / 1.4
        self.times, self.set = currents["current_times"], currents["currents"]

    def wanted(self, t: float, piece: int) -> float:
        if piece == 0:
            return self.set[0]
        if piece == len(self.times) or self.times[piece] == self.times[piece - 1]:
            return self.set[piece - 1]
        t0, t1 = self.times[piece - 1], self.times[piece]
        return self.set[piece - 1] + (self.set[piece] - self.set[piece - 1]) * (t - t0) / (t1 - t0)

    def rate(self, t: float, i: float, piece: int) -> float:
        return (self.wanted(t, piece) - i) * 20.0 / 0.4

    def torque(self, i: float) -> float:
        A = (1.0 + self.s**4) ** 0.25
        return self.S * (self.rest + (1.0 - self.rest) * A * i / (1.0 + (self.s * i) ** 4) ** 0.25)

    def slope(self, i: float) -> float:
        A = (1.0 + self.s**4) ** 0.25
        return self.S * (1.0 - self.rest) * A / (1.0 + (self.s * i) ** 4) ** 1.25


def reached(g, t, y, slope) -> bool:
    """Whether a guard is at zero, but for rounding, and falling: the library sees a crossing only from above."""
    return abs(g(t, y)) < 1e-10 and g(t, y + 1e-6 * np.asarray(slope)) < -1e-8


def hybrid(rate, events, switch, y, mode, coil, t_end):
    """Integrate piece by piece; gives the instants of all switches, the modes entered, and the end.

    ``events(mode)`` lists (name, function of t, y) that fall through zero; ``switch`` gives the new mode.
    """
    t, piece, log = 0.0, 0, []
    while t < t_end:
        corner = coil.times[piece] if piece < len(coil.times) else inf
        if t >= corner:
            piece += 1
            continue
        past = [name for name, g in events(mode, piece) if g(t, y) < -1e-9]
        if past:  # so from the switch or the corner that led here
            mode = switch(past[0], t, y, mode, piece)
            log.append((t, mode))
            continue
        found = []
        for _, g in events(mode, piece):
            f = lambda s, v, g=g: g(s, v)
            f.terminal, f.direction = True, -1.0
            found.append(f)
        sol = solve_ivp(lambda s, v, m=mode, p=piece: rate(s, v, m, p), (t, min(t_end, corner)), y, "DOP853",
                        rtol=1e-11, atol=1e-13, events=found, max_step=2e-3)  # fmt: skip
        t, y = float(sol.t[-1]), sol.y[:, -1].copy()
        hit = [j for j, at in enumerate(sol.t_events or []) if len(at)]
        if hit:
            name = events(mode, piece)[hit[0]][0]
            ties = [n for n, g in events(mode, piece) if n != name and reached(g, t, y, rate(t, y, mode, piece))]
            for each in (name, *ties):
                mode = switch(each, t, y, mode, piece)
                log.append((t, mode))
    return log, y


def test_particle_crash_against_scipy():
    """Inertia 0.6 at 9 rad/s pushed on with 40 N*m into a held clutch of 190 N*m whose current fades and returns."""
    coil, k = Coil(190.0, 0.02), 5200.0
    c = 0.25 * k / (2.0 * pi * 60.0)
    cap = lambda y: coil.torque(y[3])
    slip = lambda t, y, p: y[1] - coil.slope(y[3]) * coil.rate(t, y[3], p) / k

    def rate(t, y, mode, piece):  # angle, speed, slip angle, current, heat
        z = y[0] - y[2]
        T = k * z + c * y[1] if mode == "stuck" else cap(y)
        x = slip(t, y, piece) if mode == "sliding" else 0.0
        heat = {"stuck": c * y[1] ** 2, "winding": (cap(y) - k * z) * y[1], "sliding": T * x}[mode]
        return [y[1], (40.0 - T) / 0.6, x, coil.rate(t, y[3], piece), heat]

    def events(mode, piece):
        wound = lambda t, y: cap(y) - k * (y[0] - y[2])
        whole = lambda t, y: k * (y[0] - y[2]) + c * y[1]
        return {
            "stuck": [("yields", lambda t, y: cap(y) - whole(t, y))],
            "winding": [("wound up", wound), ("holds", lambda t, y: whole(t, y) - cap(y))],
            "sliding": [("stops", lambda t, y: slip(t, y, piece))],
        }[mode]

    def switch(name, t, y, mode, piece):
        if name == "stops":
            return "winding" if y[1] > 1e-9 else "stuck"
        return {"yields": "winding", "wound up": "sliding", "holds": "stuck"}[name]

    log, y = hybrid(rate, events, switch, np.array([0.0, 9.0, 0.0, 1.0, 0.0]), "stuck", coil, 0.35)
    line = Line()
    n = line.mass(0.6, 9.0)
    e = line.part(PARTICLE, n, 0, setting=190.0, stiffness=k, relative_damping=0.25, **FADES)
    pull(line, n, 40.0)
    r = run(line, 0.35, rtol=1e-8, w1=60.0)
    modes = {0: "stuck", 1: "winding", 3: "sliding"}
    own = [(v[0], modes[int(v[4])]) for v in r.out.events if v[1] == e and v[2] >= 0]
    assert [m for _, m in own] == [m for _, m in log]
    assert len(log) >= 5
    assert [t for t, _ in own] == pytest.approx([t for t, _ in log], abs=1e-6)
    assert r.heat(e)[-1] == pytest.approx(y[4], rel=1e-6)
    assert r.angle(n)[-1] == pytest.approx(y[0], rel=1e-6)
    assert r.residual < 1e-6


REVERSES = FADES | {"current_times": (0.04, 0.04, 0.25, 0.25), "currents": (1.0, -0.45, -0.45, -0.2)}
OVERWRITES = REVERSES | {"currents": (1.0, -1.1, -1.1, -0.2)}


class Ring(NamedTuple):
    """What a piece of the crash is about: senses of the sliding elements, sign of the current, the print's place, the
    torques it was printed from and is overwritten up to."""

    slides: tuple[int, ...]
    way: float = 1.0
    prints: bool = False
    against: float = 1.0
    place: float = 0.0
    over: bool = False
    top: float = 0.0
    deepest: float = 0.0


class HysteresisCrash:
    """Inertia 0.02 pushed on with 3 N*m into a held clutch of 10 N*m whose current changes.

    The eight wind-ups are states of their own: angle, speed, current, heat, supply, ripple, wind-ups.
    """

    N, twist, pairs, kappa, over = 8, radians(10.0), 6.0, 0.07, radians(240.0)

    def __init__(self, currents: dict) -> None:
        self.coil = Coil(10.0, 0.015, currents)
        self.gives = self.twist * (np.arange(self.N) + 0.5) / self.N
        self.k, self.c = 20.0 / (self.N * self.twist), 10.0 * 0.0005

    def energy(self, A, y, m):
        return A / self.pairs * (1.0 - m.against * cos(self.pairs * (y[0] - m.place)))

    def change(self, t, y, m, piece):
        """Of the torque's size with time [N*m/s]."""
        return self.coil.slope(m.way * y[2]) * m.way * self.coil.rate(t, y[2], piece)

    def opposed(self, y, m):
        """Current against the pattern."""
        return max(0.0, -m.way * y[2] * m.against * cos(self.pairs * (y[0] - m.place)))

    def opposes(self, t, y, m, piece):
        """Its change with time."""
        x = self.pairs * (y[0] - m.place)
        grown = self.coil.rate(t, y[2], piece) * cos(x) - y[2] * sin(x) * self.pairs * y[1]
        return -m.way * m.against * grown

    def rate(self, t, y, m, piece):
        moves, z = np.array(m.slides) == 0, y[6:]
        f = self.coil.torque(m.way * y[2]) / 10.0
        T = f * (self.k * z.sum() + self.c * y[1])
        T += m.against * y[5] * sin(self.pairs * (y[0] - m.place))
        df = self.change(t, y, m, piece) / 10.0
        fall = y[5] * m.way * y[2] * abs(y[1]) * self.pairs / self.over if all(m.slides) else 0.0
        if m.over:
            lost = self.coil.slope(self.opposed(y, m)) * self.opposes(t, y, m, piece)
            fall = y[5] * lost / (m.top - self.coil.torque(self.opposed(y, m)))
        grows = -self.kappa * 10.0 * df if m.prints else 0.0
        heat = f * (self.k * z[~moves].sum() + self.c * y[1]) * y[1] + self.energy(fall, y, m)
        supply = 0.5 * self.k * df * (z @ z) + self.energy(grows, y, m)
        di = self.coil.rate(t, y[2], piece)
        return np.r_[y[1], (3.0 - T) / 0.02, di, heat, supply, grows - fall, np.where(moves, y[1], 0.0)]

    def events(self, m, piece):
        out = []
        for j, s in enumerate(m.slides):
            if s == 0:
                out.append(((j, 1), lambda t, y, j=j: self.gives[j] - y[6 + j]))
                out.append(((j, -1), lambda t, y, j=j: self.gives[j] + y[6 + j]))
        if any(m.slides):
            s = next(s for s in m.slides if s)
            out.append(("turns", lambda t, y: s * y[1]))
        if self.coil.wanted(self.coil.times[0], piece) * m.way < 0.0:  # only steps change the sign
            out.append(("reversed", lambda t, y: m.way * y[2]))
        if m.prints:
            out.append(("taken back", lambda t, y: y[5]))
        elif m.over:
            out.append(("ebbs", lambda t, y: self.opposes(t, y, m, piece)))
            out.append(("gone", lambda t, y: m.top - self.coil.torque(self.opposed(y, m))))
        elif m.top and not all(m.slides):
            out.append(("outdone", lambda t, y: m.deepest + 1e-8 - self.coil.torque(self.opposed(y, m))))
        if not m.prints and not m.over and not all(m.slides):
            stronger = lambda y: self.kappa * self.coil.torque(m.way * y[2]) > y[5]
            fall = lambda t, y: 1e-3 + m.way * self.coil.rate(t, y[2], piece)
            out.append(("falls", lambda t, y: fall(t, y) if stronger(y) else 1.0))
        return out

    def switch(self, name, t, y, m, piece):
        if name == "turns":
            return m._replace(slides=(0,) * self.N)
        if name == "reversed":
            flipped = m._replace(way=-m.way, against=-m.against, prints=False)
            y[4] += self.energy(y[5], y, flipped) - self.energy(y[5], y, m)
            return flipped
        if name == "taken back":
            y[5] = 0.0
            return m._replace(prints=False)
        if name == "falls":
            y[3] += self.energy(y[5], y, m)
            y[5] = 0.0
            top = self.coil.torque(m.way * y[2])
            return m._replace(prints=True, against=1.0, place=y[0], top=top, deepest=self.coil.torque(0.0))
        if name == "outdone":
            met = self.coil.torque(self.opposed(y, m))
            left = max(0.0, (m.top - met) / (m.top - m.deepest))
            y[3] += self.energy((1.0 - left) * y[5], y, m)
            y[5] *= left
            return m._replace(over=left > 0.0 and self.opposes(t, y, m, piece) > 0.0, deepest=met)
        if name == "gone":
            y[5] = 0.0
            return m._replace(over=False, top=0.0)
        if name == "ebbs":
            return m._replace(over=False, deepest=self.coil.torque(self.opposed(y, m)))
        y[6 + name[0]] = name[1] * self.gives[name[0]]
        slides = (*m.slides[: name[0]], name[1], *m.slides[name[0] + 1 :])
        full = all(slides)
        met = self.coil.torque(self.opposed(y, m)) if m.over and full else m.deepest
        return m._replace(slides=slides, prints=m.prints and not full, over=m.over and not full, deepest=met)


@pytest.mark.parametrize(
    ("currents", "prints"), [(FADES, 2), (REVERSES, 1), (OVERWRITES, 2)], ids=["fades", "reverses", "overwrites"]
)
def test_hysteresis_crash_against_scipy(currents, prints):
    """Slips, sticks, prints poles, turns its field, ripples, wipes: every instant, heat, supply's work and ripple.

    Reversed to 45 % the field overwrites a part of the pattern of full current and prints none when it falls in turn;
    from 110 % on nothing of it is left, and it prints anew.
    """
    model = HysteresisCrash(currents)
    start = np.r_[0.0, 9.0, 1.0, 0.0, 0.0, 0.0, np.zeros(model.N)]
    log, y = hybrid(model.rate, model.events, model.switch, start, Ring((0,) * model.N), model.coil, 0.35)
    line = Line()
    n = line.mass(0.02, 9.0)
    e = line.part(HYSTERESIS, n, 0, setting=10.0, ripple=model.kappa, wiped_over=model.over, **currents)
    pull(line, n, 3.0)
    r = run(line, 0.35, rtol=1e-8)
    own = [v for v in r.out.events if v[1] == e and v[2] >= 0]
    assert [v[4] == 0 for v in own] == [not all(m.slides) for _, m in log]
    assert any(all(m.slides) for _, m in log)
    assert len({m.place for _, m in log if m.prints}) == prints
    assert sum(not any(m.slides) for _, m in log) >= 2
    assert any(m.way < 0.0 for _, m in log) == (currents is not FADES)
    assert [v[0] for v in own] == pytest.approx([t for t, _ in log], abs=1e-6)
    assert r.heat(e)[-1] == pytest.approx(y[3], rel=1e-6)
    assert r.state(e, 2)[-1] == pytest.approx(y[4], rel=1e-6)
    assert r.state(e, 3)[-1] == pytest.approx(y[5], rel=1e-6, abs=1e-9)
    assert r.state(e, 3).max() > 0.1
    assert r.residual < 1e-6
