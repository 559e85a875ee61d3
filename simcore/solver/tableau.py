"""Explicit Runge-Kutta pair 6(5), state at mid-step, dense output of order 5.

Source of the pair: Tsitouras and Famelis, Phase-fitted modified Runge-Kutta pairs of orders 6(5), Int. Conf. of
Numerical Analysis and Applied Mathematics, 2006 (the pair before it is fitted to a frequency).  The weights of mid-step
are ours: the only ones of order 5 there up to one choice, which leaves the least error of order 6.  All order
conditions are tested.
"""

from __future__ import annotations

STAGES = 9
"""Slopes of a step; the last is taken at its end and is the first of the next."""
C = (0.0, 0.092896174863387978, 0.14457831325301205, 0.21686746987951807, 0.568, 0.71186440677966102, 0.995, 1.0, 1.0)
A = (
    (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    (0.092896174863387978, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    (0.032071588978166386, 0.11250672427484566, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    (0.054216867469879518, 0.0, 0.16265060240963855, 0.0, 0.0, 0.0, 0.0, 0.0),
    (0.65659812661728395, 0.0, -2.4972770465185185, 2.4086789199012346, 0.0, 0.0, 0.0, 0.0),
    (-1.7212338830272756, 0.0, 7.2231075119202113, -5.4959191727393518, 0.70590995062607719, 0.0, 0.0, 0.0),
    (4.1286718971616153, 0.0, -16.914025304289438, 14.328981321740587, -1.553355090373531, 1.0047271757607671, 0.0,
     0.0),
    (4.468607842844296, 0.0, -18.34544186942965, 15.52377072335432, -1.7228800213316941, 1.0815157174021452,
     -0.0055723928394169824, 0.0),
    (0.064230909372108325, 0.0, 0.0, 0.33286182469942111, 0.26785922916577808, 0.17986389967093871, 1.5107578480576216,
     -1.3555737109658678),
)  # fmt: skip
ERROR = (
    0.0019328139549844402, 0.0, 0.0, -0.0073416949363625604, 0.031861687801669092, -0.040776376725103804,
    0.36031650852893245, -0.35265960529078628, 0.0066666666666666667,
)  # fmt: skip
"""Weights of the pair's difference."""
HALF = (
    0.0610094516990938, 0.0, 0.0, 0.34341374579920057, 0.098582749571689744, 0.020010891953548442,
    -0.66030507276950422, 0.60628823374597166, 0.031,
)  # fmt: skip
"""Weights of the slopes for the state at mid-step."""


def dense_weights(s: float) -> tuple[float, float, float, float, float]:
    """Weights at the share ``s`` of a step, of the rise to its middle and to its end, and of its slopes at start,
    middle and end times the step.

    The polynomial of degree 5 through these three states with their slopes.
    """
    r = 1.0 - s
    d = 1.0 - 2.0 * s
    s2, r2, d2 = s * s, r * r, d * d
    return 16.0 * s2 * r2, s2 * d2 * (7.0 - 6.0 * s), s * r2 * d2, -8.0 * s2 * r2 * d, -r * s2 * d2
