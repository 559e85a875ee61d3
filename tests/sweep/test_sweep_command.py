"""The command as an engineer gives it: scenario, plan, trial and store together."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from helpers import environment

from simcore.shipped import find

pytestmark = pytest.mark.skipif(find_spec("simcore.sweep.plan") is None, reason="plans are not there yet")

SECTION = """
[sweep]
seed = 3
draws = DRAWS
design = "latin hypercube"
situations = ["tray jams", "full start"]
candidates = ["friction disc", "shear pins"]

[[sweep.factor]]
name = "setting"
path = "candidates[*].setting"
times = true
grid = { from = 0.8, to = 1.2, steps = 2 }

[[sweep.factor]]
name = "jam stiffness"
path = 'situations["tray jams"].stiffness'
times = true
scatter = { log_uniform = [0.5, 2] }
"""


def scenario(folder: Path, draws: int) -> Path:
    text = Path(find("bakery_tray_conveyor")).read_text(encoding="utf-8")
    bare = text.partition("\n[sweep]")[0]
    path = folder / "tray.toml"
    path.write_text(bare + SECTION.replace("DRAWS", str(draws)), encoding="utf-8")
    return path


def call(*args: str) -> tuple[int, str, str]:
    import subprocess
    import sys

    done = subprocess.run([sys.executable, "-m", "simcore", *args], env=environment(), capture_output=True,
                          encoding="utf-8", timeout=300)  # fmt: skip
    return done.returncode, done.stdout, done.stderr


def test_sweep_status_extension_export(tmp_path: Path, kernel: object) -> None:
    from simcore.sweep.result import SweepResult

    night = str(tmp_path / "night")
    code, out, err = call("sweep", str(scenario(tmp_path, 8)), "--out", night)
    assert code == 0, err
    assert f"Finished: 32 cases, 0 failed; {night}" in out
    first = SweepResult.load(night)
    held = dict(first.measures)  # read now: the file is about to be replaced
    assert held["use"].shape == (2, 2, 8, 2)
    assert first.setting[:, 1] == pytest.approx(1.5 * first.setting[:, 0], rel=1e-12)
    assert call("status", night)[1].startswith(f"{night}: finished\n32 of 32 cases")
    code, out, err = call("sweep", str(scenario(tmp_path, 12)), "--out", night, "--workers", "1")
    assert code == 0, err
    longer = SweepResult.load(night)
    for name, values in held.items():
        assert np.array_equal(longer.measures[name][:, :, :8], values, equal_nan=True), name
    assert np.array_equal(longer.samples["jam stiffness"][:8], first.samples["jam stiffness"])
    assert np.array_equal(longer.asks[:, :8], first.asks, equal_nan=True)
    assert call("export", night, "--csv")[0] == 0
    assert len((tmp_path / "night" / "tables" / "cases.csv").read_text().splitlines()) == 1 + 2 * 2 * 12 * 2


def test_faults_are_sentences(tmp_path: Path) -> None:
    file = scenario(tmp_path, 8)
    file.write_text(file.read_text(encoding="utf-8").partition("\n[sweep]")[0], encoding="utf-8")
    code, out, err = call("sweep", str(file), "--out", str(tmp_path / "night"))
    assert (code, out) == (2, "")
    assert err.strip().endswith("has no section [sweep], which says what varies and how many draws are taken")
    code, _, err = call("sweep", str(file), "--out", str(tmp_path / "night"), "--until", "6:75")
    assert code == 2
    assert "time of day such as 06:30" in err
    assert "Traceback" not in err
    assert not (tmp_path / "night").exists()
