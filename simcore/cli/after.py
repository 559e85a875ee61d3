"""Commands on results that are there: show, chart, export, compare, rerun."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from simcore.cli import complete, stdio
from simcore.cli.start import known_formats

if TYPE_CHECKING:
    from simcore.results.model import ResultSet

RESULT = Annotated[
    Path,
    typer.Argument(
        metavar="RESULT",
        help="Result file, or the folder of a run.",
        show_default=False,
        autocompletion=complete.result,
    ),
]


def _opened(path: Path) -> ResultSet:
    from simcore.results.read import open_result

    return open_result(_file(path))


def _file(path: Path) -> Path:
    """The result file at or in ``path``.  ResultError for a sweep."""
    from simcore.errors import ResultError
    from simcore.output import result_file
    from simcore.sweep.result import is_sweep

    if is_sweep(path):
        raise ResultError(f"{path}: is a sweep (simcore status, simcore chart and simcore export read it)")
    return result_file(path)


def _beside(path: Path, name: str) -> Path:
    from simcore.output import result_file

    return result_file(path).parent / name


def show(
    result: RESULT,
    whole: Annotated[bool, typer.Option("--all", help="Every remark, warning, reason and hand bound.")] = False,
    defaults: Annotated[bool, typer.Option("--defaults", help="List every default that entered the answer.")] = False,
    verbose: Annotated[bool, typer.Option("-v", "--verbose", help="Also what the solver did.")] = False,
) -> None:
    """Show the verdict of an earlier run again, or the defaults that entered it.

    \b
    Examples:
      simcore run bakery_tray_conveyor --out tray --no-charts --force
      simcore show tray --all
      simcore show tray --defaults
    """
    from simcore.output import result_file
    from simcore.screen import inside
    from simcore.screen.first import screen

    found = _opened(result)
    wide = stdio.columns()
    if defaults:
        stdio.show(inside.defaults(found, min(wide, 100)))
        return
    lines = screen(found, wide, [str(result_file(result))], str(result), whole)
    stdio.show(lines + (inside.solver(found, wide) if verbose else []))


def chart(
    result: RESULT,
    kind: Annotated[
        str,
        typer.Argument(
            metavar="KIND", help="Which chart; left out: all.", autocompletion=complete.chart, show_default=False
        ),
    ] = "",
    formats: Annotated[
        list[str],
        typer.Option(
            "--format",
            metavar="FORMAT",
            help="png, svg, pdf; repeatable.  [default: png]",
            autocompletion=complete.picture,
        ),
    ] = [],  # noqa: B006
    out: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Folder.  [default: charts beside the result]")
    ] = None,
    x: Annotated[str, typer.Option(metavar="NAME", help="Of a sweep, pair and map: factor or measure across.")] = "",
    y: Annotated[str, typer.Option(metavar="NAME", help="Of a sweep, pair and map: factor or measure upwards.")] = "",
    by: Annotated[str, typer.Option(metavar="NAME", help="Of a sweep, pair: what parts the marks.")] = "",
) -> None:
    """Draw the charts of a result or of a sweep.

    \b
    Examples:
      simcore run bakery_tray_conveyor --out tray --no-charts --force
      simcore chart tray crash --format svg
      simcore chart night pair --x "jam stiffness" --y peak
    """
    from simcore.charts.draw import KINDS
    from simcore.cli.drawing import Drawing
    from simcore.cli.sweep_charts import on_demand
    from simcore.errors import Fault, InputError
    from simcore.near import nearest_hint
    from simcore.sweep.result import is_sweep

    known_formats(formats)
    axes = {"x": x, "y": y, "by": by}
    if is_sweep(result):
        for path in on_demand(result, kind, formats or ["png"], out, axes):
            stdio.say(str(path))
        return
    if any(axes.values()):
        raise InputError([Fault(f"--{n}", f"goes with a sweep, {result} is none") for n, v in axes.items() if v])
    if kind and kind not in KINDS:
        hint = nearest_hint(kind, KINDS, f"there are {', '.join(KINDS)}")
        raise InputError([Fault(kind[:40], "is no chart", hint=hint)])
    folder = out or _beside(result, "charts")
    drawing = Drawing(_opened(result), folder, formats or ["png"], [kind] if kind else ())
    for path in drawing.finish():
        stdio.say(str(path))


def export(
    result: RESULT,
    csv: Annotated[bool, typer.Option("--csv", help="Tables as CSV, units in the header (the default).")] = False,
    parquet: Annotated[bool, typer.Option("--parquet", help="Tables as Parquet.")] = False,
    out: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Folder.  [default: tables beside the result]")
    ] = None,
) -> None:
    """Write the answers and every trace as tables; of a sweep one long table of its cases.

    \b
    Examples:
      simcore run bakery_tray_conveyor --out tray --no-charts --force
      simcore export tray --csv --out tray/tables
    """
    from simcore.output import result_file
    from simcore.results.export import export as write
    from simcore.sweep.result import file_of, is_sweep
    from simcore.sweep.table import export as write_sweep

    formats = (["csv"] if csv or not parquet else []) + (["parquet"] if parquet else [])
    if is_sweep(result):
        for path in write_sweep(result, out or file_of(result).parent / "tables", formats):
            stdio.say(str(path))
        return
    written = write(result_file(result), out or _beside(result, "tables"), formats)
    stdio.say(f"{len(written)} tables in {written[0].parent}")


def compare(
    first: RESULT,
    second: RESULT,
    whole: Annotated[bool, typer.Option("--all", help="List every result that moved.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="All of it as JSON, with units.")] = False,
) -> None:
    """Tell what differs between the inputs of two results, and what that did to the answers.

    \b
    Examples:
      simcore run bakery_tray_conveyor --out one --no-charts --force
      simcore run bakery_tray_conveyor --out two --no-charts --force --set 'line["trays"].mass=220 kg'
      simcore compare one two
    """
    from simcore.cli.jsonout import comparison
    from simcore.results.compare import compare as between
    from simcore.screen.compared import compared

    found = between(_file(first), _file(second))
    if as_json:
        stdio.say(stdio.json_text(comparison(found)).rstrip("\n"))
    elif whole:
        stdio.say(found.whole)
    else:
        stdio.show(compared(found, stdio.columns()))


def rerun(result: RESULT) -> None:
    """Repeat a run from the text stored in its result and tell whether any number moved.

    \b
    Examples:
      simcore run bakery_tray_conveyor --out tray --no-charts --force
      simcore rerun tray
    """
    from simcore.cli import ready
    from simcore.cli.again import moved
    from simcore.scenario.alter import kept
    from simcore.scenario.read import read_text

    before = _opened(result)
    changes = before.provenance.get("changes", {})
    source = str(before.provenance.get("source", result))
    files = before.provenance.get("files", {})
    read = read_text(before.scenario_text, source, dict(changes), files=files)
    scenario = kept(read, before.provenance.get("only", {}))
    now = ready.run(scenario)
    for line in moved(before, now):
        stdio.say(line)
    if "replay" in before.provenance:
        stdio.say(
            "A case of a sweep: a single run repeats it within the solver's tolerance, simcore replay to the bit."
        )
