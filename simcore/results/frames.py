"""Results as pandas and xarray objects where these are installed, as plain arrays otherwise."""

from __future__ import annotations

from importlib.util import find_spec
from typing import Any

from simcore.results.columns import Column, answer_columns, trace_columns
from simcore.results.layout import TORQUE, Array, Group
from simcore.results.model import ResultSet, Run
from simcore.results.traces import run_group


def to_frame(source: ResultSet | Run) -> Any:
    """Answers (one row per candidate) or traces of a run (one row per instant) as a pandas DataFrame.

    Columns are plain names in SI; ``frame.attrs["units"]`` maps them to units.  Without pandas: a dict of
    arrays, the first one being the candidates or the time [s].
    """
    columns = answer_columns(source) if isinstance(source, ResultSet) else trace_columns(source)
    if find_spec("pandas") is None:
        return {c.name: c.values for c in columns}
    return _frame(columns)


def _frame(columns: list[Column]) -> Any:
    import pandas as pd

    frame = pd.DataFrame({c.name: c.values for c in columns}).set_index(columns[0].name)
    frame.attrs["units"] = {c.name: c.unit for c in columns}
    return frame


def to_xarray(run: Run, protected: str = TORQUE) -> Any:
    """Traces of a run as an xarray Dataset, the same as its group in a result file.

    ``ds.torque.sel(connection="head shaft")``; units and long names are attributes.  At a switch a time
    occurs twice: ``ds.drop_duplicates("time")`` before selecting by time.  ``protected`` is the unit at the
    protected connection.  Without xarray: a dict of arrays by name.
    """
    group = run_group(run, protected)
    if find_spec("xarray") is None:
        return {v.name: v.data for v in group.variables}
    return _dataset(group)


def _dataset(group: Group) -> Any:
    import xarray as xr

    def one(v: Any) -> tuple[tuple[str, ...], Array, dict[str, Any]]:
        data = v.data.astype(str) if v.data.dtype == object else v.data
        return v.dims, data, {"units": v.unit, "long_name": v.long_name, **v.attrs}

    labels = {v.name for v in group.variables if v.dims == (v.name,)} | set(group.labels)
    return xr.Dataset(
        {v.name: one(v) for v in group.variables if v.name not in labels},
        {v.name: one(v) for v in group.variables if v.name in labels},
        dict(group.attrs),
    )
