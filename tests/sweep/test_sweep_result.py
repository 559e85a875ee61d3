"""The merged file: read back, by other readers too, damaged, exported, made in little memory."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from helpers import assert_same, environment
from stand_in import StandInFactor, StandInPlan, setup

from simcore.errors import ResultError
from simcore.sweep.result import SweepResult
from simcore.sweep.runner import sweep
from simcore.sweep.table import export


def test_a_sweep_without_grid(tmp_path: Path) -> None:
    plan = StandInPlan(factors=(StandInFactor("none"),))
    sweep(tmp_path, setup(plan))
    r = SweepResult.load(tmp_path)
    assert r.measures["use"].shape == (2, 70, 2)
    assert r.setting.shape == (2,)
    xr = pytest.importorskip("xarray")
    with xr.open_dataset(tmp_path / "sweep.h5", engine="h5netcdf") as ds:
        assert ds.use.dims == ("candidate", "draw", "situation")


def test_xarray_opens_the_merged_file_in_one_line(tmp_path: Path) -> None:
    xr = pytest.importorskip("xarray")
    sweep(tmp_path, setup())
    r = SweepResult.load(tmp_path)
    with xr.open_dataset(tmp_path / "sweep.h5", engine="h5netcdf") as ds:
        assert dict(ds.sizes) == {"candidate": 2, "setting": 3, "draw": 70, "situation": 2}
        got = ds.use.sel(candidate="pins", setting=1.3, situation="belt jams")
        assert np.array_equal(got, r.measures["use"][1, 2, :, 0])
        assert ds.peak.attrs["units"] == "N m"
        assert ds.attrs["scenario"] == r.scenario_text
        assert np.array_equal(ds.sample_jam_stiffness, r.samples["jam stiffness"])


def test_result_round_trip(tmp_path: Path) -> None:
    sweep(tmp_path / "s", setup())
    one = SweepResult.load(tmp_path / "s")
    one.write(tmp_path / "again.h5")
    two = SweepResult.load(tmp_path / "again.h5")
    assert_same(one, two)
    assert one.provenance == two.provenance
    assert (two.damage_target, two.seed, two.unit, two.tolerance) == (1e-3, 7, "N*m", {"disc": 0.1, "pins": 0.08})
    assert list(SweepResult.load(tmp_path / "s", only=["use"]).measures) == ["use"]


def test_names_that_collide_are_told_apart(tmp_path: Path) -> None:
    from dataclasses import replace

    sweep(tmp_path / "s", setup())
    r = SweepResult.load(tmp_path / "s")
    odd = replace(r, grids={"peak": r.grids["setting"]}, grid_kinds={"peak": "ratio"},
                  samples={"peak": r.samples["jam stiffness"], "Peak!": r.samples["jam stiffness"] * 2.0,
                           "setting": r.samples["jam stiffness"] * 3.0},
                  sample_kinds=dict.fromkeys(("peak", "Peak!", "setting"), "ratio"),
                  provenance={"long": "x" * 200_000})  # fmt: skip
    odd.write(tmp_path / "odd.h5")
    back = SweepResult.load(tmp_path / "odd.h5")
    assert_same(odd, back)
    assert tuple(back.grids) == ("peak",)
    assert back.provenance == odd.provenance


@pytest.mark.parametrize("spoil", ["cut", "flipped", "other", "absent"])
def test_damaged_result_is_a_sentence(tmp_path: Path, spoil: str) -> None:
    sweep(tmp_path, setup())
    path = tmp_path / "sweep.h5"
    data = bytearray(path.read_bytes())
    if spoil == "cut":
        path.write_bytes(data[:-1000])
    elif spoil == "flipped":
        data[len(data) // 2] ^= 1
        path.write_bytes(data)
    elif spoil == "other":
        path.write_text("bread, milk")
    else:
        path.unlink()
    with pytest.raises(ResultError, match=r"sweep\.h5: (is damaged|there is no such file)"):
        SweepResult.load(tmp_path)


def test_export_is_a_long_table(tmp_path: Path) -> None:
    pd = pytest.importorskip("pandas")
    sweep(tmp_path, setup(fails=(5,)))
    r = SweepResult.load(tmp_path)
    files = export(tmp_path, tmp_path / "tables", ["csv", "parquet"])
    csv = pd.read_csv(files[0])
    parquet = pd.read_parquet(files[1])
    assert list(csv.columns) == list(parquet.columns)
    assert list(csv.columns[:6]) == ["candidate", "setting", "draw", "sample of jam stiffness", "situation", "status"]
    for table in (csv, parquet):
        assert len(table) == 840
        use = table["use"].to_numpy().reshape(2, 3, 70, 2)
        assert np.array_equal(use, r.measures["use"], equal_nan=True)
        asks = table["smallest setting that holds [N m]"].to_numpy().reshape(2, 3, 70, 2)
        assert np.array_equal(asks[:, 2], r.asks, equal_nan=True)
        one = table[(table.candidate == "pins") & (table.setting == 1.3) & (table.draw == 69)]
        assert list(one.situation) == ["belt jams", "full start"]
    assert csv["use"].isna().sum() == 6


def test_export_command_knows_sweep_folders(tmp_path: Path) -> None:
    sweep(tmp_path / "s", setup())
    words = [sys.executable, "-m", "simcore", "export", str(tmp_path / "s"), "--csv"]
    got = subprocess.run(words, env=environment(), capture_output=True, encoding="utf-8")
    assert got.returncode == 0, got.stderr
    assert got.stdout.strip() == str(tmp_path / "s" / "tables" / "cases.csv")


MEMORY = """
import resource, sys
from dataclasses import replace
from pathlib import Path
from stand_in import StandInPlan, setup
from simcore.sweep.book import open_book
from simcore.sweep.blocks import Store
from simcore.sweep.merge import merge
folder, draws = Path(sys.argv[1]), int(sys.argv[2])
made = setup(replace(StandInPlan(), draws=draws, block=500))
book = open_book(folder, made)
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
assert merge(folder / "sweep.h5", made.head(draws), book.blocks, Store(folder, book.fingerprint), "") == []
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="kilobytes of resident memory")
def test_merging_many_blocks_takes_no_more_memory(tmp_path: Path) -> None:
    """Ten times as many blocks (60 MB of numbers instead of 6); what grows is one array a draw."""
    from dataclasses import replace

    grown = {}
    for draws in (10_000, 100_000):
        folder = tmp_path / str(draws)
        sweep(folder, setup(replace(StandInPlan(), draws=draws, block=500)))
        got = subprocess.run([sys.executable, "-c", MEMORY, str(folder), str(draws)], env=environment(),
                             capture_output=True, encoding="utf-8", check=True)  # fmt: skip
        grown[draws] = int(got.stdout) / 1024.0
    assert grown[100_000] - grown[10_000] < 20.0, grown


def test_measures_are_read_when_asked_for_and_never_from_another_file(tmp_path: Path) -> None:
    sweep(tmp_path / "s", setup())
    r = SweepResult.load(tmp_path / "s")
    assert "use" in r.measures
    assert not r.measures.known  # type: ignore[attr-defined]
    use = r.measures["use"]
    assert r.measures["use"] is use
    SweepResult.load(tmp_path / "s").write(tmp_path / "s" / "sweep.h5")
    with pytest.raises(ResultError, match="was written anew since it was opened"):
        _ = r.measures["peak"]
    (tmp_path / "s" / "sweep.h5").unlink()
    with pytest.raises(ResultError, match="cannot be read any more"):
        _ = r.measures["peak"]
    assert r.measures["use"] is use
