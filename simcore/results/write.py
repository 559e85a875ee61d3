"""Write a result set as one HDF5 file."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from typing import Any

from simcore.results.files import replace, sealed
from simcore.results.layout import FORMAT, FORMAT_NUMBER, Group
from simcore.results.model import ResultSet
from simcore.results.tables import (
    answers_group,
    connections_group,
    counts_group,
    findings_group,
    inputs_group,
    ledger_group,
    measures_group,
    plain,
    protected_unit,
)
from simcore.results.traces import run_group

COMMENT = (
    "SI units; time 0 is the event. At a switch both limits are recorded, so a time can occur twice. "
    "/answers: verdicts; /measures, /connections, /ledger, /counts: one value per run; /runs: traces; "
    "/inputs: scenario, defaults, provenance. Every group opens by itself."
)


def write(result: ResultSet, path: str | os.PathLike[str]) -> None:
    """Write ``result`` to ``path`` (.h5): HDF5 with netCDF-4 dimensions, readable by xarray group by group.

    Torque, speed and heat over time are stored in single precision, all else in double.  The file appears
    whole or not at all; one that was there before stays until then.  Raises ResultError with the reason.
    """
    from simcore.results.netcdf import image

    replace(path, sealed(image(root_attributes(result), groups(result))))


def groups(result: ResultSet) -> Iterator[Group]:
    """Every group of the file, in the order of storing."""
    for build in _TABLES:
        yield build(result)
    unit = protected_unit(result)
    for run in result.runs.values():
        yield run_group(run, unit)


_TABLES = (
    answers_group, measures_group, connections_group, ledger_group, counts_group, findings_group,
    inputs_group,
)  # fmt: skip


def root_attributes(result: ResultSet) -> dict[str, Any]:
    """Format, title and verdict, and the short entries of the provenance."""
    head: dict[str, Any] = {
        "format": FORMAT, "format_number": FORMAT_NUMBER, "title": result.title, "protect": result.protect,
        "display_unit": result.unit, "sentence": result.sentence, "comment": COMMENT,
    }  # fmt: skip
    return {**_short(plain(result.provenance)), **head}


def _short(provenance: Mapping[str, Any]) -> dict[str, Any]:
    """Texts and numbers of the provenance; one level of nested ones as ``outer_inner``."""
    out: dict[str, Any] = {}
    for key, value in provenance.items():
        if key == "changes" and isinstance(value, dict):
            out[key] = "\n".join(f"{k}={v}" for k, v in value.items())
        elif isinstance(value, dict) and key != "resolved":
            out |= {f"{key}_{k}": v for k, v in value.items()}
        else:
            out[key] = value
    return {_attribute(k): v for k, v in out.items() if isinstance(v, int | float) or _is_line(v)}


def _is_line(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= 1000


def _attribute(key: str) -> str:
    return key.replace("/", "_").replace("\x00", "") or "_"
