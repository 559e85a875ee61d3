"""Commands for many cases: sweep, status."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from simcore.cli import complete, stdio
from simcore.cli.start import FILE, SET, known_formats, pairs
from simcore.cli.waiting import EVERY, Bar

if TYPE_CHECKING:
    from simcore.sweep.jobs import Queue
    from simcore.sweep.runner import Options, Report
    from simcore.sweep.status import Progress


def sweep(
    file: FILE,
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="Folder of the sweep; one that was begun goes on.")],
    workers: Annotated[int, typer.Option(min=0, metavar="N", help="How many compute here; 0: one a core.")] = 0,
    until: Annotated[str, typer.Option(metavar="HH:MM", help="Stop cleanly at this local time.")] = "",
    scheduler: Annotated[
        str, typer.Option(metavar="ADDRESS", help="dask scheduler whose workers compute, tcp://host:port.")
    ] = "",
    cluster: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="TOML file on a cluster's queue (system, jobs, cores, memory, walltime, [more]); its jobs compute.",
        ),
    ] = None,
    no_charts: Annotated[bool, typer.Option("--no-charts", help="Draw nothing at the end.")] = False,
    quiet: Annotated[
        bool, typer.Option("--quiet", "-q", help="Say nothing while it runs, then the choice and the files.")
    ] = False,
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
) -> None:
    """Run every case of a scenario's section [sweep] and give the answer; given again, go on where it stopped.

    Stopped early it answers from the draws that all candidates have run.

    \b
    Examples:
      simcore sweep bakery_tray_conveyor --out night --set sweep.draws=8
      simcore sweep bakery_tray_conveyor --out night --set sweep.draws=8 --until 06:30
    """
    from simcore.cli import ready
    from simcore.cli.sweep_end import conclude
    from simcore.scenario.read import read
    from simcore.shipped import find
    from simcore.sweep.book import refuse_foreign
    from simcore.sweep.join import setup
    from simcore.sweep.runner import sweep as run
    from simcore.sweep.stops import Stops, when
    from simcore.sweep.stops import until as time_of_day

    known_formats(formats)
    stops = Stops(time_of_day(until) if until else None, stdio.note)
    if stops.then is not None and not quiet:
        stdio.note(when(stops.then))
    queue = on_queue(cluster, scheduler)
    refuse_foreign(out)
    scenario = read(find(file), pairs(changes))
    found = setup(scenario, out)
    ready.announce(scenario)
    if queue is None and not scheduler:
        stops.before = lambda: ready.still_compiling(scenario)
    watch = Watch(quiet)
    with watch:
        report = run(out, found, options(workers, scheduler, stops, watch, queue))
    charts = not (no_charts or stops.asked)
    finish(report, out, quiet, lambda: conclude(out, charts, formats, quiet))


def on_queue(file: Path | None, scheduler: str) -> Queue | None:
    """What --cluster asks for, checked before anything is begun.  Raises InputError, ResultError."""
    if file is None:
        return None
    from simcore.errors import InputError
    from simcore.sweep.jobs import read_queue, systems

    if scheduler:
        raise InputError("--cluster starts a scheduler of its own; give it or --scheduler, not both")
    queue = read_queue(file)
    systems()
    return queue


def options(workers: int, scheduler: str, stops: Any, watch: Watch, queue: Queue | None = None) -> Options:
    """How the command runs a sweep."""
    from simcore.sweep.runner import Options

    if queue is not None:
        from simcore.sweep.jobs import Jobs

        asked = queue
        watch.say(f"{asked.jobs} jobs of {asked.cores} cores asked of {asked.system}; work begins with the first")
        return Options(crew=lambda s: Jobs(asked, s.make_trial, s.expects, s.versions), stops=stops, tell=watch,
                       say=watch.say)  # fmt: skip
    if not scheduler:
        return Options(workers=workers, stops=stops, tell=watch, say=watch.say)
    from simcore.sweep.cluster import Cluster

    return Options(crew=lambda s: Cluster(scheduler, s.make_trial, s.expects, s.versions), stops=stops, tell=watch,
                   say=watch.say)  # fmt: skip


def finish(report: Report, out: Path, quiet: bool = False, answer: Callable[[], None] = lambda: None) -> None:
    """Tell how it ended, and ``answer`` if it has a result; who was asked to stop leaves as by Ctrl-C."""
    from simcore.cli.guard import STOPPED
    from simcore.sweep.status import sentence, table
    from simcore.sweep.stops import ASKED

    if not quiet:
        stdio.say("\n".join(table(report.progress)))
    if not report.reason:
        stdio.say(f"Finished: {report.progress.done} cases, {report.progress.failed} failed; {report.result}")
    else:
        stdio.say(f"{report.reason[:1].upper()}{report.reason[1:]}: {sentence(report.progress)}.")
        stdio.say(f"The same command goes on; simcore status {out} tells how far it is.")
    if report.result is not None:
        answer()
    if report.reason in ASKED.values():
        raise typer.Exit(STOPPED)


class Watch(Bar):
    """Progress: a bar with counters on a terminal, a line a minute elsewhere."""

    def __init__(self, quiet: bool = False, every: float = EVERY) -> None:
        super().__init__(quiet)
        self.lines = not quiet and not self.wanted
        self.every, self.said = every, time.monotonic()

    def __call__(self, p: Progress) -> None:  # type: ignore[override]
        from simcore.sweep.status import sentence

        if self.lines and time.monotonic() - self.said >= self.every:
            self.said = time.monotonic()
            stdio.note(f"{time.strftime('%H:%M')}  {sentence(p)}")
        if self.wanted:
            super().__call__(p.done, p.total, "sweep")
            if self.bar is not None:
                self.bar.update(self.task, more=sentence(p))

    def _open(self, of: float) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn

        self.bar = Progress(BarColumn(20), TextColumn("{task.fields[more]}", markup=False),
                            console=Console(stderr=True), transient=True)  # fmt: skip
        self.task = self.bar.add_task("", total=of, more="")
        self.bar.start()

    def say(self, text: str) -> None:
        """A sentence beside the bar."""
        if self.bar is not None:
            self.bar.console.print(text, markup=False, highlight=False)
        elif self.lines or self.wanted:
            stdio.note(text)


def status(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder of a sweep.", show_default=False)],
) -> None:
    """Tell how far a sweep is, also while it runs in another shell.

    \b
    Example:
      simcore status night
    """
    from simcore.sweep.status import sentence, table
    from simcore.sweep.status import status as read

    found = read(folder)
    stdio.say(f"{folder}: {found.state}")
    stdio.say(f"{sentence(found)}.")
    stdio.say("\n".join(table(found)))
    sys.stdout.flush()
