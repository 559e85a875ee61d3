"""Reference results of all lines, stored in tests/references/data: ``python -m tests.references.regenerate``."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from . import bakery, own_lines
from . import timelines as tl
from .engines import RTOL, simulate
from .record import of_reference

HERE = Path(__file__).parent
DATA = HERE / "data"
DEMO = HERE.parents[1] / "scenarios" / "bakery_tray_conveyor.toml"
STEP = 0.01


class Case(NamedTuple):
    """A line with its scenario file, what is tried in which situation, and the reference's builder."""

    scenario: Path
    candidate: str
    situation: str
    horizon: float
    build: Callable[[], Any]


CASES = {
    **{
        f"bakery_{kind.replace(' ', '_')}": Case(
            DEMO, kind, "tray jams", bakery.HORIZON, lambda k=kind: bakery.build(k)
        )
        for kind in ("friction disc", "ball detent", "shear pins", "magnet disc")
    },
    "laundry": Case(HERE / "lines/laundry_folder.toml", "ball detent", "sheet wedges", 1.5, own_lines.laundry),
    "sawmill": Case(HERE / "lines/sawmill_feed.toml", "friction disc", "loaded start", 0.8, own_lines.sawmill),
    "turntable": Case(HERE / "lines/carton_turntable.toml", "magnet disc", "carton caught", 1.8, own_lines.turntable),
    "packaging": Case(HERE / "lines/packaging_infeed.toml", "shear pins", "bag wedges", 0.4, own_lines.packaging),
    "brick_feeder": Case(HERE / "lines/brick_feeder.toml", "friction disc", "bricks wedge", 0.5, tl.brick_feeder),
    "seed_table": Case(HERE / "lines/seed_table.toml", "magnet disc", "clod, then off", 1.2, tl.seed_table),
    "peat_screw": Case(HERE / "lines/peat_screw.toml", "shear pins", "stone, then the button", 0.3, tl.peat_screw),
    "malt_conveyor": Case(HERE / "lines/malt_conveyor.toml", "ball detent", "sack caught", 0.35, tl.malt_conveyor),
    "quarry_skip": Case(
        HERE / "lines/quarry_skip.toml", "friction disc", "start, sticky, power lost", 1.2, tl.quarry_skip
    ),
}  # fmt: skip


def compute(name: str, engine: str = "scipy") -> dict[str, Any]:
    """Run one reference line."""
    case = CASES[name]
    system, y = case.build()
    return of_reference(simulate(system, y, case.horizon, STEP, engine))


def stored(name: str) -> dict[str, Any]:
    """The stored results of one line."""
    return json.loads((DATA / f"{name}.json").read_text(encoding="utf-8"))


def main(names: list[str]) -> None:
    for name in names or list(CASES):
        begin = time.perf_counter()
        result = {"made by": f"tests.references.regenerate, scipy DOP853, rtol {RTOL['scipy']:g}", **compute(name)}
        (DATA / f"{name}.json").write_text(json.dumps(result, indent=1) + "\n", encoding="utf-8")
        print(f"{name}: {time.perf_counter() - begin:.1f} s")


if __name__ == "__main__":
    main(sys.argv[1:])
