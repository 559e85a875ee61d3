"""One case of a sweep again: replay."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from simcore.cli import complete, stdio
from simcore.cli.start import known_formats

if TYPE_CHECKING:
    from simcore.results.model import ResultSet
    from simcore.sweep.replay import Replay


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
    ready.announce(sweep_of(result)[0])
    found = again(result, picked)
    target = _target(folder, found) if out is None else out
    files = [] if found.result is None else [_files(target, not no_charts and bool(found.result.answers))]
    stdio.show(replay_screen(result, found, stdio.columns(), files))
    if found.result is not None:
        output.named_folder(target, force or out is None)
        _leave(found.result, target, not no_charts, formats or ["png"])
    if found.apart:
        raise ResultError(f"{folder}: case {picked.number(result)} is {checked(result, found)}")


def _target(folder: Path, found: Replay) -> Path:
    from simcore.output import safe_name
    from simcore.sweep.book import REPLAYS
    from simcore.sweep.result import file_of

    c = found.case
    return file_of(folder).parent / REPLAYS / f"{safe_name(found.candidate)}-{c.cell}-{c.draw}"


def _files(target: Path, charts: bool) -> str:
    from simcore.output import CHARTS, RESULT, TABLE

    return f"{target}: {RESULT}, {TABLE}{f', {CHARTS}/' if charts else ''}"


def _leave(result: ResultSet, target: Path, charts: bool, formats: list[str]) -> None:
    """Result, table and, where there is a verdict, charts."""
    from simcore import output
    from simcore.cli.drawing import Drawing

    try:
        output.save(result, target)
        if charts and result.answers:
            Drawing(result, target / output.CHARTS, formats).finish()
    finally:
        output.tidy(target)
