"""What the tests of the store share: comparing results, running a sweep in a process that may be killed."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np

from simcore.sweep.result import SweepResult

HERE = Path(__file__).parent
ROOT = HERE.parents[1]


def assert_same(one: SweepResult, two: SweepResult) -> None:
    """Every number, to the last bit (NaN where NaN)."""
    assert list(one.measures) == list(two.measures)
    for name, values in one.measures.items():
        assert values.tobytes() == two.measures[name].tobytes(), name
    for name in ("asks", "status", "setting"):
        assert getattr(one, name).tobytes() == getattr(two, name).tobytes(), name
    assert one.samples.keys() == two.samples.keys()
    assert all(np.array_equal(one.samples[n], two.samples[n]) for n in one.samples)


def words(*args: str) -> list[str]:
    """The command line of the stand-in's sweep, see ``drive.py``."""
    return [sys.executable, str(HERE / "drive.py"), *args]


def environment() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), str(HERE)])}


def start(*args: str, **more: object) -> subprocess.Popen[str]:
    return subprocess.Popen(words(*args), env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                            encoding="utf-8", **more)  # type: ignore[call-overload, no-any-return]  # fmt: skip


def drive(*args: str) -> subprocess.CompletedProcess[str]:
    """Run it to its end."""
    return subprocess.run(words(*args), env=environment(), capture_output=True, encoding="utf-8", timeout=120)
