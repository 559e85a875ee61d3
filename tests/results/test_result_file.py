"""A result survives its file; the file's layout is pinned."""

from __future__ import annotations

import pickle
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import h5py
import numpy as np
import pytest
from factory import BARE, CANDIDATES, SITUATIONS, differences, result, run

from simcore.errors import ResultError
from simcore.results.layout import _MORE, escaped
from simcore.results.model import Answer, Margin
from simcore.results.read import open_result
from simcore.results.tables import ANSWERS, MARGINS
from simcore.results.write import write

LAYOUT = Path(__file__).with_name("layout.txt")


@pytest.fixture(scope="module")
def stored(tmp_path_factory):
    path = tmp_path_factory.mktemp("with spaces, ümlauts") / "result.v1.h5"
    write(result(), path)
    return path


def test_written_and_read_is_the_same(stored):
    assert differences(result(), open_result(stored)) == []


def test_the_check_above_can_fail(stored):
    a = result()
    r = a.runs["friction disc", "laundry jams"]
    moved = replace(r, torque=r.torque * (1.0 + 2e-7))
    other = replace(a, runs={**a.runs, ("friction disc", "laundry jams"): moved}, sentence="Fit nothing.")
    assert len(differences(other, open_result(stored))) == 2


def test_runs_are_loaded_when_asked_for(stored):
    runs = open_result(stored).runs
    assert repr(runs) == "<20 runs, 0 loaded>"
    assert runs["friction disc", "a/b then c"] is runs["friction disc", "a/b then c"]
    assert repr(runs) == "<20 runs, 1 loaded>"
    assert ("friction disc", "no such") not in runs
    assert list(runs) == list(result().runs)


def test_a_result_from_a_file_can_be_pickled(stored):
    assert differences(result(), pickle.loads(pickle.dumps(open_result(stored)))) == []


def test_the_name_is_free_while_a_result_is_open(stored, tmp_path):
    path = tmp_path / "r.h5"
    path.write_bytes(stored.read_bytes())
    opened = open_result(path)
    write(replace(result(), title="another"), path)
    path.unlink()
    assert differences(result(), opened) == []


def test_a_line_without_events_answers_or_runs(tmp_path):
    bare = replace(
        result(), runs={(BARE, "a/b then c"): run(BARE, "a/b then c")}, answers=(), warnings=(), defaults=(),
        bounds=(), inertias={}, findings={}, provenance={}, scenario_text="",
    )  # fmt: skip
    for i, r in enumerate((bare, replace(bare, runs={}))):
        write(r, tmp_path / f"{i}.h5")
        assert differences(r, open_result(tmp_path / f"{i}.h5")) == []


def test_the_protected_place_may_travel(tmp_path):
    pulled = replace(result(), protect="hoist rope")
    write(pulled, tmp_path / "r.h5")
    assert differences(pulled, open_result(tmp_path / "r.h5")) == []
    with h5py.File(tmp_path / "r.h5") as f:
        assert f["measures/peak"].attrs["units"] == "N"
        assert f["answers/peak"].attrs["units"] == "N"
        assert f["answers/setting"].attrs["units"] == "N m"


NAMES = ("a/b", "..", ".", " x ", "50 % of it", "", "ü\u0301\t\"'", "%2F", "line\nbreak")


@pytest.mark.parametrize("name", NAMES)
def test_any_name_may_stand_in_a_path(name, tmp_path):
    r = replace(result(), runs={(name, "a/b then c"): run(name, "a/b then c")}, answers=())
    write(r, tmp_path / "r.h5")
    assert list(open_result(tmp_path / "r.h5").runs) == [(name, "a/b then c")]
    assert differences(r, open_result(tmp_path / "r.h5")) == []


def test_escaped_names_stay_distinct():
    names = ["a/b", "a%2Fb", "a b", "a b ", " a b", "%", "", "a.b", ".a"]
    assert len({escaped(n) for n in names}) == len(names)
    assert not any("/" in escaped(n) for n in names)


def test_what_no_file_can_hold_is_replaced(tmp_path):
    write(replace(result(), sentence="half \ud800 a pair", warnings=("nul \x00 inside",)), tmp_path / "r.h5")
    r = open_result(tmp_path / "r.h5")
    assert (r.sentence, r.warnings) == ("half ? a pair", ("nul \ufffd inside",))


def test_the_layout_is_pinned(stored):
    """A changed layout breaks the scripts of those who read the file: raise the format number or add only."""
    assert dump(stored) == LAYOUT.read_text(encoding="utf-8")


def dump(path: Path) -> str:
    """Groups, variables, types, dimensions and units of a file, one run for all."""
    lines = []
    shown = f"/runs/{escaped(CANDIDATES[0])}/{escaped(SITUATIONS[0])}"
    with h5py.File(path) as f:
        lines.append("/ " + " ".join(sorted(f.attrs)))
        for name in ("answers", "measures", "connections", "ledger", "counts", "findings", "inputs", shown):
            g = f[name]
            lines += ["", f"{g.name} " + " ".join(sorted(g.attrs))]
            lines += [_line(g[v]) for v in sorted(g) if "units" in g[v].attrs]
    return "\n".join(lines) + "\n"


def _line(d) -> str:
    is_scale = d.attrs.get("CLASS") == b"DIMENSION_SCALE"
    dims = [d.name] if is_scale else [d.dims[i][0].name for i in range(d.ndim)]
    kind = "text" if h5py.check_string_dtype(d.dtype) else str(d.dtype)
    own = d.name.rsplit("/", 1)[1]
    return f"  {own} ({', '.join(x.rsplit('/', 1)[1] for x in dims)}) {kind} [{d.attrs['units']}]"


def test_additions_do_not_disturb_and_omissions_are_empty(stored, tmp_path):
    path = tmp_path / "r.h5"
    path.write_bytes(stored.read_bytes())
    with h5py.File(path, "r+") as f:
        f.attrs["a later addition"] = 1
        f.create_group("later").create_dataset("x", data=np.arange(3))
        f["answers"].create_dataset("later", data=np.arange(4.0))
        f["answers/later"].attrs["units"] = "K"
        f["runs/friction disc/laundry jams"].create_dataset("later", data=np.arange(60.0))
        del f["answers/until"], f["answers/rise_limit"], f["findings"], f["inputs/default_usual"]
    r = open_result(path)
    assert r.answers[0].until == ""
    assert np.isnan(r.answers[0].rise_limit)
    assert r.findings == {}
    assert r.defaults[0].usual == ""
    run_a, run_b = (x.runs["friction disc", "laundry jams"] for x in (r, result()))
    assert differences(run_b, run_a) == []


def test_a_value_changed_by_another_program_is_read(stored, tmp_path):
    path = tmp_path / "r.h5"
    path.write_bytes(stored.read_bytes())
    with h5py.File(path, "r+") as f:
        f["answers/peak"][0] = 1.0
    assert open_result(path).answers[0].peak == 1.0


def test_importing_the_readers_and_writers_is_light():
    modules = "write, read, export, compare, frames, tables, traces, columns, inputs, netcdf, files"
    heavy = "{'h5py', 'pandas', 'xarray', 'pyarrow', 'pint', 'numba', 'scipy', 'matplotlib', 'pydantic'}"
    code = f"import sys; from simcore.results import {modules}; print(*({heavy} & set(sys.modules)))"
    out = subprocess.run([sys.executable, "-c", code], cwd=LAYOUT.parents[2], capture_output=True, check=True)
    assert out.stdout.split() == []


def test_every_field_and_measure_is_described():
    """A field or measure without unit and name of its own would be stored with guessed ones."""
    from simcore.definitions import MEASURES
    from simcore.measures.extract import NAMES

    described = {*ANSWERS, *MEASURES, *_MORE}
    assert set(Answer.__dataclass_fields__) - {"name", "margins"} <= described
    assert {*NAMES, "peak", "peak_time", "first_peak", "end", "ledger", "failed"} <= described
    assert set(MARGINS) | {"situation"} == set(Margin._fields)


def test_a_file_from_before_a_field_was_added_opens(stored, tmp_path):
    path = tmp_path / "r.h5"
    path.write_bytes(stored.read_bytes())
    assert {a.phase_kept for a in open_result(path).answers} == {"no"}
    with h5py.File(path, "r+") as f:
        del f["answers/phase_kept"]
    assert {a.phase_kept for a in open_result(path).answers} == {""}


def test_a_newer_format_and_foreign_files_are_refused(stored, tmp_path):
    path = tmp_path / "r.h5"
    path.write_bytes(stored.read_bytes())
    with h5py.File(path, "r+") as f:
        f.attrs["format_number"] = 2
    with pytest.raises(ResultError, match="has format number 2, this simcore reads up to 1"):
        open_result(path)
    with h5py.File(path, "w") as f:
        f["x"] = 1.0
    with pytest.raises(ResultError, match="an HDF5 file, but not a result"):
        open_result(path)


@pytest.mark.slow
def test_the_shipped_example(tmp_path):
    from simcore import api

    example = LAYOUT.parents[2] / "scenarios" / "bakery_tray_conveyor.toml"
    r = api.run(example, evidence=False)
    write(r, tmp_path / "r.h5")
    assert differences(r, open_result(tmp_path / "r.h5")) == []
    assert (tmp_path / "r.h5").stat().st_size < 5e6


def test_size_and_speed_of_a_full_result(tmp_path):
    """Twenty runs of 1500 rows: below 5 MB; the time is held loosely, machines differ."""
    full = result(rows=1500)
    write(full, tmp_path / "r.h5")
    began = time.process_time()
    write(full, tmp_path / "r.h5")
    assert time.process_time() - began < 10.0
    assert (tmp_path / "r.h5").stat().st_size < 5e6
