"""A process that sweeps the stand-in as the command does: drive.py FOLDER [name=value ...].

``kill=STEP`` and ``n=N`` kill it (as by kill -9) at the N-th time it has done that step.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import typer
from stand_in import StandInPlan, setup

from simcore.cli.guard import leave
from simcore.cli.sweeping import Watch, finish, options
from simcore.sweep.runner import Options, sweep
from simcore.sweep.stops import Stops
from simcore.sweep.table import export


class Killer:
    """Kills its own process the n-th time a step is done."""

    def __init__(self, step: str, n: int) -> None:
        self.step, self.left = step, n

    def __call__(self, step: str) -> None:
        if step == self.step:
            self.left -= 1
            if self.left <= 0:
                os.kill(os.getpid(), signal.SIGKILL)


def main(folder: Path, given: dict[str, str]) -> None:
    plan = StandInPlan().grown(int(given.get("draws", "70")))
    killer = Killer(given.get("kill", ""), int(given.get("n", "1")))
    watch = Watch(every=float(given.get("every", "60")))
    base = options(
        int(given.get("workers", "2")), "", Stops(None, lambda t: print(t, file=sys.stderr, flush=True)), watch
    )
    with watch:
        report = sweep(
            folder,
            setup(plan, delay=float(given.get("delay", "0"))),
            Options(workers=base.workers, stops=base.stops, tell=watch, say=watch.say, at=killer,
                    reserve=int(given.get("reserve", "0"))),
        )  # fmt: skip
    if "export" in given:
        export(folder, folder / "tables", ["csv"], killer)
    finish(report, folder)


if __name__ == "__main__":
    try:
        main(Path(sys.argv[1]), dict(a.split("=", 1) for a in sys.argv[2:]))
    except typer.Exit as end:
        sys.exit(end.exit_code)
    except BaseException as error:
        leave(error)
