"""A small hybrid integrator for reference solutions: nodes, elements with modes, dry friction that sticks.

Nothing here calls the simulator.  A *system* holds nodes (node 0 is the ground) and elements; between two
switches its modes are fixed and a library integrator runs (see :mod:`.engines`); at a root
of a guard the switches due there are followed until every mode agrees with the state.

State: angles (nn), speeds (nn), own states of the elements, power lost by every element, slip angle of
every element that slips, power of the sources.
"""

from __future__ import annotations

from math import inf

import numpy as np

LOOK = 1e-9
"""Look-ahead [s] that tells whether a guard falls."""
PASSES = 40


class Element:
    """One law between hubs a and b (node numbers), turning ``ra`` and ``rb`` times as fast as the nodes.

    Guards are positive inside the mode; ``size`` of a guard tells rounding noise from a crossing.
    """

    nx = 0
    tie = True
    source = False

    def __init__(self, name: str, a: int, b: int = 0, ra: float = 1.0, rb: float = 1.0) -> None:
        self.name, self.a, self.b, self.ra, self.rb = name, a, b, ra, rb
        self.mode = "working"
        self.tally = 0

    def begin(self) -> list[float]:
        """Own states at the start."""
        return [0.0] * self.nx

    def torque(self, t, phi, nu, wb, x):
        return 0.0

    def loss(self, T, phi, nu, wb, x):
        return 0.0

    def store(self, phi, x):
        return 0.0

    def rates(self, T, phi, nu, x):
        return ()

    def guards(self, t, T, phi, nu, wb, x):
        return ()

    def sizes(self):
        return ()

    def clock(self):
        return inf

    def dry(self, T):
        """Dry friction of the ground on hub a: hold backward, hold forward, run backward, run forward."""
        return None

    def switch(self, i, t, T, phi, nu, wb, x):
        """New mode and heat [J]; ``i`` is the guard, -1 the clock; may write own states ``x``."""
        return self.mode, 0.0

    def klass(self) -> str:
        """'engaged', 'yielding', 'slipping', 'open' or 'broken'."""
        return "engaged"


class System:
    """Nodes with inertia ``J`` (``J[0]`` is the ground's, unused) and elements."""

    def __init__(self, nodes: list[str], J: list[float], elements: list[Element]) -> None:
        self.nodes, self.J, self.elements = nodes, J, elements
        self.nn = len(nodes)
        self.x0 = []
        j = 2 * self.nn
        for e in elements:
            self.x0.append(j)
            j += e.nx
        self.heat0 = j
        self.slip0 = j + len(elements)
        self.work = self.slip0 + len(elements)
        self.size = self.work + 1
        dry = {e.a for e in elements if e.dry(0.0) is not None}
        self.account: list[int | None] = [0 if n in dry else None for n in range(self.nn)]
        self.booked = [0.0] * len(elements)
        self.log: list[tuple[float, str, str, str, int]] = []
        self._memo = (None, None, None)

    def start(self) -> list[float]:
        y = [0.0] * self.size
        for e, x0 in zip(self.elements, self.x0, strict=True):
            y[x0 : x0 + e.nx] = e.begin()
        return y

    def motion(self, e: Element, y):
        nn = self.nn
        wb = e.rb * y[nn + e.b]
        return e.ra * y[e.a] - e.rb * y[e.b], e.ra * y[nn + e.a] - wb, wb

    def evaluate(self, t, y):
        """Slopes, torques, net torque and holding friction of every node."""
        nn, acc = self.nn, self.account
        dy = [0.0] * self.size
        net, low, high = [0.0] * nn, [0.0] * nn, [0.0] * nn
        torques = []
        source = 0.0
        for i, e in enumerate(self.elements):
            phi, nu, wb = self.motion(e, y)
            x = y[self.x0[i] : self.x0[i] + e.nx]
            T = e.torque(t, phi, nu, wb, x)
            torques.append(T)
            net[e.a] -= e.ra * T
            net[e.b] += e.rb * T
            lost = e.loss(T, phi, nu, wb, x)
            if e.source and lost < 0.0:
                source -= lost
            dry = e.dry(T)
            if dry is not None:
                r, n = abs(e.ra), e.a
                low[n] += r * dry[0]
                high[n] += r * dry[1]
                if acc[n] == 1:
                    net[n] -= r * dry[3]
                    lost += r * dry[3] * y[nn + n]
                elif acc[n] == -1:
                    net[n] += r * dry[2]
                    lost -= r * dry[2] * y[nn + n]
            dy[self.x0[i] : self.x0[i] + e.nx] = e.rates(T, phi, nu, x)
            dy[self.heat0 + i] = lost
            if e.klass() in ("slipping", "open", "broken"):
                dy[self.slip0 + i] = abs(nu)
        dy[self.work] = source
        for n in range(1, nn):
            dy[n] = y[nn + n]
            if acc[n] != 0:
                dy[nn + n] = net[n] / self.J[n]
        return dy, torques, net, low, high

    def rhs(self, t, y):
        return np.array(self.evaluate(t, y.tolist())[0])

    def guards(self, t, y) -> list[float]:
        """All guards of the present modes: elements in order, then nodes with dry friction."""
        if self._memo[0] == t and self._memo[1] is y:
            return self._memo[2]
        z = y.tolist() if isinstance(y, np.ndarray) else y
        _, torques, net, low, high = self.evaluate(t, z)
        out = []
        for i, e in enumerate(self.elements):
            phi, nu, wb = self.motion(e, z)
            x = z[self.x0[i] : self.x0[i] + e.nx]
            out.extend(e.guards(t, torques[i], phi, nu, wb, x))
        for n in range(self.nn):
            s = self.account[n]
            if s == 0:
                out.append(net[n] + low[n])
                out.append(high[n] - net[n])
            elif s is not None:
                out.append(s * z[self.nn + n])
        self._memo = (t, y, out)
        return out

    def owners(self) -> list[tuple[int, int, float]]:
        """Owner (element, or -1 - node), number and size of every guard."""
        out = []
        for i, e in enumerate(self.elements):
            out += [(i, k, s) for k, s in enumerate(e.sizes())]
        for n in range(self.nn):
            s = self.account[n]
            if s == 0:
                out += [(-1 - n, 0, 1.0), (-1 - n, 1, 1.0)]
            elif s is not None:
                out.append((-1 - n, 0, 1.0))
        return out

    def due(self, t, y) -> tuple[dict[int, int], list[float]]:
        """Owner -> guard of everything that must switch now, and the net torques a moment ahead."""
        self._memo = (None, None, None)
        g = list(self.guards(t, y))
        dy = self.evaluate(t, y)[0]
        ahead = [a + LOOK * b for a, b in zip(y, dy, strict=True)]
        g2 = self.guards(t + LOOK, ahead)
        net = self.evaluate(t + LOOK, ahead)[2]
        out: dict[int, int] = {}
        for (who, k, size), a, b in zip(self.owners(), g, g2, strict=True):
            falls = b - a < -1e-13 * size
            if who not in out and (a < -1e-6 * size or (a <= 1e-9 * size and falls)):
                out[who] = k
        for i, e in enumerate(self.elements):
            if e.clock() <= t:
                out[i] = -1
        return out, net

    def settle(self, t, y) -> None:
        """Follow all switches due at ``t``; writes ``y`` (a list)."""
        for _ in range(PASSES):
            todo, _ = self.due(t, y)
            if not todo:
                return
            torques = self.evaluate(t, y)[1]
            for who, k in sorted(todo.items()):
                if who >= 0:
                    self._switch_element(who, k, t, torques[who], y)
            for who in todo:
                if who < 0:
                    self._switch_node(-1 - who, t, y)
        raise RuntimeError(f"endless chain at {t}: {self.log[-8:]}")

    def _switch_element(self, i, k, t, T, y) -> None:
        e = self.elements[i]
        phi, nu, wb = self.motion(e, y)
        x = y[self.x0[i] : self.x0[i] + e.nx]
        old = e.mode
        new, heat = e.switch(k, t, T, phi, nu, wb, x)
        y[self.x0[i] : self.x0[i] + e.nx] = x
        e.mode = new
        self.booked[i] += heat
        if k >= 0 or old != new:
            self.log.append((t, e.name, old, new, k))

    def _switch_node(self, n, t, y) -> None:
        old = self.account[n]
        self.account[n] = 0
        if old != 0:
            y[self.nn + n] = 0.0
        _, _, net, low, high = self.evaluate(t, y)
        new = 0
        if net[n] > high[n] * (1 + 1e-12) or net[n] < -low[n] * (1 + 1e-12):
            new = 1 if net[n] > 0.0 else -1
        elif old == 0:
            dy = self.evaluate(t, y)[0]
            ahead = [a + LOOK * b for a, b in zip(y, dy, strict=True)]
            new = 1 if self.evaluate(t + LOOK, ahead)[2][n] > 0.0 else -1
        self.account[n] = new
        if new != old:
            self.log.append((t, "node " + self.nodes[n], WORDS[old], WORDS[new], 0))

    def next_clock(self) -> float:
        return min(e.clock() for e in self.elements)

    def energy(self, y) -> float:
        """Kinetic and stored energy [J]."""
        total = sum(0.5 * self.J[n] * y[self.nn + n] ** 2 for n in range(1, self.nn))
        for i, e in enumerate(self.elements):
            total += e.store(self.motion(e, y)[0], y[self.x0[i] : self.x0[i] + e.nx])
        return total


WORDS = {1: "runs forward", -1: "runs backward", 0: "stands"}


def steady(system: System, ratio: list[float], guess: float, offsets: dict[int, float] | None = None):
    """Steady running by Newton's method: all nodes turn with ``ratio`` times the first node's speed.

    Unknown: that speed, and the angles of all nodes but the first.  Gives the state (a list).
    """
    nn = system.nn
    y = system.start()
    for n, v in (offsets or {}).items():
        y[n] = v

    def put(u):
        for n in range(1, nn):
            y[nn + n] = u[0] * ratio[n]
            if n > 1:
                y[n] = u[n - 1]
        for e, x0 in zip(system.elements, system.x0, strict=True):
            if hasattr(e, "wind"):
                y[x0] = e.wind(system.motion(e, y)[0])
        return np.array(system.evaluate(0.0, y)[2][1:]) / np.array([1.0 / abs(r) for r in ratio[1:]])

    u = np.array([guess] + [y[n] for n in range(2, nn)])
    unit = np.array([abs(guess) * 1e-5] + [1e-5] * (nn - 2))
    for _ in range(40):
        r = put(u)
        jac = np.empty((nn - 1, nn - 1))
        for j in range(nn - 1):
            d = np.zeros(nn - 1)
            d[j] = unit[j]
            jac[:, j] = (put(u + d) - put(u - d)) / (2 * unit[j])
        u = u - np.linalg.solve(jac, r)
    missing = np.abs(put(u)).max()
    if missing > 1e-8:
        raise RuntimeError(f"no steady running: {missing} N*m missing")
    return y
