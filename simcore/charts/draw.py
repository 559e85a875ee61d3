"""Draws the charts of a result set into files."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from simcore.charts.style import Style, read_style
from simcore.results.model import ResultSet

if TYPE_CHECKING:
    from matplotlib.figure import Figure


class ChartKind(NamedTuple):
    """A chart: what it answers, the module and function that compose it, and those that say if it shows anything."""

    answers: str
    composer: tuple[str, str]
    shows: tuple[str, str] | None = None
    """None: it always does."""


KINDS: Final[dict[str, ChartKind]] = {
    "crash": ChartKind("torque at the protected part around the crash", ("page", "crash_page")),
    "instants": ChartKind("who triggers, lets go and disconnects when", ("page", "instants_page")),
    "motion": ChartKind("both sides' speed and the twist between them", ("motion_page", "motion_page")),
    "energy": ChartKind("where the energy went, by part", ("page", "energy_page")),
    "limits": ChartKind("peak against allowable at every limit", ("page", "limits_page")),
    "service": ChartKind(
        "what ordinary service asks against what is held", ("page", "service_page"), ("service_data", "has_service")
    ),
    "timeline": ChartKind(
        "who is in which state when, and the delays of the stop",
        ("timeline_page", "timeline_page"),
        ("timeline_data", "has_timeline"),
    ),
    "temperature": ChartKind(
        "how hot the protection gets when it slips again and again, or for minutes",
        ("temperature_page", "temperature_page"),
        ("temperature_data", "has_temperature"),
    ),
    "placement": ChartKind(
        "what the place of the protection does to peak and heat",
        ("placement_page", "placement_page"),
        ("placement_data", "has_placement"),
    ),
}
COMPRESSION: Final = 3
"""Of PNG; on these pictures both faster and smaller than the usual 6."""
FORMATS: Final = ("png", "svg", "pdf")
SIZES: Final = ("page", "column")


def figure(result: ResultSet, kind: str, *, size: str = "page", style: Style | None = None) -> Figure:
    """One chart as a figure; ``size`` is 'page' (180 mm x 110 mm) or 'column' (85 mm wide).

    With more candidates than colours tell apart it is higher, 250 mm at most; they stand best first then.
    Raises ValueError with the nearest valid name.
    """
    _known("chart", kind, KINDS)
    _known("size", size, SIZES)
    style = (style or read_style()).begun_at(int(result.provenance.get("replay", {}).get("place", 0)))
    compose: Callable[[ResultSet, Style, str], Figure] = _function(*KINDS[kind].composer)
    with style.active():
        return compose(result, style, size)


def telling(result: ResultSet) -> list[str]:
    """Names of the charts that have something to show of ``result``."""
    return [name for name, kind in KINDS.items() if kind.shows is None or _function(*kind.shows)(result)]


def _function(module: str, name: str) -> Any:
    from importlib import import_module

    return getattr(import_module(f"simcore.charts.{module}"), name)


def draw_all(
    result: ResultSet,
    folder: str | os.PathLike[str],
    formats: Iterable[str] = ("png",),
    only: Iterable[str] | None = None,
    *,
    size: str = "page",
    style: str | os.PathLike[str] | None = None,
    dpi: float | None = None,
) -> list[Path]:
    """Draw the charts named in ``only`` (default: those with something to show) into ``folder``.

    The folder is made if it is missing.  Files are called after their chart: ``crash.png``,
    ``crash-column.pdf``...  ``style`` is a style file, ``dpi`` the resolution of PNG (default: the style's).
    Same result set, same bytes.
    Raises ValueError for an unknown chart, format or size, OSError if a file cannot be read or written.
    """
    kinds = telling(result) if only is None else list(only)
    formats = list(formats)
    for kind in kinds:
        _known("chart", kind, KINDS)
    for form in formats:
        _known("format", form, FORMATS)
    _known("size", size, SIZES)
    look = read_style(Path(style) if style is not None else None)
    Path(folder).mkdir(parents=True, exist_ok=True)
    out = []
    for kind in kinds:
        drawn = figure(result, kind, size=size, style=look)
        for form in formats:
            path = Path(folder) / f"{kind}{'' if size == 'page' else '-' + size}.{form}"
            save(drawn, path, look, dpi)
            out.append(path)
    return out


def save(drawn: Figure, path: Path, style: Style, dpi: float | None = None) -> None:
    """Write a figure into the file ``path``, in the format of its ending."""
    path.write_bytes(image(drawn, path.suffix.lstrip("."), style, dpi))


def image(drawn: Figure, form: str, style: Style, dpi: float | None = None) -> bytes:
    """A figure as a file's bytes, without dates or versions in it: equal figures give equal bytes."""
    from io import BytesIO

    blank: dict[str, dict[str, Any]] = {
        "png": {"Software": None},
        "svg": {"Date": None, "Creator": None},
        "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
    }
    out = BytesIO()
    with style.active():
        extra: dict[str, Any] = {"dpi": dpi} if dpi is not None else {}
        if form == "png":
            extra["pil_kwargs"] = {"compress_level": COMPRESSION}
        drawn.savefig(out, format=form, metadata=blank[form], **extra)
    return out.getvalue()


def _known(what: str, name: str, valid: Iterable[str]) -> None:
    names = list(valid)
    if name in names:
        return
    from difflib import get_close_matches

    near = get_close_matches(name, names, 1)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    raise ValueError(f"there is no {what} {name!r}: choose from {', '.join(names)}{hint}")
