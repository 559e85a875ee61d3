"""Draws the charts of a sweep into files."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from simcore.charts.draw import FORMATS, SIZES, ChartKind, save
from simcore.charts.style import Style, read_style
from simcore.sweep.decide import Decision, decide
from simcore.sweep.result import SweepResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SWEEP_KINDS: Final[dict[str, ChartKind]] = {
    "window": ChartKind("odds of damage and of nuisance trips against the setting", ("sweep_window", "window_page")),
    "trade-off": ChartKind("peak against disconnect time and nuisance trips", ("sweep_tradeoff", "tradeoff_page")),
    "map": ChartKind("peak over two factors, the allowable as a contour", ("sweep_map", "map_page")),
    "exceedance": ChartKind("how often the peak passes a torque", ("sweep_exceedance", "exceedance_page")),
    "limits": ChartKind("how often the peak passes what each limit bears", ("sweep_limits", "limits_page")),
    "matters": ChartKind("which inputs move the peak and what service asks", ("sweep_matters", "matters_page")),
    "disconnect": ChartKind("how long it takes to disconnect, all cases", ("sweep_times", "times_page")),
}
"""Kinds drawn by `draw_sweep`; each has ``NAME_data(result, decision)`` and ``NAME_page(data, style, size)``."""
PAIR: Final = "pair"
"""One more kind, drawn on demand: any two quantities against each other."""


def sweep_figure(
    result: SweepResult,
    kind: str,
    *,
    size: str = "page",
    style: Style | None = None,
    decision: Decision | None = None,
    **choice: str,
) -> Figure:
    """One chart of a sweep as a figure; ``size`` is 'page' or 'column'.

    ``choice``: for 'pair' ``x``, ``y`` and ``by`` (names of factors or measures, or 'setting', 'asks'), for
    'map' optionally ``x`` and ``y`` (factors).  Raises ValueError with the nearest valid name.
    """
    _known("chart", kind, [*SWEEP_KINDS, PAIR])
    _known("size", size, SIZES)
    style = style or read_style()
    module, page = SWEEP_KINDS[kind].composer if kind != PAIR else ("sweep_pair", "pair_page")
    numbers: Callable[..., Any] = getattr(import_module(f"simcore.charts.{module}_data"), page.replace("page", "data"))
    compose: Callable[[Any, Style, str], Figure] = getattr(import_module(f"simcore.charts.{module}"), page)
    data = numbers(result, decision or decide(result), **choice)
    with style.active():
        return compose(data, style, size)


def draw_sweep(
    result: SweepResult,
    folder: str | os.PathLike[str],
    formats: Iterable[str] = ("png",),
    only: Iterable[str] | None = None,
    *,
    size: str = "page",
    style: str | os.PathLike[str] | None = None,
    dpi: float | None = None,
    decision: Decision | None = None,
    **choice: str,
) -> list[Path]:
    """Draw the charts named in ``only`` (default: all but 'pair') into ``folder``; gives the files' paths.

    Files are called ``sweep-window.png``, ``sweep-map-column.pdf``...  Same sweep, same bytes.  ``choice`` goes
    to `sweep_figure`.  Raises ValueError for an unknown chart, format, size or quantity, OSError for files.
    """
    kinds, formats = list(SWEEP_KINDS) if only is None else list(only), list(formats)
    for kind in kinds:
        _known("chart", kind, [*SWEEP_KINDS, PAIR])
    for form in formats:
        _known("format", form, FORMATS)
    look = read_style(Path(style) if style is not None else None)
    Path(folder).mkdir(parents=True, exist_ok=True)
    decision = decision or decide(result)
    out = []
    for kind in kinds:
        own = choice if kind in (PAIR, "map") else {}
        drawn = sweep_figure(result, kind, size=size, style=look, decision=decision, **own)
        for form in formats:
            path = Path(folder) / f"sweep-{kind}{'' if size == 'page' else '-' + size}.{form}"
            save(drawn, path, look, dpi)
            out.append(path)
    return out


def _known(what: str, name: str, valid: Iterable[str]) -> None:
    from simcore.charts.draw import _known as known

    known(what, name, valid)
