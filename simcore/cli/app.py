"""The commands, registered by name; what they need is imported when they run."""

from __future__ import annotations

from typing import Annotated

import typer

from simcore.cli import after, look, replaying, start, sweeping
from simcore.cli.guard import guarded

app = typer.Typer(
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    help="Which overload protection saves the drive line, how fast, and what it takes to run again.\n\n"
    "\b\nExample:\n  simcore run bakery_tray_conveyor",
    epilog="A torque-limiting part is no safeguard for people; local codes and licensed practice have the last word.",
)


def versions() -> str:
    """simcore, Python, numpy, numba; none of them is loaded for it."""
    import platform
    from importlib.metadata import version

    import simcore

    libraries = ", ".join(f"{n} {version(n)}" for n in ("numpy", "numba"))
    return f"simcore {simcore.__version__}, Python {platform.python_version()}, {libraries}"


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(versions())
        raise typer.Exit


@app.callback()
def top(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show versions and stop.")
    ] = False,
) -> None:
    pass


for command in (
    start.run, look.check, start.new, look.scenarios, look.parts, look.explain, look.schema,
    sweeping.sweep, sweeping.status, replaying.replay,
    after.show, after.chart, after.export, after.compare, after.rerun,
):  # fmt: skip
    app.command()(guarded(command))
