"""What a finished sweep leaves on the screen and in its folder."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from simcore.cli import stdio


def conclude(folder: Path, charts: bool, formats: Sequence[str], quiet: bool) -> None:
    """Numbers first: the screen, ``decision.csv``, then the charts.  Raises SimcoreError."""
    from simcore.charts.sweep_draw import SWEEP_KINDS
    from simcore.cli.sweep_charts import draw
    from simcore.output import CHARTS
    from simcore.screen.sweep import sweep_screen
    from simcore.sweep.answers import write_answers
    from simcore.sweep.book import DECISION
    from simcore.sweep.decide import decide
    from simcore.sweep.result import RESULT, SweepResult

    result = SweepResult.load(folder)
    decision = decide(result)
    files = f"{folder}: {RESULT}, {DECISION}{f', {CHARTS}/' if charts else ''}"
    if quiet:
        stdio.say(f"{decision.sentence}\n{files}")
    else:
        stdio.show([[], *sweep_screen(result, stdio.columns(), [files], decision)])
    write_answers(decision, folder / DECISION)
    if charts:
        draw(result, folder / CHARTS, formats or ["png"], list(SWEEP_KINDS), quiet, decision)
