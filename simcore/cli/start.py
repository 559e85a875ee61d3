"""Commands that begin something: run, new."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from simcore.cli import complete, stdio

if TYPE_CHECKING:
    from simcore.results.model import ResultSet

FILE = Annotated[
    str,
    typer.Argument(
        metavar="FILE",
        help="Scenario file, or the name of a shipped one.",
        show_default=False,
        autocompletion=complete.scenario,
    ),
]
SET = Annotated[
    list[str],
    typer.Option(
        "--set",
        metavar="PATH=VALUE",
        autocompletion=complete.change,
        help="Change a value beside the file; repeatable.",
    ),
]
FORMATS = ("png", "svg", "pdf")


def run(
    file: FILE,
    out: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Folder for the results.  [default: next runs/NAME-001]")
    ] = None,
    json: Annotated[str, typer.Option(metavar="FILE", help="Write the numbers as JSON; - is standard output.")] = "",
    no_charts: Annotated[bool, typer.Option("--no-charts", help="Draw nothing.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="Only the verdict and where the files are.")] = False,
    verbose: Annotated[bool, typer.Option("-v", "--verbose", help="Also what the solver did.")] = False,
    changes: SET = [],  # noqa: B006 - typer reads it, nobody changes it
    formats: Annotated[
        list[str],
        typer.Option(
            "--format",
            metavar="FORMAT",
            help="png, svg, pdf; repeatable.  [default: png]",
            autocompletion=complete.picture,
        ),
    ] = [],  # noqa: B006
    force: Annotated[bool, typer.Option("--force", help="Write over results that are there.")] = False,
) -> None:
    """Run every candidate in every situation and give the verdict.

    \b
    Examples:
      simcore run bakery_tray_conveyor
      simcore run bakery_tray_conveyor --set 'candidates["ball detent"].setting=300 N*m' --no-charts
    """
    from simcore import output
    from simcore.cli import ready
    from simcore.cli.drawing import Drawing, draughtsman
    from simcore.results.files import refuse
    from simcore.scenario.read import read
    from simcore.shipped import find

    known_formats(formats)
    path = find(file)
    if out is not None:
        output.refuse_taken(out, force)
    if json not in ("", "-"):
        refuse_file(Path(json), force)
    scenario = read(path, pairs(changes))
    folder = output.next_folder(path.stem) if out is None else output.named_folder(out, force)
    try:
        if json not in ("", "-"):
            refuse(json, "JSON")
        with draughtsman(not no_charts) as other:
            result = ready.run(scenario, quiet)
            drawing = None if no_charts else Drawing(result, folder / output.CHARTS, formats or ["png"], process=other)
            _tell(result, _shown(folder, not no_charts), str(folder), json == "-", quiet, verbose)
            output.save(result, folder)
            if json:
                _json(result, json)
            if drawing is not None:
                drawing.finish(quiet)
    finally:
        output.tidy(folder)
    if "cases given up" in result.findings:
        raise typer.Exit(1)


def _shown(folder: Path, charts: bool) -> str:
    from simcore.output import CHARTS, RESULT, TABLE

    return f"{folder}: {RESULT}, {TABLE}{f', {CHARTS}/' if charts else ''}"


def _tell(result: ResultSet, files: str, where: str, to_stderr: bool, quiet: bool, verbose: bool) -> None:
    """The numbers, before anything is drawn; nothing where standard output is for JSON."""
    from simcore.screen.first import screen
    from simcore.screen.inside import solver

    if to_stderr:
        if not quiet:
            stdio.note(files)
        return
    if quiet:
        stdio.say(f"{result.sentence}\n{files}")
    else:
        wide = stdio.columns()
        stdio.show(screen(result, wide, [files], where) + (solver(result, wide) if verbose else []))


def _json(result: ResultSet, target: str) -> None:
    from simcore.cli.jsonout import document
    from simcore.results.files import replace

    text = stdio.json_text(document(result))
    if target == "-":
        stdio.say(text.rstrip("\n"))
    else:
        replace(target, text.encode("utf-8"), "JSON")


def refuse_file(path: Path, force: bool) -> None:
    from simcore.errors import InputError

    if path.exists() and not force:
        raise InputError(f"{path}: exists already; --force writes over it")


def pairs(changes: list[str]) -> dict[str, str]:
    """PATH=VALUE texts by path.  Raises InputError."""
    from simcore.errors import Fault, InputError

    faults = [Fault(c[:80], "is not PATH=VALUE", file="--set") for c in changes if "=" not in c]
    if faults:
        raise InputError(faults)
    return dict(_pair(c) for c in changes)


def _pair(change: str) -> tuple[str, str]:
    """Parted at the first equals sign before which a whole path stands: a name in it may have one too."""
    from simcore.scenario.paths import PathFault, parse

    for n in (n for n, sign in enumerate(change) if sign == "="):
        with suppress(PathFault):
            parse(change[:n].strip())
            return change[:n].strip(), change[n + 1 :].strip()
    path, _, value = change.partition("=")
    return path.strip(), value.strip()


def known_formats(formats: list[str]) -> None:
    """Raises InputError for a format that no chart is drawn in."""
    from simcore.errors import Fault, InputError

    faults = [
        Fault(f[:40], f"is no format of charts, use {', '.join(FORMATS)}", file="--format")
        for f in formats
        if f not in FORMATS
    ]
    if faults:
        raise InputError(faults)


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="File to start; must not exist.", show_default=False)],
) -> None:
    """Start a commented scenario file.

    \b
    Example:
      simcore new my_line.toml
    """
    from simcore.errors import InputError, ResultError
    from simcore.scenario.new import template

    try:
        with file.open("x", encoding="utf-8", newline="\n") as f:
            f.write(template())
    except FileExistsError:
        raise InputError(f"{file}: exists already and stays as it is; choose another name") from None
    except OSError as error:
        raise ResultError(f"{file}: cannot be written, {(error.strerror or str(error)).lower()}") from None
    stdio.say(f"{file} started.  Next: simcore check {_quoted(file)}, then simcore run {_quoted(file)}")


def _quoted(file: Path) -> str:
    return f'"{file}"' if " " in str(file) else str(file)
