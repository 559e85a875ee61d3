"""What a section [sweep] says once it is checked: plain frozen data in SI.

:mod:`simcore.sweep.plan` adds what can be computed from it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

BESIDE: Final = ("title", "question", "display", "sweep")
"""Parts of a scenario that bear on the numbers of no run."""

Word = Literal["normal", "lognormal", "uniform", "log_uniform", "triangular", "measured"]


@dataclass(frozen=True)
class Scatter:
    """A distribution.  ``numbers`` by word:

    normal: mean, sd · lognormal: median, sd of the natural logarithm · uniform, log_uniform: ends ·
    triangular: low end, mode, high end · measured: none, ``values`` holds the sorted sample.

    ``low`` and ``high`` cut off a normal or a lognormal; infinite: not cut off.
    """

    word: Word
    numbers: tuple[float, ...]
    low: float = -math.inf
    high: float = math.inf
    values: tuple[float, ...] = ()

    @property
    def support(self) -> tuple[float, float]:
        """Least and largest value it can take (a lognormal comes near 0 but is above it)."""
        if self.word == "normal":
            return self.low, self.high
        if self.word == "lognormal":
            return max(self.low, 0.0), self.high
        ends = self.values if self.word == "measured" else self.numbers
        return ends[0], ends[-1]

    def below(self, x: float) -> float:
        """Share of a normal or lognormal, not cut off, that lies below ``x``."""
        mean, sd = self.numbers
        if self.word == "lognormal":
            if x <= 0:
                return 0.0
            x, mean = math.log(x), math.log(mean)
        return 0.5 * math.erfc((mean - x) / (sd * math.sqrt(2.0)))


@dataclass(frozen=True)
class Factor:
    """One thing that varies: on a grid, or scattered (or by a column of the table if neither).

    ``paths`` are readable paths, ``candidates[*]...`` for the candidate under trial (which may lack that input).
    ``times``: the values multiply the scenario's own value; ``kind`` is then ``ratio``.
    ``unit`` is the one that the engineer wrote, for printing.
    """

    name: str
    paths: tuple[str, ...]
    times: bool
    kind: str
    grid: tuple[float, ...] = ()
    scatter: Scatter | None = None
    unit: str = ""


@dataclass(frozen=True)
class Sweep:
    """The whole section; ``candidates`` and ``situations`` are resolved to names.

    ``hypercube`` is the number of draws of one latin hypercube (an extension must keep it), ``table`` has the values
    by factor, ``files`` are the files that were read, as written, ``notes`` are warnings in sentences.
    """

    factors: tuple[Factor, ...]
    seed: int = 1
    draws: int = 1
    design: str = "random"
    situations: tuple[str, ...] = ()
    candidates: tuple[str, ...] = ()
    damage_target: float = 1e-3
    nuisance_target: float = 1e-4
    block: int = 500
    hypercube: int = 2
    table: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    files: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def grids(self) -> tuple[Factor, ...]:
        """Factors on a grid, in the order of the file."""
        return tuple(f for f in self.factors if f.grid)

    @property
    def scatters(self) -> tuple[Factor, ...]:
        """Factors whose values are drawn or stand in the table, in the order of the file."""
        return tuple(f for f in self.factors if not f.grid)
