"""Groups of variables as the bytes of an HDF5 file that follows netCDF-4, laid down by h5netcdf."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping
from typing import Any, Final

from simcore.results.layout import Group, Variable, clean

WORTH_PACKING: Final = 2048
"""Smaller variables [bytes] are stored unpacked."""

CHUNK: Final = 1 << 20
"""Largest chunk [bytes]."""


def image(attrs: Mapping[str, Any], groups: Iterable[Group]) -> bytes:
    """The file as bytes; ``attrs`` are the root's."""
    import h5netcdf

    from simcore.results.remembering import RememberingFile

    buffer = io.BytesIO()
    with RememberingFile(buffer, "w", track_order=True) as raw, h5netcdf.File(raw, "w") as f:
        _attributes(f, attrs)
        for group in groups:
            _store(f.create_group(group.path), group, raw)
    return buffer.getvalue()


def _store(g: Any, group: Group, raw: Any) -> None:
    _attributes(g, group.attrs)
    if group.labels:
        g.attrs["coordinates"] = " ".join(group.labels)
    sizes = {n: size for v in group.variables for n, size in zip(v.dims, v.data.shape, strict=True)}
    g.dimensions = sizes
    # a variable that gives a dimension its values takes the place of what stood for the dimension
    for v in sorted(group.variables, key=lambda v: v.name not in sizes):
        raw.settled = v.name not in sizes
        stored = _variable(g, v)
        _attributes(stored, {"units": v.unit, "long_name": clean(v.long_name), **v.attrs})
    raw.settled = False


def _variable(g: Any, v: Variable) -> Any:
    import h5py

    if v.data.dtype == object:
        return g.create_variable(v.name, v.dims, dtype=h5py.string_dtype(), data=v.data)
    if v.data.ndim == 0 or v.data.nbytes < WORTH_PACKING:
        return g.create_variable(v.name, v.dims, data=v.data)
    return g.create_variable(v.name, v.dims, data=v.data, chunks=_chunk(v), compression="gzip",
                             compression_opts=4, shuffle=True)  # fmt: skip


def _chunk(v: Variable) -> tuple[int, ...]:
    """All of a small variable, whole rows of a large one."""
    row = max(1, v.data.nbytes // v.data.shape[0])
    return (min(v.data.shape[0], max(1, CHUNK // row)), *v.data.shape[1:])


def _attributes(target: Any, attrs: Mapping[str, Any]) -> None:
    for name, value in attrs.items():
        if isinstance(value, list):
            if value:
                target.attrs[name] = [clean(str(x)) for x in value]
        else:
            target.attrs[name] = clean(value) if isinstance(value, str) else value
