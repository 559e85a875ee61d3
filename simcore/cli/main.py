"""The command line's entry."""

from __future__ import annotations

import sys

from simcore.cli import stdio
from simcore.cli.guard import STOPPED, leave


def main() -> None:
    """Run the command line; ends the process with 0 done, 2 input at fault, 130 Ctrl-C, 1 anything else."""
    stdio.prepare()
    try:
        from simcore.cli.app import app

        app(prog_name="simcore")
    except SystemExit as end:  # of the library, which ends silently where Ctrl-C meets it before the command
        leave(KeyboardInterrupt() if end.code == STOPPED else end)
    except BaseException as error:
        leave(error)
    sys.exit(0)
