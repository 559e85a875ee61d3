"""Number of stages of a planetary gear."""

from __future__ import annotations

from typing import Any

from simcore.parts._given import or_else


def _by_ratio(ratio: float) -> float:
    if ratio <= 10.0:
        return 1.0
    return 2.0 if ratio <= 100.0 else 3.0


def stages_of(r: Any) -> float:
    """As given, else by the ratio: one up to 10:1, two up to 100:1, else three (common practice, from memory)."""
    return or_else(r.stages, _by_ratio(r.ratio))
