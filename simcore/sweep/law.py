"""The law of the setting's scatter, read from the sweep's own scenario text."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.sweep.result import SweepResult

Floats = NDArray[np.float64]

_PATH: Final = re.compile(r"""^candidates\[\s*(\*|"[^"]*"|'[^']*'|[^\]]*)\s*\]\.setting$""")
NODES: Final = 24
"""Points of the Gauss-Hermite rule that stand for each further law."""


class Law(NamedTuple):
    """Distribution of what a nominal setting is multiplied by."""

    words: str
    cdf: Callable[[Floats], Floats]
    ppf: Callable[[Floats], Floats]
    exact: bool
    """False: only known as drawn."""


def setting_laws(result: SweepResult, candidate: str) -> tuple[Law, ...] | None:
    """Laws that multiply the candidate's setting; None if another kind of scatter acts on it."""
    laws = []
    for factor in _factors(result.scenario_text):
        name = str(factor.get("name", ""))
        if name not in result.samples or not _acts(factor, candidate):
            continue
        if not factor.get("times"):
            return None
        laws.append(_law(factor.get("scatter"), result.samples[name]))
    return tuple(laws)


def setting_scatters(result: SweepResult, candidate: str) -> tuple[str, ...]:
    """Names of the scatter factors that act on the candidate's setting."""
    found = [str(f.get("name", "")) for f in _factors(result.scenario_text) if _acts(f, candidate)]
    return tuple(n for n in found if n in result.samples)


def chance_below(laws: tuple[Law, ...], ratio: Floats) -> Floats:
    """P(X < ratio) for the product X of independent ``laws``; any shape, inf gives 1."""
    if not laws:
        return np.asarray((ratio > 1.0).astype(float))
    first, *rest = sorted(laws, key=lambda law: not law.exact)
    points, weights = np.ones(1), np.ones(1)
    for law in rest:
        levels, shares = _rule()
        points, weights = np.outer(points, law.ppf(levels)).ravel(), np.outer(weights, shares).ravel()
    out = np.zeros(ratio.shape)
    for point, weight in zip(points, weights, strict=True):
        out += weight * first.cdf(ratio / point)
    return np.clip(out, 0.0, 1.0)


def _rule() -> tuple[Floats, Floats]:
    """Levels u and weights so that sum w h(u) is the integral of h from 0 to 1, fine in both tails."""
    from scipy.special import ndtr

    z, w = np.polynomial.hermite_e.hermegauss(NODES)
    return np.asarray(ndtr(z)), w / w.sum()


def _factors(text: str) -> list[dict[str, Any]]:
    try:
        found = tomllib.loads(text).get("sweep", {}).get("factor", [])
    except tomllib.TOMLDecodeError:
        return []
    return [f for f in found if isinstance(f, dict)] if isinstance(found, list) else []


def _acts(factor: dict[str, Any], candidate: str) -> bool:
    paths = factor.get("paths", factor.get("path", []))
    for path in [paths] if isinstance(paths, str) else paths:
        match = _PATH.match(str(path).strip())
        if match and match[1].strip("\"'") in ("*", candidate):
            return True
    return False


def _law(scatter: Any, drawn: Floats) -> Law:
    try:
        frozen, words = _frozen(dict(scatter))
        low, high = (float(scatter[k]) if k in scatter else None for k in ("low", "high"))
    except (KeyError, TypeError, ValueError, IndexError):
        return _as_drawn(drawn)
    below = float(frozen.cdf(low)) if low is not None else 0.0
    above = float(frozen.cdf(high)) if high is not None else 1.0
    if not above > below:
        return _as_drawn(drawn)
    if low is not None or high is not None:
        words += ", cut off" + (f" below {low:g}" if low is not None else "")
        words += f"{' and' if low is not None else ''} above {high:g}" if high is not None else ""
    return Law(
        words,
        lambda x: np.clip((frozen.cdf(x) - below) / (above - below), 0.0, 1.0),
        lambda u: np.asarray(frozen.ppf(below + u * (above - below)), dtype=float),
        True,
    )


def _frozen(scatter: dict[str, Any]) -> tuple[Any, str]:
    from scipy import stats

    if "normal" in scatter:
        a, sd = float(scatter["normal"]), float(scatter["sd"])
        return stats.norm(a, sd), f"normal {a:g}, standard deviation {sd:g}"
    if "lognormal" in scatter:
        a, sd = float(scatter["lognormal"]), float(scatter["sd_log"])
        return stats.lognorm(sd, scale=a), f"lognormal {a:g}, standard deviation of the logarithm {sd:g}"
    if "uniform" in scatter:
        a, b = (float(x) for x in scatter["uniform"])
        return stats.uniform(a, b - a), f"uniform {a:g} to {b:g}"
    if "log_uniform" in scatter:
        a, b = (float(x) for x in scatter["log_uniform"])
        return stats.loguniform(a, b), f"log-uniform {a:g} to {b:g}"
    a, m, b = (float(x) for x in scatter["triangular"])
    return stats.triang((m - a) / (b - a), a, b - a), f"triangular {a:g}, {m:g}, {b:g}"


def _as_drawn(drawn: Floats) -> Law:
    values = np.sort(drawn[np.isfinite(drawn)])

    def cdf(x: Floats) -> Floats:
        return np.searchsorted(values, x, "left") / len(values)

    return Law("as drawn", cdf, lambda u: np.quantile(values, u), False)
