"""Warning on a ratio far outside of what a transmission of its kind has."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from simcore.line.assemble import Assembly
from simcore.line.caution import Caution
from simcore.line.graph import Element
from simcore.parts._stages import stages_of

BOUNDS: Final = {
    "gear": (0.05, 500.0), "worm gear": (3.0, 120.0), "planetary gear": (2.0, 12.0),
    "flat belt": (0.1, 10.0), "V-belt": (0.1, 10.0), "chain drive": (0.1, 10.0),
}  # fmt: skip
"""Ratios by kind outside of which a slip is more likely than the machine: a gear may stand for a whole gearbox, a
planetary gear counts by the stage (common practice, from memory)."""
MOST_STAGED: Final = {"gear": 500.0, "worm gear": 120.0, "planetary gear": 1728.0}
"""Largest ratio of kinds that are given theirs, all stages."""
USUAL: Final = {
    "gear": "1 to 300, all stages", "worm gear": "5 to 80", "planetary gear": "3 to 10 a stage", "flat belt": "up to 6",
    "V-belt": "up to 7", "chain drive": "up to 7",
}  # fmt: skip


TURNED: Final = "turns of the input for one of the output, motor speed over output speed"


def _ratios(a: Assembly) -> Iterator[tuple[Element, float, float]]:
    """Transmissions that have a usual ratio, their ratio, and that of a stage."""
    for e in a.graph.elements:
        if e.part.kind.name not in BOUNDS:
            continue
        r = e.part.raw(e.raw)
        turned, turning = e.part.call("ratios", r)
        ratio = turning / turned
        staged = e.part.kind.name == "planetary gear"
        yield e, ratio, ratio ** (1.0 / stages_of(r)) if staged else ratio


def _turned_round(e: Element, ratio: float) -> bool:
    """Whether a ratio that was given would be a usual one the other way round."""
    return "ratio" in e.raw and ratio < 1.0 and 1.0 / ratio <= MOST_STAGED.get(e.part.kind.name, 0.0)


def turned_round(a: Assembly) -> str:
    """A hint at the first ratio that looks the wrong way round; nothing if none does."""
    for e, ratio, _ in _ratios(a):
        if _turned_round(e, ratio):
            return f"is the ratio of '{e.name}', {ratio:.4g}, the wrong way round? It is {TURNED}: {1.0 / ratio:.4g}"
    return ""


def ratio_below_one(a: Assembly) -> Iterator[Caution]:
    """Gears that turn faster behind than before: told beside ratios that no gear of the kind has."""
    for e, ratio, one in _ratios(a):
        low, high = BOUNDS[e.part.kind.name]
        if low <= one <= high and _turned_round(e, ratio):
            yield Caution(
                "ratio below one", f"{e.path}.ratio",
                f"'{e.name}' turns faster behind than before, {ratio:.4g}:1: the wrong way round? The ratio is "
                f"{TURNED}; turned round it is {1.0 / ratio:.4g}",
            )  # fmt: skip


def odd_ratio(a: Assembly) -> Iterator[Caution]:
    """Transmissions with a ratio that no stage, or no gearbox, of their kind has."""
    for e, ratio, one in _ratios(a):
        low, high = BOUNDS[e.part.kind.name]
        if low <= one <= high:
            continue
        each = f", {one:.3g} a stage" if one != ratio else ""
        word = "ratio" if "ratio" in e.raw else "radius_out" if "radius_out" in e.raw else "teeth_out"
        slip = "a slip of the point, or stages counted in that stand elsewhere in the line?"
        if _turned_round(e, ratio):
            slip = f"the wrong way round? The ratio is {TURNED}; turned round it is {1.0 / ratio:.4g}"
        yield Caution(
            "odd ratio", f"{e.path}.{word}",
            f"'{e.name}' turns {ratio:.4g}:1{each} (usual of this kind: {USUAL[e.part.kind.name]}): {slip}",
        )  # fmt: skip
