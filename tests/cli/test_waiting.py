"""What is said while a run takes long and nobody looks at a terminal."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest
from shell import inside

from simcore.cli.waiting import Minutes
from simcore.errors import InputError

COUNT = 3
"""Runs that the stand-in tells of."""


def slow(scenario: Any, settings: Any) -> None:
    """As ``conduct``, some tenths of a second long, without a result."""
    for n in range(COUNT):
        time.sleep(0.15)
        settings.progress(n + 1, COUNT + 1, f"detent, jam {n}")
    time.sleep(0.15)
    settings.progress(COUNT + 1, COUNT + 1, "defaults")
    time.sleep(0.15)
    raise InputError("done")


@pytest.mark.parametrize("quiet", [False, True])
def test_a_line_now_and_then_into_a_pipe(
    quiet: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("simcore.conduct.conduct", slow)
    monkeypatch.setattr("simcore.cli.ready.announce", lambda _: 0)
    monkeypatch.setattr("simcore.cli.waiting.EVERY", 0.05)
    words = ["run", "bakery_tray_conveyor", "--no-charts", *(["--quiet"] if quiet else [])]
    assert inside(monkeypatch, *words) == 2
    got = capsys.readouterr()
    assert not got.out
    for said in ("the first run is not done yet", "2 of 4 runs done (last detent, jam 1), about 1 s left",
                 "all 4 runs done, now defaults"):  # fmt: skip
        assert (said in got.err) is not quiet


def test_the_time_left_leaves_out_getting_ready() -> None:
    minutes = Minutes(before=100.0)
    minutes.began -= 130.0
    minutes(1, 11, "first")
    assert minutes.sentence() == "1 of 11 runs done (last first), about 5 min 0 s left"
