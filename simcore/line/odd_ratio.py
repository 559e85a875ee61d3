"""Warning on a ratio far outside of what a transmission of its kind has."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from simcore.line.assemble import Assembly
from simcore.line.caution import Caution
from simcore.parts._stages import stages_of

BOUNDS: Final = {
    "gear": (0.05, 500.0), "worm gear": (3.0, 120.0), "planetary gear": (2.0, 12.0),
    "flat belt": (0.1, 10.0), "V-belt": (0.1, 10.0), "chain drive": (0.1, 10.0),
}  # fmt: skip
"""Ratios by kind outside of which a slip is more likely than the machine: a gear may stand for a whole gearbox, a
planetary gear counts by the stage (common practice, from memory)."""
USUAL: Final = {
    "gear": "1 to 300, all stages", "worm gear": "5 to 80", "planetary gear": "3 to 10 a stage", "flat belt": "up to 6",
    "V-belt": "up to 7", "chain drive": "up to 7",
}  # fmt: skip


def odd_ratio(a: Assembly) -> Iterator[Caution]:
    """Transmissions with a ratio that no stage, or no gearbox, of their kind has."""
    for e in a.graph.elements:
        low, high = BOUNDS.get(e.part.kind.name, (0.0, float("inf")))
        if e.part.kind.name not in BOUNDS:
            continue
        r = e.part.raw(e.raw)
        turned, turning = e.part.call("ratios", r)
        ratio = turning / turned
        staged = e.part.kind.name == "planetary gear"
        one = ratio ** (1.0 / stages_of(r)) if staged else ratio
        if not low <= one <= high:
            each = f", {one:.3g} a stage" if staged else ""
            word = "ratio" if "ratio" in e.raw else "radius_out" if "radius_out" in e.raw else "teeth_out"
            yield Caution(
                "odd ratio", f"{e.path}.{word}",
                f"'{e.name}' turns {ratio:.4g}:1{each} (usual of this kind: {USUAL[e.part.kind.name]}): a slip of the "
                "point, or stages counted in that stand elsewhere in the line?",
            )  # fmt: skip
