"""Charts of a sweep from the command line: after a sweep, and on demand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simcore.cli.waiting import Bar
from simcore.errors import Fault, InputError, ResultError

if TYPE_CHECKING:
    from simcore.sweep.decide import Decision
    from simcore.sweep.result import SweepResult


def draw(
    result: SweepResult, folder: Path, formats: Sequence[str], kinds: Sequence[str], quiet: bool = False,
    decision: Decision | None = None, axes: Mapping[str, str] | None = None,
) -> list[Path]:  # fmt: skip
    """Draw ``kinds`` with a bar on the terminal; ``axes``: quantities as x, y, by.

    Raises InputError for a quantity that is not there, ResultError.
    """
    from simcore.charts.sweep_draw import draw_sweep
    from simcore.sweep.decide import decide

    out: list[Path] = []
    choice: dict[str, Any] = dict(axes or {})
    with Bar(quiet) as bar:
        bar(0, len(kinds), "deciding")
        decision = decision or decide(result)
        for n, kind in enumerate(kinds):
            bar(n, len(kinds), f"drawing {kind}")
            try:
                out += draw_sweep(result, folder, formats, [kind], decision=decision, **choice)
            except ValueError as error:
                raise InputError(f"{kind}: {error}") from None
            except OSError as error:
                reason = (error.strerror or str(error)).lower()
                raise ResultError(f"{folder}: the charts could not be written, {reason}") from None
    return out


def on_demand(path: Path, kind: str, formats: Sequence[str], out: Path | None, axes: dict[str, str]) -> list[Path]:
    """The chart ``kind`` of a sweep's folder or file (left out: all but 'pair'); ``axes``: x, y, by as given."""
    from simcore.charts.sweep_draw import PAIR, SWEEP_KINDS
    from simcore.near import nearest_hint
    from simcore.output import CHARTS
    from simcore.sweep.result import SweepResult, file_of

    kinds = [*SWEEP_KINDS, PAIR]
    if kind and kind not in kinds:
        hint = nearest_hint(kind, kinds, f"there are {', '.join(kinds)}")
        raise InputError([Fault(kind[:40], "is no chart of a sweep", hint=hint)])
    given = {n: v for n, v in axes.items() if v}
    taken = {PAIR: ("x", "y", "by"), "map": ("x", "y")}.get(kind, ())
    faults = [Fault(f"--{n}", f"means nothing to {kind or 'all charts at once'}", hint=_who_takes(n))
              for n in given if n not in taken]  # fmt: skip
    if faults:
        raise InputError(faults)
    result = SweepResult.load(path)
    folder = out or file_of(path).parent / CHARTS
    return draw(result, folder, formats, [kind] if kind else list(SWEEP_KINDS), axes=given)


def _who_takes(name: str) -> str:
    return "pair takes it" if name == "by" else "pair and map take it"
