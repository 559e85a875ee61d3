"""One case of a sweep again: replay."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from simcore.cli import complete, stdio
from simcore.cli.start import known_formats

if TYPE_CHECKING:
    from simcore.results.model import ResultSet
    from simcore.sweep.pick import Picked
    from simcore.sweep.result import SweepResult


def replay(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder of a sweep.", show_default=False)],
    case: Annotated[
        str,
        typer.Argument(
            metavar="CASE",
            help="Number of the case (from 0: candidates, in them cells, in them draws), CANDIDATE/CELL/DRAW, or "
            "worst, median, failed.",
            show_default=False,
            autocompletion=complete.case,
        ),
    ],
    candidate: Annotated[
        str, typer.Option(metavar="NAME", help="The worst, median or failed one of this candidate.  [default: of all]")
    ] = "",
    out: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Folder.  [default: replays/CASE in the sweep's folder]")
    ] = None,
    no_charts: Annotated[bool, typer.Option("--no-charts", help="Draw nothing.")] = False,
    formats: Annotated[
        list[str],
        typer.Option(
            "--format",
            metavar="FORMAT",
            help="png, svg, pdf; repeatable.  [default: png]",
            autocompletion=complete.picture,
        ),
    ] = [],  # noqa: B006
    force: Annotated[bool, typer.Option("--force", help="Write over results that are there, with --out.")] = False,
) -> None:
    """Run one case of a sweep again with its traces, and tell whether it is the same to the last bit.

    \b
    Examples:
      simcore replay night worst --candidate "friction disc"
      simcore replay night 211 --no-charts
      simcore replay night "shear pins/3/5" --no-charts
    """
    from simcore import output
    from simcore.cli import ready
    from simcore.errors import ResultError
    from simcore.screen.replay import checked, replay_screen
    from simcore.sweep.pick import pick
    from simcore.sweep.replay import replay as again
    from simcore.sweep.replay import sweep_of
    from simcore.sweep.result import SweepResult

    known_formats(formats)
    if out is not None:
        output.refuse_taken(out, force)
    result = SweepResult.load(folder)
    picked = pick(result, case, candidate)
    scenario, _ = sweep_of(result)
    target = output.named_folder(_target(folder, result, picked) if out is None else out, force or out is None)
    try:
        ready.announce(scenario)
        found = again(result, picked)
        files = [] if found.result is None else [_files(target, not no_charts and bool(found.result.answers))]
        stdio.show(replay_screen(result, found, stdio.columns(), files))
        if found.result is not None:
            _leave(found.result, target, not no_charts, formats or ["png"])
    finally:
        output.tidy(target)
    if found.apart:
        raise ResultError(f"{folder}: case {picked.number(result)} is {checked(result, found)}")


def _target(folder: Path, result: SweepResult, case: Picked) -> Path:
    from simcore.output import REPLAYS, safe_name
    from simcore.sweep.result import file_of

    name = safe_name(result.candidates[case.candidate])
    return file_of(folder).parent / REPLAYS / f"{name}-{case.cell}-{case.draw}"


def _files(target: Path, charts: bool) -> str:
    from simcore.output import CHARTS, RESULT, TABLE

    return f"{target}: {RESULT}, {TABLE}{f', {CHARTS}/' if charts else ''}"


def _leave(result: ResultSet, target: Path, charts: bool, formats: list[str]) -> None:
    """Result, table and, where there is a verdict, charts."""
    from simcore import output
    from simcore.cli.drawing import Drawing

    output.save(result, target)
    if charts and result.answers:
        Drawing(result, target / output.CHARTS, formats).finish()
