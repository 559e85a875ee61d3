"""Whether a repeated run gives the same numbers."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan
from typing import Final

from simcore.results.model import ResultSet

VERSIONS: Final = ("simcore", "python", "numpy", "scipy", "numba", "machine")


def moved(before: ResultSet, now: ResultSet) -> Iterator[str]:
    """Sentences: how many numbers were compared, which moved, and with which versions."""
    from simcore.results.compare import compare

    old, new = dict(_numbers(before)), dict(_numbers(now))
    shared = [n for n in old if n in new]
    apart = [n for n in shared if not _same(old[n], new[n])]
    lost = len(old.keys() ^ new.keys())
    if not apart and not lost:
        yield f"All {len(shared)} numbers are the same to the last bit."
    else:
        yield f"{len(apart)} of {len(shared)} numbers are not the same to the last bit."
        peaks = [_relative(old[n], new[n]) for n in apart if n.endswith("peak") or ", peak of " in n]
        if peaks:
            yield f"Peaks moved by at most {max(peaks):.2g} of their size."
        if lost:
            yield f"{lost} numbers exist in only one of the two runs."
        yield str(compare(before, now))
    for key in VERSIONS:
        was, is_now = before.provenance.get(key, "?"), now.provenance.get(key, "?")
        yield f"{key}: {was}" if was == is_now else f"{key}: {was}, now {is_now}"


def _numbers(result: ResultSet) -> Iterator[tuple[str, float]]:
    """Every stored measure, and every peak, by name."""
    for (candidate, situation), run in result.runs.items():
        where = f"{candidate}, {situation}"
        for band, measures in (("", run.measures), ("high, ", run.high), ("low, ", run.low)):
            yield from ((f"{where}, {band}{n}", float(v)) for n, v in measures.items())
        for c, peak in zip(run.connections, run.peak, strict=True):
            yield f"{where}, peak of {c.name}", float(peak)
    for a in result.answers:
        for m in a.margins:
            yield f"{a.name}, {m.situation}, asks", m.asks


def _same(x: float, y: float) -> bool:
    return x == y or (isnan(x) and isnan(y))


def _relative(x: float, y: float) -> float:
    if isnan(x) or isnan(y):
        return float("inf")
    return abs(y - x) / max(abs(x), abs(y))
