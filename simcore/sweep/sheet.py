"""The merged file of a sweep: HDF5 with netCDF-4 dimensions at its root, so that xarray opens it in one line.

Dimensions are candidate, one a grid factor, draw and situation.  Arrays are laid down piece by piece.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from pathlib import Path
from types import TracebackType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from simcore.results.layout import TORQUE, clean, measure_unit, texts
from simcore.sweep.shield import Shield

FORMAT: Final = "simcore sweep"
FORMAT_NUMBER: Final = 1
CHUNK: Final = 1 << 18
"""Largest chunk [bytes]; a library's cache of 1 MB holds a few of them."""
RESERVED: Final = frozenset({"candidate", "draw", "situation", "status", "asks", "expect", "tolerance",
                             "nominal_setting"})  # fmt: skip
MORE: Final = frozenset({"end", "end_class", "speed_kept", "peak_protection"})
"""Measures that have no definition of their own."""
AT: Final = "use at "
"""Name of a limit's measure: this and the name of its station, or of the situation whose jam it is."""
OWN: Final = {
    "use": ("1", "largest peak over its allowable"),
    "mates": ("1", "other protections that trip in service, one-way clutches that break"),
    "burnt": ("1", "the protection has passed its heat limit (1) or not (0)"),
    "met": ("1", "expectation met (1) or not (0)"),
    "peak": (TORQUE, "peak torque at the protected connection"),
    "peak_time": ("s", "instant of the peak after the event"),
    "ledger": ("1", "residual of the energy ledger over the energy turned over"),
}
COMMENT: Final = ("SI units. status: 0 and 1 fine, above failed. A case: candidate, one value a grid factor, draw; "
                  "the same draws for every candidate and cell.")  # fmt: skip


def identifier(name: str) -> str:
    """A factor's name as a word of letters, digits and underscores.

    >>> identifier("jam stiffness, worst")
    'jam_stiffness_worst'
    """
    word = re.sub(r"\W+", "_", name).strip("_") or "factor"
    return f"_{word}" if word[0].isdigit() else word


def identifiers(names: Iterable[str], taken: Iterable[str], prefix: str) -> dict[str, str]:
    """Distinct identifiers by name; ``prefix`` stands before one that is taken."""
    used, out = set(taken), {}
    for name in names:
        word = identifier(name)
        word = prefix + word if word in used else word
        n, unique = 2, word
        while unique in used:
            unique, n = f"{word}_{n}", n + 1
        used.add(unique)
        out[name] = unique
    return out


def dimensions(head: Any) -> dict[str, str]:
    """Name of the dimension of each grid factor."""
    from simcore.definitions import MEASURES

    return identifiers(head.grids, {*RESERVED, *MEASURES, *OWN, *MORE}, "grid_")


def kind_unit(kind: str) -> str:
    """SI unit of a kind of quantity; 1 for a ratio or an unknown kind."""
    from simcore.units import si_unit

    try:
        return "1" if kind == "ratio" else si_unit(kind)
    except KeyError:
        return "1"


class Sheet:
    """A merged file while it is written; ``more`` are further attributes."""

    def __init__(self, path: Path, head: Any, more: Mapping[str, str] | None = None) -> None:
        import h5netcdf

        self.head = head
        self.grids = dimensions(head)
        self.draws, self.situations = head.asks.shape[1], len(head.situations)
        self.dims = ("candidate", *self.grids.values(), "draw", "situation")
        self.shape = (len(head.candidates), *(len(g) for g in head.grids.values()), self.draws, self.situations)
        self.stored: dict[str, Any] = {}
        self.labels: dict[str, str] = {}
        self.shield = Shield(path)
        self.file: Any = h5netcdf.File(self.shield, "w", libver="latest")
        try:
            self._begin(more or {})
            self.shield.check()
        except BaseException:
            self._shut()
            raise

    def _begin(self, more: Mapping[str, str]) -> None:
        h = self.head
        self.file.dimensions = dict(zip(self.dims, self.shape, strict=True))
        for name, value in _head_attributes(h).items():
            self.file.attrs[name] = clean(value) if isinstance(value, str) else value
        for name, text in more.items():
            self.file.attrs[name] = text
        self._words("candidate", h.candidates, "protection under trial")
        self._words("situation", h.situations, "what the axis meets")
        self._words("expect", h.expects, "what is asked of the protection", "situation")
        for name, word in self.grids.items():
            self._values(word, (word,), h.grids[name], kind_unit(h.grid_kinds[name]), name, factor=clean(name))
        self._values("draw", ("draw",), np.arange(self.draws), "1", "number of the draw")
        for name, word in zip(h.samples, sample_names(h).values(), strict=True):
            self._values(word, ("draw",), h.samples[name], kind_unit(h.sample_kinds[name]), name, factor=clean(name))
        self._values("nominal_setting", self.dims[:-2], h.setting, TORQUE, "nominal setting")
        tolerance = np.array([h.tolerance.get(c, np.nan) for c in h.candidates])
        self._values("tolerance", ("candidate",), tolerance, "1", "tolerance of the setting")

    def _words(self, name: str, values: Iterable[str], long_name: str, dim: str = "") -> None:
        import h5py

        v = self.file.create_variable(name, (dim or name,), dtype=h5py.string_dtype(), data=texts(values))
        v.attrs["long_name"] = long_name

    def _values(self, name: str, dims: tuple[str, ...], data: Any, unit: str, long_name: str, **more: str) -> None:
        v = self.file.create_variable(name, dims, data=np.asarray(data))
        for key, text in {"units": unit, "long_name": clean(long_name), **more}.items():
            v.attrs[key] = text

    def put(self, name: str, where: tuple[Any, ...], values: NDArray[Any]) -> None:
        """Lay a piece of variable ``name`` at ``where`` (indices and slices of its dimensions but the last)."""
        self.lay([name])
        self.stored[name][(*where, slice(None))] = values
        self.shield.check()

    def lay(self, names: Iterable[str]) -> None:
        """Make variables that are not there yet, best all at once.

        One library lays them down; then the other opens the file again, which writes pieces faster.
        """
        import h5netcdf
        import h5py

        new = [n for n in dict.fromkeys(names) if n not in self.stored]
        if not new:
            return
        if self.stored:
            self.file.close()
            self.file = h5netcdf.File(self.shield, "a", libver="latest")
        for name in new:
            self.labels[name] = self._variable(name)
        self.file.close()
        self.file = h5py.File(self.shield, "r+", libver="latest", rdcc_nbytes=1 << 20)
        self.stored = {n: self.file[label] for n, label in self.labels.items()}

    def _variable(self, name: str) -> str:
        dims, shape = self.dims, self.shape
        if name == "asks":
            dims, shape = ("candidate", "draw", "situation"), (shape[0], *shape[-2:])
        whole = name == "status"
        dtype = np.dtype(np.int16 if whole else np.float64)
        fill = {} if whole else {"fillvalue": np.nan}
        label = identifiers([name], self.file.variables, "measure_")[name]
        v = self.file.create_variable(label, dims, dtype=dtype, chunks=_chunk(shape, dtype.itemsize),
                                      compression="gzip", compression_opts=1, shuffle=True, **fill)  # fmt: skip
        for key, text in zip(("units", "long_name"), _described(name), strict=True):
            v.attrs[key] = text
        if not whole and name != "asks":
            v.attrs["measure"] = name
        return label

    def close(self) -> None:
        """Finish the file.  Raises OSError if any of it could not be written."""
        self._shut()
        self.shield.check()

    def _shut(self) -> None:
        try:
            self.file.close()
        finally:
            self.shield.close()

    def __enter__(self) -> Sheet:
        return self

    def __exit__(self, kind: type[BaseException] | None, e: BaseException | None, t: TracebackType | None) -> None:
        if e is None:
            self.close()
        else:
            self._shut()


def sample_names(head: Any) -> dict[str, str]:
    """Name of the variable of each scatter factor's samples."""
    taken = {*RESERVED, *dimensions(head).values()}
    return identifiers((f"sample {n}" for n in head.samples), taken, "of_")


def _described(name: str) -> tuple[str, str]:
    if name == "status":
        return "1", "how the case ended"
    if name == "asks":
        return TORQUE, "smallest setting that holds"
    if name.startswith(AT):
        return "1", clean(f"largest peak over its allowable at {name.removeprefix(AT)}")
    return OWN.get(name) or measure_unit(name)


def _chunk(shape: tuple[int, ...], size: int) -> tuple[int, ...]:
    """Whole last dimensions while they fit, so that pieces written in order fill a chunk one after the other."""
    out: list[int] = []
    room = CHUNK // size
    for n in reversed(shape):
        take = max(1, min(n, room))
        out.append(take)
        room //= take
    return tuple(reversed(out))


def _head_attributes(h: Any) -> dict[str, Any]:
    return {
        "format": FORMAT, "format_number": FORMAT_NUMBER, "title": h.title, "protect": h.protect,
        "display_unit": h.unit, "allowable": float(h.allowable), "damage_target": float(h.damage_target),
        "nuisance_target": float(h.nuisance_target), "seed": int(h.seed), "design": h.design,
        "grid_kinds": json.dumps(h.grid_kinds), "sample_kinds": json.dumps(h.sample_kinds),
        "grid_names": json.dumps(list(h.grids)), "sample_names": json.dumps(list(h.samples)),
        "limits": json.dumps(h.limits), "provenance": json.dumps(h.provenance),
        "scenario": h.scenario_text, "comment": COMMENT,
    }  # fmt: skip


def attributes(path: Path) -> dict[str, Any]:
    """The root's attributes; empty if the file cannot be read."""
    import h5py

    try:
        with h5py.File(path, "r") as f:
            return plain_attributes(f)
    except Exception:  # h5py raises many kinds for a damaged file
        return {}


def plain_attributes(f: Any) -> dict[str, Any]:
    """Texts and single numbers (netCDF-4 keeps these as arrays of one)."""
    found = {k: v if isinstance(v, str) else np.ravel(v) for k, v in f.attrs.items() if not k.startswith("_")}
    return {k: v if isinstance(v, str) else v[0].item() for k, v in found.items() if len(v) == 1 or isinstance(v, str)}
