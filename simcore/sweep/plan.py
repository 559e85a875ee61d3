"""The plan of a sweep: its cells, its draws, its identity.

The checked data (:class:`Factor`, :class:`Sweep`) come from the scenario; here is what follows from them.
"""

from __future__ import annotations

import json
import math
import tomllib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields, replace
from hashlib import sha256
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcore.scenario.model import Scenario
from simcore.scenario.plan import BESIDE, Factor, Sweep
from simcore.sweep import designs
from simcore.sweep.scatter import Scatter

__all__ = ["Factor", "Plan", "Scatter", "Sweep"]

Floats = NDArray[np.float64]
Cell = tuple[float, ...]


@dataclass(frozen=True)
class Plan(Sweep):
    """A sweep that can be run.  All values in SI."""

    @classmethod
    def of(cls, source: Scenario | Sweep) -> Plan:
        """The plan of a scenario or of its checked section.  ValueError if the scenario has no section [sweep]."""
        sweep = source.sweep if isinstance(source, Scenario) else source
        if sweep is None:
            raise ValueError("the scenario has no section [sweep]")
        given = {f.name: getattr(sweep, f.name) for f in fields(Sweep)}
        return cls(**{**given, "factors": tuple(_drawable(f) for f in sweep.factors)})

    def cells(self) -> list[Cell]:
        """Values of the grid factors, the last factor fastest; one empty cell without a grid."""
        return list(product(*(f.grid for f in self.grids)))

    @property
    def cases(self) -> int:
        """Candidates times cells times draws (each runs in all situations)."""
        return len(self.candidates) * math.prod(len(f.grid) for f in self.grids) * self.draws

    def shares(self, first: int, last: int) -> Floats:
        """Draws ``first`` to ``last - 1`` in the unit cube, shape (last - first, scatters); not for tables.

        Draw d depends on the seed, the design and the factor's name (or place: sequence and paired) only, never on
        how many are drawn or by whom.
        """
        names = tuple(f.name for f in self.scatters)
        if self.design == "latin hypercube":
            return designs.latin_hypercube(self.seed, names, first, last, self.hypercube)
        if self.design == "sobol sequence":
            return designs.sobol_sequence(self.seed, len(names), first, last)
        if self.design == "paired":
            return designs.paired(self.seed, len(names), first, last)
        return designs.random(self.seed, names, first, last)

    def samples(self, first: int, last: int) -> Floats:
        """Values of draws ``first`` to ``last - 1``, shape (last - first, scatters), columns as :attr:`scatters`."""
        if not 0 <= first <= last:
            raise ValueError(f"draws {first} to {last} are no range")
        if self.table:
            return np.column_stack([np.asarray(self.table[f.name][first:last]) for f in self.scatters])
        if not self.scatters:
            return np.empty((last - first, 0))
        shares = self.shares(first, last)
        columns = [Scatter.ppf(_known(f), shares[:, k]) for k, f in enumerate(self.scatters)]
        return np.column_stack(columns)

    def pairs(self) -> tuple[int, int]:
        """Whole groups and factors (n, k) of a paired design: outputs reshape to (n, k + 2) as A, AB_1..AB_k, B.

        ValueError for another design.
        """
        if self.design != "paired":
            raise ValueError(f"the design is {self.design}, not paired")
        k = len(self.scatters)
        return self.draws // (k + 2), k

    def fingerprint(
        self, text: str, versions: Mapping[str, str], changes: Mapping[str, str] | None = None,
        files: Mapping[str, str] | None = None,
    ) -> str:  # fmt: skip
        """Identity of a case's numbers beside its candidate, cell and draw, 32 hexadecimal digits.

        It covers the scenario ``text`` without title, question, display and sweep, ``changes`` set beside it (but not
        those of the sweep), texts of ``files`` that lists come from, ``versions``, factors without the values of their
        grids, seed, design, situations and table.  It leaves out draws, cells, candidates, targets and block: more of
        them keep what is finished.
        """
        document = {k: v for k, v in tomllib.loads(text.removeprefix("\ufeff")).items() if k not in BESIDE}
        beside = {k: v for k, v in (changes or {}).items() if not k.strip().startswith("sweep")}
        factors = [{k: v for k, v in asdict(f).items() if k not in ("grid", "unit")} | {"on grid": bool(f.grid)}
                   for f in self.factors]  # fmt: skip
        said = [document, beside, dict(sorted(versions.items())), factors, self.seed, self.design, self.situations,
                self.hypercube if self.design == "latin hypercube" else 0, dict(self.table),
                *([dict(files)] if files else [])]  # fmt: skip
        clear = json.dumps(said, sort_keys=True, default=str, ensure_ascii=True)
        return sha256(clear.encode()).hexdigest()[:32]

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Plan:
        """The plan whose fields came back from JSON (``book.fields``).  KeyError or TypeError if it is none."""
        given: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in data.items()}
        given["table"] = {k: tuple(v) for k, v in data["table"].items()}
        given["factors"] = tuple(_factor(f) for f in data["factors"])
        return cls(**given)


def _drawable(f: Factor) -> Factor:
    s = f.scatter
    return f if s is None else replace(f, scatter=Scatter(s.word, s.numbers, s.low, s.high, s.values))


def _known(f: Factor) -> Any:
    assert f.scatter is not None, f"{f.name} has neither a scatter nor a column"
    return f.scatter


def _factor(data: Mapping[str, Any]) -> Factor:
    given = {**data, "paths": tuple(data["paths"]), "grid": tuple(data["grid"])}
    s = data["scatter"]
    if s is not None:
        given["scatter"] = Scatter(s["word"], tuple(s["numbers"]), s["low"], s["high"], tuple(s["values"]))
    return Factor(**given)
