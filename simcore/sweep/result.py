"""The result of a sweep in memory and as one file."""

from __future__ import annotations

import json
import os
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from simcore.errors import ResultError
from simcore.sweep.atomic import beside, failed, is_whole, seal
from simcore.sweep.sheet import FORMAT, FORMAT_NUMBER, Sheet, attributes, dimensions, plain_attributes, sample_names
from simcore.sweep.stored import Stored

Floats = NDArray[np.float64]
RESULT: Final = "sweep.h5"
PLAN: Final = "plan.json"


@dataclass(frozen=True, slots=True, repr=False)
class SweepResult:
    """Every case of a sweep, SI units.

    ``measures`` and ``status``: (candidate, *grids, draw, situation); ``asks``: (candidate, draw, situation)
    [N m]; ``setting``: nominal ones (candidate, *grids) [N m]; ``samples``: scatter factors (draw).  ``grids``
    and ``samples`` go by the factor's name, ``grid_kinds`` and ``sample_kinds`` tell its kind of quantity
    ("ratio" where values multiply).  ``unit`` is the unit to show torques in, ``limits`` the allowables as
    written by name; 'use at NAME' is the measure of each.  Measures of a loaded file are read
    from it when they are first asked for.
    """

    title: str
    unit: str
    scenario_text: str
    candidates: tuple[str, ...]
    situations: tuple[str, ...]
    expects: tuple[str, ...]
    grids: dict[str, Floats]
    grid_kinds: dict[str, str]
    samples: dict[str, Floats]
    sample_kinds: dict[str, str]
    setting: Floats
    tolerance: dict[str, float]
    allowable: float
    protect: str
    measures: Mapping[str, Floats]
    asks: Floats
    status: NDArray[Any]
    damage_target: float
    nuisance_target: float
    seed: int
    design: str
    provenance: dict[str, Any]
    limits: Mapping[str, str] = field(default_factory=dict)

    @property
    def draws(self) -> int:
        """Draws of each candidate in each cell."""
        return int(self.status.shape[1 + len(self.grids)])

    @property
    def planned(self) -> int:
        """Draws there will be once the sweep is finished."""
        return int(self.provenance.get("plan", {}).get("draws", self.draws))

    def write(self, path: str | os.PathLike[str]) -> None:
        """Write to ``path`` (.h5), whole or not at all; xarray opens it.  Raises ResultError."""
        target = Path(path)
        everything = (slice(None),) * (self.status.ndim - 1)
        try:
            with beside(target) as part:
                with Sheet(part, self) as sheet:
                    sheet.lay(["status", *self.measures, "asks"])
                    sheet.put("status", everything, self.status)
                    for name, values in self.measures.items():
                        sheet.put(name, everything, values)
                    sheet.put("asks", (slice(None), slice(None)), self.asks)
                seal(part)
        except (OSError, RuntimeError) as e:
            raise failed(target, "result", e) from None

    @classmethod
    def load(cls, path: str | os.PathLike[str], only: Collection[str] | None = None) -> SweepResult:
        """Read a merged file, or that of a sweep folder; ``only`` names the measures wanted (default: all).

        Raises ResultError if it is absent, damaged or something else.
        """
        return load(path, only)


def file_of(path: str | os.PathLike[str]) -> Path:
    """The merged file at ``path``, or in the sweep folder ``path``."""
    given = Path(path)
    return given / RESULT if given.is_dir() else given


def draws_in(path: Path) -> int:
    """Draws in a merged file; 0 if there is none to be read."""
    import h5py

    try:
        with h5py.File(path, "r") as f:
            return int(f["status"].shape[-2])
    except (OSError, KeyError):
        return 0


def is_sweep(path: str | os.PathLike[str]) -> bool:
    """Whether ``path`` is a sweep's folder or its merged file."""
    given = Path(path)
    if given.is_dir():
        return (given / PLAN).exists() or (given / RESULT).exists()
    return given.is_file() and attributes(given).get("format") == FORMAT


def refuse_unreadable(path: Path) -> None:
    """Raise ResultError unless a whole merged file lies at ``path``."""
    if not path.is_file():
        raise ResultError(f"{path}: there is no such file; simcore sweep writes it when it ends")
    if not is_whole(path):
        raise ResultError(f"{path}: is damaged or no result of a sweep; delete it and give the sweep's command again")
    about = attributes(path)
    if about.get("format") != FORMAT:
        raise ResultError(f"{path}: is no result of a sweep")
    if int(about.get("format_number", 0)) > FORMAT_NUMBER:
        raise ResultError(f"{path}: was written by a later simcore, which this one cannot read")


def load(path: str | os.PathLike[str], only: Collection[str] | None = None) -> SweepResult:
    """See :meth:`SweepResult.load`."""
    import h5py

    target = file_of(path)
    refuse_unreadable(target)
    try:
        with h5py.File(target, "r") as f:
            return _read(f, target, only)
    except (OSError, KeyError, ValueError, RuntimeError) as e:
        raise ResultError(f"{target}: is damaged ({type(e).__name__})") from e


class _Names:
    """What the naming of dimensions and samples needs to know."""

    def __init__(self, grids: dict[str, Any], samples: dict[str, Any]) -> None:
        self.grids, self.samples = grids, samples


def _read(f: Any, path: Path, only: Collection[str] | None) -> SweepResult:
    about = plain_attributes(f)
    names = _Names(dict.fromkeys(json.loads(about["grid_names"])), dict.fromkeys(json.loads(about["sample_names"])))
    candidates, situations, expects = (_words(f[n]) for n in ("candidate", "situation", "expect"))
    found = {str(v.attrs["measure"]): label for label, v in f.items() if "measure" in v.attrs}
    wanted = {n: label for n, label in found.items() if only is None or n in only}
    shape = f["status"].shape
    asks = f["asks"][...] if "asks" in f else np.full((shape[0], *shape[-2:]), np.nan)
    return SweepResult(
        title=str(about["title"]), unit=str(about["display_unit"]), scenario_text=str(about["scenario"]),
        candidates=candidates, situations=situations, expects=expects,
        grids={n: f[word][...] for n, word in dimensions(names).items()},
        grid_kinds=json.loads(about["grid_kinds"]),
        samples={n: f[word][...] for n, word in zip(names.samples, sample_names(names).values(), strict=True)},
        sample_kinds=json.loads(about["sample_kinds"]), setting=f["nominal_setting"][...],
        tolerance=dict(zip(candidates, map(float, f["tolerance"][...]), strict=True)),
        allowable=float(about["allowable"]), protect=str(about["protect"]),
        measures=Stored(path, wanted), asks=asks,
        status=f["status"][...].astype(np.int64), damage_target=float(about["damage_target"]),
        nuisance_target=float(about["nuisance_target"]), seed=int(about["seed"]), design=str(about["design"]),
        provenance=json.loads(about["provenance"]), limits=json.loads(about.get("limits", "{}")),
    )  # fmt: skip


def _words(variable: Any) -> tuple[str, ...]:
    return tuple(v.decode("utf-8") if isinstance(v, bytes) else str(v) for v in variable[...])
