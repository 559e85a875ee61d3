"""Tables for other programs: CSV with units in the header, or Parquet."""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Final

import numpy as np

from simcore.errors import InputError, ResultError
from simcore.results.columns import Column, answer_columns, trace_columns
from simcore.results.files import replace, why
from simcore.results.layout import Array
from simcore.results.model import ResultSet
from simcore.results.read import open_result
from simcore.results.tables import protected_unit

_NOT_IN_A_NAME: Final = re.compile(r'[\x00-\x1f\x7f<>:"/\\|?*]')


def export(
    source: ResultSet | str | os.PathLike[str],
    folder: str | os.PathLike[str],
    formats: Sequence[str] = ("csv",),
) -> list[Path]:
    """Write the table of answers and one table of traces per run into ``folder``; gives the files.

    ``source`` is a result set or the path of its file; ``formats`` are 'csv' and 'parquet'.  SI units,
    named in the headers; decimal point, UTF-8; an empty cell where there is no value.  Raises InputError
    for an unknown format, ResultError if something cannot be read or written.
    """
    writers = [(name, _writer(name)) for name in dict.fromkeys(formats)]
    result = source if isinstance(source, ResultSet) else open_result(source)
    where = _folder(Path(folder))
    out = []
    for name, columns in _tables(result):
        for ending, make in writers:
            out.append(replace(where / f"{name}.{ending}", make(columns), "table"))
    return out


def _writer(name: str) -> Callable[[list[Column]], bytes]:
    if name == "csv":
        return csv_table
    if name != "parquet":
        raise InputError(f'"{name}" is not a format of export, use csv or parquet')
    if find_spec("pyarrow") is None:
        raise ResultError("Parquet needs pyarrow, which is not installed: pip install pyarrow, or use csv")
    return _parquet


def _folder(folder: Path) -> Path:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError as e:
        raise ResultError(f"{folder}: is a file, export needs a folder") from e
    except OSError as e:
        raise ResultError(f"{folder}: the folder could not be made, {why(e)}") from e
    return folder


def _tables(result: ResultSet) -> Iterator[tuple[str, list[Column]]]:
    unit = protected_unit(result)
    yield "answers", answer_columns(result)
    names = file_names(f"traces - {c} - {s}" for c, s in result.runs)
    for name, run in zip(names, result.runs.values(), strict=True):
        yield name, trace_columns(run, unit)


def file_names(names: Iterable[str]) -> list[str]:
    """Names without what some system forbids, also distinct where capitals do not count.

    >>> file_names(["traces - a/b", "traces - A:B"])
    ['traces - a_b', 'traces - A_B (2)']
    """
    out: list[str] = []
    taken: set[str] = set()
    for name in names:
        safe = _shortened(_NOT_IN_A_NAME.sub("_", name)).rstrip(". ")
        n, unique = 2, safe
        while unique.casefold() in taken:
            unique, n = f"{safe} ({n})", n + 1
        taken.add(unique.casefold())
        out.append(unique)
    return out


def _shortened(name: str, longest: int = 180) -> str:
    """At most ``longest`` bytes in UTF-8: file names end at 255."""
    return name.encode("utf-8", "replace")[:longest].decode("utf-8", "ignore")


def csv_table(columns: list[Column]) -> bytes:
    """The columns as CSV: units in the header, decimal point, UTF-8."""
    f = io.StringIO(newline="")
    table = csv.writer(f, lineterminator="\r\n")
    table.writerow([c.header for c in columns])
    table.writerows(zip(*(_cells(c.values) for c in columns), strict=True))
    return f.getvalue().encode("utf-8")


def _cells(values: Array) -> list[str]:
    """Shortest texts that read back as the same numbers; empty for NaN."""
    if values.dtype == bool:
        return ["yes" if v else "no" for v in values]
    if values.dtype == object:
        return [str(v).replace("\n", "; ") for v in values]
    if values.dtype.kind == "i":
        return [str(v) for v in values]
    texts = [repr(v) for v in values.tolist()] if values.dtype == np.float64 else values.astype(str).tolist()
    return ["" if t == "nan" else t for t in texts]


def _parquet(columns: list[Column]) -> bytes:
    import pyarrow as pa
    import pyarrow.parquet as pq

    fields, arrays = [], []
    for c in columns:
        values = pa.array(c.values.tolist() if c.values.dtype == object else np.ascontiguousarray(c.values))
        if c.values.dtype == object:
            values = values.cast(pa.string())
        arrays.append(values)
        fields.append(pa.field(c.header, values.type, metadata={"units": c.unit}))
    sink = pa.BufferOutputStream()
    pq.write_table(pa.Table.from_arrays(arrays, schema=pa.schema(fields)), sink, compression="snappy")
    return bytes(sink.getvalue().to_pybytes())
