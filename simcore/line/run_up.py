"""A start in which every drive ramps its set speed: its peak follows from the acceleration, not from a torque step."""

from __future__ import annotations

from math import hypot, inf, pi, sqrt

from simcore.contract import RunUp
from simcore.line.assemble import Assembly
from simcore.line.reflect import Seen, Shared, asked, shared, start_estimate


def left_of_swing(ramp: float, period: float) -> float:
    """Largest share of a step's overshoot that is left where the torque rises within ``ramp``.

    ``|sin(pi r/P)|/(pi r/P)`` on an undamped swing, shock spectrum, textbook; its envelope, as no period is known so
    well that a ramp could be fitted to it.

    >>> left_of_swing(0.0, 0.1), round(left_of_swing(0.3, 0.1), 3)
    (1.0, 0.106)
    """
    return period / (pi * ramp) if pi * ramp > period else 1.0


def left_by_lag(lag: float, period: float) -> float:
    """Share of a step's overshoot that is left where the torque comes with a time constant [s]: ``1/sqrt(1 + (wl)^2)``.

    On an undamped swing, textbook.
    """
    return 1.0 / hypot(1.0, 2.0 * pi * lag / period)


def run_up(a: Assembly, at: int) -> RunUp | None:
    """How the line comes to speed at element ``at``; None where a drive has no set speed or asks for it at once."""
    own = a.own_speeds()
    found = []
    for i in asked(a).drives:
        part = a.graph.elements[i].part
        if not part.has("run_up") or not own[i]:
            return None
        up, gear = part.call("run_up", a.rows[i]), abs(float(own[at] / own[i]))
        found.append(RunUp(up.acceleration * gear, up.rise, up.gain / gear**2))
    steep = max((up.acceleration for up in found), default=inf)
    if steep == inf:
        return None
    return RunUp(steep, min(up.rise for up in found), sum(up.gain for up in found))


def run_up_estimate(s: Seen, up: RunUp, carried: float) -> tuple[float, float]:
    """Peak of a start in which the drives ramp their speed, and what no longer ramp takes from it [N*m].

    ``carried``, J, is pulled on through all springs K; when the load breaks loose they have been wound by ``x = b +
    (L0 - W)/K``, at the speed ``v`` by then: ``V = L + J a``, ``V + sqrt((L0 - V)^2 + K J v^2)``, ``v^2 = 2 a x`` by a
    ramp; ``2 V`` where nothing holds a weight.  Energy balance, textbook; exact for one inertia behind a shaft that
    turns as it is set.  At most ``V + c J a + L0 - L + v sqrt(K J)``, ``c`` what rise and lag of the torque leave of
    the swing, ``2 pi sqrt(J/K)`` long; by the end of a rise the last of these has died out as far.  Never above a
    torque step's.
    """
    step = start_estimate(s)
    if s.motor <= s.breakaway:
        return s.motor, s.motor
    inertial = carried * up.acceleration
    level = s.running + inertial
    if s.weight > 0.0 and s.held == "nothing":
        return min(2.0 * level, step), min(2.0 * s.running, step)
    loose = s.breakaway if s.weight < 0.0 and s.held == "before" else max(s.breakaway, 0.0)
    period = 2.0 * pi * sqrt(carried / s.series)
    hit = speed_when_wound(s, up, loose) * sqrt(s.series * carried) if s.series < inf else 0.0
    dies = left_of_swing(up.rise, period)
    left = min(dies, left_by_lag((s.up + s.down) / up.gain, period)) if period else 0.0
    swing = min(left * inertial + max(loose - s.running, 0.0) + dies * hit, hypot(loose - level, hit))
    least = min(max(loose, s.running), step)
    return max(min(max(level + swing, loose + hit), step), least), least


def speed_when_wound(s: Seen, up: RunUp, loose: float) -> float:
    """Speed at which springs and play have been wound up to ``loose`` [rad/s].

    By a ramp ``sqrt(2 a x)``, by an acceleration that begins as ``j t`` no more than ``(9 j x^2/2)^(1/3)``,
    ``j = pi a/2r``: kinematics, textbook.
    """
    wound = s.weight if s.held == "before" else 0.0
    x = s.play + max(loose - wound, 0.0) / s.series
    v = sqrt(2.0 * up.acceleration * x)
    return min(v, (2.25 * pi * up.acceleration / up.rise * x * x) ** (1.0 / 3.0)) if up.rise > 0.0 else v


def start_by_hand(a: Assembly, at: int, s: Seen) -> tuple[float, float] | None:
    """``run_up_estimate`` at element ``at`` of a line; None where the torque steps to its limit."""
    up = run_up(a, at)
    return None if up is None else run_up_estimate(s, up, carried(shared(a, at), s))


def carried(with_others: Shared, s: Seen) -> float:
    """Inertia behind a connection that the drives before it bring to speed: others bring their rotors themselves."""
    return with_others.share * (s.down - with_others.rotors)
