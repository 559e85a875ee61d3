"""A sweep in memory."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, repr=False)
class SweepResult:
    """Candidates x grid cells x draws x situations, SI inside.

    ``setting`` (candidate, *grids) [N*m at its own shaft]; ``measures`` and ``status`` (candidate, *grids,
    draw, situation); ``asks`` (candidate, draw, situation); ``samples`` (draw) per scatter factor.
    """

    title: str
    unit: str
    scenario_text: str
    candidates: tuple[str, ...]
    situations: tuple[str, ...]
    expects: tuple[str, ...]
    grids: dict[str, Floats]
    grid_kinds: dict[str, str]
    samples: dict[str, Floats]
    sample_kinds: dict[str, str]
    setting: Floats
    tolerance: dict[str, float]
    allowable: float
    protect: str
    measures: dict[str, Floats]
    asks: Floats
    status: Ints
    damage_target: float
    nuisance_target: float
    seed: int
    design: str
    provenance: dict[str, Any]
