"""How draws are placed in the unit cube.  Draw d is the same number whoever asks for it, and whatever else is drawn.

Sources: latin hypercubes: McKay, Beckman and Conover 1979, Technometrics 21, 239; the sequence: Sobol' 1967, scrambled
after Matousek 1998, both by scipy; paired samples: Saltelli et al. 2010, Comput. Phys. Commun. 181, 259; counter-based
streams: Salmon et al. 2011 (Philox), by numpy.
"""

from __future__ import annotations

from functools import lru_cache
from hashlib import blake2b
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Names = tuple[str, ...]

_WORDS: Final = 4
"""Numbers that one count of Philox gives."""
_FINEST: Final = 2.0**-31
"""Half the grid of scipy's sequence: where its 0 is put."""


def random(seed: int, names: Names, first: int, last: int) -> Floats:
    """Independent draws ``first`` to ``last - 1``, shape (draws, names), inside (0, 1).

    Each name has a stream of its own, keyed by seed and name; any place of it is reached at once.
    """
    out = np.empty((last - first, len(names)))
    for k, name in enumerate(names):
        out[:, k] = _unit(_raw(seed, name, "draws", first, last))
    return out


def latin_hypercube(seed: int, names: Names, first: int, last: int, size: int) -> Floats:
    """Draws of hypercubes of ``size`` draws one after the other; in each, every name has one draw in each stratum."""
    parts = [
        _hypercube(seed, names, size, j)[max(0, first - j * size) : last - j * size]
        for j in range(first // size, -(-last // size))
    ]
    return np.concatenate(parts) if parts else np.empty((0, len(names)))


def sobol_sequence(seed: int, dims: int, first: int, last: int) -> Floats:
    """Points ``first`` to ``last - 1`` of scipy's scrambled Sobol' sequence, shape (draws, dims).

    Its dimensions go by place, not by name: another order of factors is another design.
    """
    if last <= first or dims == 0:
        return np.empty((max(0, last - first), dims))
    points = _sequence(seed, dims)
    n = last - first
    if first:
        points.fast_forward(first)
        return np.asarray(np.maximum(points.random(n), _FINEST))
    return np.asarray(np.maximum(points.random(1 << (n - 1).bit_length())[:n], _FINEST))


def paired(seed: int, dims: int, first: int, last: int) -> Floats:
    """Rows of Saltelli's samples in groups of ``dims + 2``: A, then A with column i from B for each i, then B.

    Group n comes from point n of a scrambled Sobol' sequence in ``2 dims`` dimensions (A: the first ``dims`` of them).
    The order of rows is that of the usual estimators' input without second-order terms, so results can be
    reshaped to (groups, dims + 2).
    """
    group = dims + 2
    n0, n1 = first // group, -(-last // group)
    both = sobol_sequence(seed, 2 * dims, n0, n1)
    rows = np.repeat(both[:, None, :dims], group, axis=1)
    for i in range(dims):
        rows[:, 1 + i, i] = both[:, dims + i]
    rows[:, -1, :] = both[:, dims:]
    out: Floats = rows.reshape(-1, dims)
    return out[first - n0 * group : last - n0 * group]


def _raw(seed: int, name: str, what: str, first: int, last: int) -> NDArray[np.uint64]:
    digest = blake2b(f"{seed}\0{what}\0{name}".encode(), digest_size=16).digest()
    stream = np.random.Philox(key=int.from_bytes(digest, "little"))
    begin = first // _WORDS
    stream.advance(begin)
    return stream.random_raw(last - begin * _WORDS)[first - begin * _WORDS :]


def _unit(raw: NDArray[np.uint64]) -> Floats:
    """Middles of 2^52 cells: exact, and never 0 or 1."""
    return np.asarray(((raw >> np.uint64(12)).astype(np.float64) + 0.5) * 2.0**-52)


@lru_cache(maxsize=2)
def _hypercube(seed: int, names: Names, size: int, j: int) -> Floats:
    """Hypercube ``j`` whole, shape (size, names); kept, as its strata are shuffled all at once."""
    out = np.empty((size, len(names)))
    for k, name in enumerate(names):
        order = np.argsort(_raw(seed, name, f"strata {j}", 0, size), kind="stable")
        out[:, k] = (order + _unit(_raw(seed, name, f"within strata {j}", 0, size))) / size
    out.flags.writeable = False
    return out


def _sequence(seed: int, dims: int) -> Any:
    from scipy.stats import qmc

    return qmc.Sobol(dims, scramble=True, seed=np.random.default_rng(seed))
