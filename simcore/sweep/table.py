"""A sweep as one long table for other programs: a row a case and situation, written piece by piece."""

from __future__ import annotations

import csv
import itertools
import os
from collections.abc import Callable, Iterator, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

import numpy as np

from simcore.errors import InputError, ResultError
from simcore.sweep.atomic import At, beside, failed, nothing
from simcore.sweep.result import file_of, refuse_unreadable

NAME: Final = "cases"
PIECE: Final = 20_000
"""Draws held in memory at once."""

Columns = dict[str, Any]
"""Values (rows) by heading, in order."""


def export(
    source: str | os.PathLike[str], folder: Path, formats: Sequence[str] = ("csv",), at: At = nothing
) -> list[Path]:
    """Write every case of a merged sweep (file or folder) as ``cases.csv`` or ``cases.parquet``.

    Columns: candidate, values of the grid factors, draw, samples of the scatter factors, situation, status,
    measures; SI units in the headings, an empty cell where there is no value.  Raises InputError, ResultError.
    """
    writers = {name: _writer(name) for name in dict.fromkeys(formats)}
    path = file_of(source)
    refuse_unreadable(path)
    out = []
    for ending, write in writers.items():
        target = folder / f"{NAME}.{ending}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with beside(target, at, "table") as part:
                write(part, pieces(path, at))
        except OSError as e:
            raise failed(target, "table", e) from None
        out.append(target)
    return out


def _writer(name: str) -> Callable[[Path, Iterator[Columns]], None]:
    if name == "csv":
        return _csv
    if name != "parquet":
        raise InputError(f'"{name}" is not a format of export, use csv or parquet')
    if find_spec("pyarrow") is None:
        raise ResultError("Parquet needs pyarrow, which is not installed: pip install pyarrow, or use csv")
    return _parquet


def pieces(path: Path, at: At = nothing) -> Iterator[Columns]:
    """The table from the top, some rows at a time."""
    import h5py

    with h5py.File(path, "r") as f:
        status = f["status"]
        words = [_texts(f[n]) for n in ("candidate", "situation")]
        grids = _dims(status)[1:-2]
        axes = [f[d][...] for d in grids]
        measures = {n: v for n, v in f.items() if "measure" in v.attrs}
        samples = {n: v for n, v in f.items() if "factor" in v.attrs and n not in grids}
        for where in itertools.product(range(status.shape[0]), *(range(len(a)) for a in axes)):
            for first in range(0, status.shape[-2], PIECE):
                draws = slice(first, min(first + PIECE, status.shape[-2]))
                yield _piece(f, where, draws, words, dict(zip(grids, axes, strict=True)), samples, measures)
                at("piece exported")


def _piece(
    f: Any, where: tuple[int, ...], draws: slice, words: list[list[str]], axes: dict[str, Any],
    samples: dict[str, Any], measures: dict[str, Any],
) -> Columns:  # fmt: skip
    n, s = draws.stop - draws.start, len(words[1])
    out: Columns = {"candidate": [words[0][where[0]]] * (n * s)}
    for i, (d, axis) in enumerate(axes.items()):
        out[_heading(str(f[d].attrs["factor"]), f[d])] = np.full(n * s, axis[where[1 + i]])
    out["draw"] = np.repeat(np.arange(draws.start, draws.stop), s)
    for v in samples.values():
        out[_heading(f"sample of {v.attrs['factor']}", v)] = np.repeat(v[draws], s)
    out["situation"] = words[1] * n
    out["status"] = f["status"][(*where, draws)].reshape(-1).astype(np.int64)
    for v in measures.values():
        out[_heading(str(v.attrs["measure"]), v)] = v[(*where, draws)].reshape(-1)
    if "asks" in f:
        out[_heading("smallest setting that holds", f["asks"])] = f["asks"][where[0], draws].reshape(-1)
    return out


def _heading(name: str, variable: Any) -> str:
    unit = str(variable.attrs["units"])
    return name if unit == "1" else f"{name} [{unit}]"


def _dims(variable: Any) -> list[str]:
    return [d[0].name.rsplit("/", 1)[-1] for d in variable.dims]


def _texts(variable: Any) -> list[str]:
    return [v.decode("utf-8") if isinstance(v, bytes) else str(v) for v in variable[...]]


def _csv(path: Path, parts: Iterator[Columns]) -> None:
    with path.open("x", encoding="utf-8", newline="") as f:
        out = csv.writer(f, lineterminator="\r\n")
        for n, columns in enumerate(parts):
            if not n:
                out.writerow(columns)
            out.writerows(zip(*(_cells(c) for c in columns.values()), strict=True))


def _cells(values: Any) -> list[Any]:
    """Numbers with the digits that read back as the same number; nothing for NaN."""
    if isinstance(values, list):
        return values
    return ["" if v != v else repr(v) for v in values.tolist()]


def _parquet(path: Path, parts: Iterator[Columns]) -> None:
    import pyarrow as pa
    import pyarrow.parquet as pq

    writer: Any = None
    try:
        for columns in parts:
            table = pa.table(columns)
            writer = writer or pq.ParquetWriter(path, table.schema)
            writer.write_table(table)
    finally:
        if writer is not None:
            writer.close()
