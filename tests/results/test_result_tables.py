"""Tables for pandas, CSV and Parquet hold the numbers of the result, with units."""

from __future__ import annotations

import csv
import importlib.util
from dataclasses import replace

import h5py
import numpy as np
import pytest
from factory import CANDIDATES, result, run

from simcore.errors import InputError, ResultError
from simcore.results import export as export_module
from simcore.results import frames
from simcore.results.export import export, file_names
from simcore.results.frames import to_frame, to_xarray
from simcore.results.write import write

FIRST = ("friction disc", "laundry jams")


@pytest.fixture
def without(monkeypatch):
    """Pretends that a library is not installed."""

    def hide(module, *names):
        real = importlib.util.find_spec
        monkeypatch.setattr(module, "find_spec", lambda n: None if n in names else real(n))

    return hide


def rows(path):
    with path.open(encoding="utf-8", newline="") as f:
        return list(csv.reader(f))


def test_what_a_run_found_out_has_its_unit_in_the_file(tmp_path):
    """A protection turns; where the protected connection travels, what is reflected to it is a mass."""
    names = {
        "inertia before 'disc'": 1.4,
        "inertia varies by 'crank'": 0.2,
        "lowest mode": 53.0,
        "steady transient": 0.0,
    }
    for travels, unit in ((False, "kg m^2"), (True, "kg")):
        r = replace(result(), findings=names)
        if travels:
            pull = {k: tuple(replace(c, unit="N") for c in x.connections) for k, x in r.runs.items()}
            r = replace(r, runs={k: replace(x, connections=pull[k]) for k, x in r.runs.items()})
        write(r, tmp_path / "result.h5")
        with h5py.File(tmp_path / "result.h5") as f:
            units = {d.attrs["name"]: d.attrs["units"] for d in f["findings"].values()}
        assert units == dict(zip(names, ("kg m^2", unit, "rad/s", "1"), strict=True))


def test_csv_of_answers(tmp_path):
    files = export(result(), tmp_path / "new" / "tables")
    assert len(files) == 21
    assert files[0].name == "answers.csv"
    head, *body = rows(files[0])
    assert [r[0] for r in body] == list(CANDIDATES)
    first = dict(zip(head, body[0], strict=True))
    assert first["peak [N m]"] == "395.9"
    assert first["lets_go [s]"] == "0.0116"
    assert first["disconnect [s]"] == ""
    assert first["margin, Anlauf voll [N m]"] == "91.5"
    assert first["passed"] == "yes"
    assert first["phase_kept"] == "no"
    assert dict(zip(head, body[1], strict=True))["reasons"] == "trips on 'Anlauf voll'; too hot"


def test_csv_of_traces_reads_back_as_the_same_numbers(tmp_path):
    files = export(result(), tmp_path)
    r = result().run(*FIRST)
    (path,) = [f for f in files if f.name == "traces - friction disc - laundry jams.csv"]
    head, *body = rows(path)
    columns = dict(zip(head, zip(*body, strict=True), strict=True))
    assert head[0] == "time [s]"
    np.testing.assert_array_equal([float(x) for x in columns["time [s]"]], r.time)
    np.testing.assert_array_equal([float(x) for x in columns["angle, drum [rad]"]], r.angle[:, 3])
    torque = np.array(columns["torque, head shaft [N m]"], dtype=np.float32)
    np.testing.assert_array_equal(torque, r.torque[:, 2].astype(np.float32))
    assert "force, hoist rope [N]" in head
    assert "velocity, trolley [m/s]" in head
    assert "torque, hoist rope [N m]" not in head
    assert set(columns["mode, friction disc"]) <= {"stuck", "slides forward"}
    bare = next(f for f in files if f.name == "traces - none - laundry jams.csv")
    assert rows(bare)[1][rows(bare)[0].index("twist [rad]")] == ""


def test_a_result_and_its_file_export_alike(tmp_path):
    write(result(), tmp_path / "r.h5")
    direct = export(result(), tmp_path / "a")
    through = export(tmp_path / "r.h5", tmp_path / "b")
    assert [f.read_bytes() for f in direct] == [f.read_bytes() for f in through]


def test_parquet_holds_types_and_units(tmp_path):
    pd, pq = pytest.importorskip("pandas"), pytest.importorskip("pyarrow.parquet")
    files = export(result(), tmp_path, ("parquet", "csv", "csv"))
    assert len(files) == 42
    (path,) = [f for f in files if f.name == "traces - friction disc - laundry jams.parquet"]
    frame = pd.read_parquet(path)
    r = result().run(*FIRST)
    np.testing.assert_array_equal(frame["time [s]"], r.time)
    assert frame["torque, head shaft [N m]"].dtype == np.float32
    assert pq.read_schema(path).field("torque, head shaft [N m]").metadata[b"units"] == b"N m"
    answers = pd.read_parquet(files[0])
    assert answers["passed"].tolist() == [True, False, True, True]
    assert answers["rank"].tolist() == [1, 2, 3, 4]


def test_refusals_are_sentences(tmp_path, without):
    with pytest.raises(InputError, match='"xlsx" is not a format of export, use csv or parquet'):
        export(result(), tmp_path, ("csv", "xlsx"))
    (tmp_path / "file").write_text("x")
    for folder in (tmp_path / "file", tmp_path / "file" / "below"):
        with pytest.raises(ResultError, match=r"file"):
            export(result(), folder)
    with pytest.raises(ResultError, match="no such file"):
        export(tmp_path / "none.h5", tmp_path)
    without(export_module, "pyarrow")
    with pytest.raises(ResultError, match="Parquet needs pyarrow"):
        export(result(), tmp_path, ("parquet",))
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def test_file_names_are_fit_for_every_system():
    names = file_names(['a/b:c*?"<>|\\', "A_B_C_______", "ümlaut", "x" * 300, "x" * 301, "dot. "])
    assert names[0] == "a_b_c_______"
    assert names[1] == "A_B_C_______ (2)"
    assert names[2] == "ümlaut"
    assert all(len(n.encode()) <= 190 for n in names)
    assert names[5] == "dot"
    assert len({n.casefold() for n in names}) == 6


def test_frames_carry_units():
    pytest.importorskip("pandas")
    answers = to_frame(result())
    assert answers.index.tolist() == list(CANDIDATES)
    assert answers.loc["friction disc", "peak"] == 395.9
    assert answers.attrs["units"]["peak"] == "N m"
    assert answers["passed"].dtype == bool
    traces = to_frame(run(*FIRST))
    assert traces.index.name == "time"
    assert traces.attrs["units"]["force, hoist rope"] == "N"


def test_xarray_object_equals_the_group_in_the_file(tmp_path):
    xr = pytest.importorskip("xarray")
    write(result(), tmp_path / "r.h5")
    for key in (FIRST, ("none", "Anlauf voll")):
        group = f"/runs/{key[0]}/{key[1]}"
        with xr.open_dataset(tmp_path / "r.h5", group=group, engine="h5netcdf") as stored:
            ours = to_xarray(result().run(*key))
            xr.testing.assert_equal(ours, stored)
            assert set(ours.coords) == set(stored.coords)
            for name in ours.variables:
                assert ours[name].attrs["units"] == stored[name].attrs["units"]


def test_plain_arrays_without_pandas_and_xarray(without):
    without(frames, "pandas", "xarray")
    answers, traces, arrays = to_frame(result()), to_frame(run(*FIRST)), to_xarray(run(*FIRST))
    assert type(answers) is type(traces) is type(arrays) is dict
    assert answers["rank"].tolist() == [1, 2, 3, 4]
    assert next(iter(traces)) == "time"
    assert arrays["torque"].shape == (60, 8)


def test_an_unknown_mode_number_is_shown_as_a_number(tmp_path):
    r = run(*FIRST)
    odd = replace(r, mode=np.full_like(r.mode, 9))
    (path,) = export(replace(result(), runs={FIRST: odd}), tmp_path)[1:]
    assert rows(path)[1][rows(path)[0].index("mode, friction disc")] == "9"
