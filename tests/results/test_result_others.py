"""General-purpose libraries read the file without our code: xarray, pint and UDUNITS judge it."""

from __future__ import annotations

import h5py
import numpy as np
import pytest
from factory import CANDIDATES, result

from simcore.definitions import MEASURES
from simcore.results import remembering
from simcore.results.layout import escaped
from simcore.results.write import write

TABLES = ("answers", "measures", "connections", "ledger", "counts", "findings", "inputs")


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    path = tmp_path_factory.mktemp("others") / "r.h5"
    write(result(), path)
    return path


def every_variable(path):
    """Path and attributes of each variable; lengths of dimensions without labels are none."""
    found = []

    def note(name, d):
        bare = bytes(d.attrs.get("NAME", b"")).startswith(b"This is a netCDF dimension")
        if isinstance(d, h5py.Dataset) and not bare:
            found.append((name, dict(d.attrs)))

    with h5py.File(path) as f:
        f.visititems(note)
    return found


def test_every_variable_has_units_and_a_long_name(path):
    found = every_variable(path)
    assert len(found) > 400
    assert [n for n, a in found if not (a.get("units") and a.get("long_name"))] == []


def units_in(path):
    return sorted({a["units"] for _, a in every_variable(path)} | {m.unit for m in MEASURES.values()})


def test_pint_and_udunits_agree_on_every_unit(path):
    pint = pytest.importorskip("pint")
    cf_units = pytest.importorskip("cf_units")
    ureg = pint.UnitRegistry()
    base = ("m", "kg", "s", "K")
    units = units_in(path)
    assert {"N m", "rad/s", "kg m^2", "J", "K", "s", "1", "N"} <= set(units)
    for text in units:
        u = ureg.Unit(text)
        q = (1.0 * u).to_base_units()
        spelled = " ".join(f"{n}^{int(p)}" for n, p in zip(base, powers(u, base, ureg), strict=True) if p)
        assert cf_units.Unit(text).convert(1.0, cf_units.Unit(spelled or "1")) == pytest.approx(q.magnitude)


def powers(u, base, ureg):
    """Exponents of the base units in a unit."""
    d = u.dimensionality
    return [d.get(next(iter(ureg.Unit(b).dimensionality)), 0) for b in base]


@pytest.fixture(scope="module")
def xr():
    return pytest.importorskip("xarray")


def test_a_file_that_remembers_holds_what_a_plain_one_does(path, xr, tmp_path, monkeypatch):
    monkeypatch.setattr(remembering, "RememberingFile", h5py.File)
    write(result(), tmp_path / "plain.h5")
    one, other = (xr.open_datatree(p, engine="h5netcdf") for p in (path, tmp_path / "plain.h5"))
    assert len(list(one.subtree)) > 10
    assert one.identical(other)


def test_xarray_opens_every_group_by_itself(path, xr):
    groups = [*TABLES]
    groups += [f"/runs/{escaped(c)}/{escaped(s)}" for c, s in result().runs]
    for group in groups:
        with xr.open_dataset(path, group=group, engine="h5netcdf") as ds:
            ds.load()
            assert len(ds.data_vars) > 1
    with xr.open_dataset(path, engine="h5netcdf") as ds:
        assert ds.attrs["format"] == "simcore result"
        assert ds.attrs["protect"] == "head shaft"
        assert ds.attrs["numpy"] == "2.1"


def test_xarray_selects_as_an_engineer_would(path, xr):
    r = result().run("friction disc", "laundry jams")
    with xr.open_dataset(path, group="/runs/friction disc/laundry jams", engine="h5netcdf") as ds:
        torque = ds.torque.sel(connection="head shaft")
        assert torque.dims == ("time",)
        assert torque.units == "N m"
        assert torque.dtype == np.float32
        np.testing.assert_allclose(torque, r.torque[:, 2], rtol=1e-6)
        assert torque.connection_unit.item() == "N m"
        force = ds.force.sel(connection="hoist rope")
        np.testing.assert_allclose(force, r.torque[:, 4], rtol=1e-6)
        assert (force.units, force.connection_unit.item()) == ("N", "N")
        assert bool(np.isnan(ds.torque.sel(connection="hoist rope")).all())
        np.testing.assert_array_equal(ds.angle.sel(node="drum"), r.angle[:, 3])
        np.testing.assert_allclose(ds.velocity.sel(node="trolley"), r.speed[:, 4], rtol=1e-6)
        np.testing.assert_array_equal(ds.mode.sel(connection="friction disc"), r.mode[:, 6])
        meanings = str(ds["mode"].attrs["meanings"])
        assert "friction disc: 0 stuck (engaged), 1 slides forward (slipping)" in meanings
        assert ds.drop_duplicates("time").torque.sel(time=0.1, method="nearest").sizes == {"connection": 8}
        assert ds.time.dtype == np.float64


def test_xarray_sees_tables_over_candidates_and_situations(path, xr):
    r = result()
    with xr.open_dataset(path, group="measures", engine="h5netcdf") as ds:
        cell = ds.peak.sel(candidate=CANDIDATES[1], situation="a/b then c", band="nominal")
        assert cell.item() == r.run(CANDIDATES[1], "a/b then c").measures["peak"]
        assert cell.long_name == MEASURES["peak"].long_name
        assert ds.time_to_limit.sel(candidate="none").isel(situation=0, band=1).item() == np.inf
    with xr.open_dataset(path, group="connections", engine="h5netcdf") as ds:
        peak = ds.peak_torque.sel(candidate="none", situation="laundry jams", connection="head shaft")
        assert peak.item() == r.run("none", "laundry jams").peak[2]
        other = ds.peak_torque.sel(candidate="none", connection="friction disc")
        assert bool(np.isnan(other).all())
    with xr.open_dataset(path, group="answers", engine="h5netcdf") as ds:
        assert ds.passed.dtype == bool
        assert ds.passed.values.tolist() == [True, False, True, True]
        assert ds.margin.sel(candidate="friction disc", situation="Anlauf voll").item() == 91.5
        assert ds.met.dtype == bool
    with xr.open_dataset(path, group="inputs", engine="h5netcdf") as ds:
        assert ds.scenario_text.item() == r.scenario_text
        assert ds.inertia.sel(contributor="motor").item() == 1.36
        assert ds.inertia.units == "kg m^2"


def test_xarray_opens_the_whole_tree(path, xr):
    tree = xr.open_datatree(path, engine="h5netcdf")
    assert tree["/runs/friction disc/laundry jams"].torque.units == "N m"
    tree.close()
