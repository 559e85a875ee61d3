"""What the factors of a sweep make of a scenario's numbers, for one candidate."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from simcore.scenario.alter import takes, value_at
from simcore.scenario.model import Scenario

OWN: Final = "candidates[*]"


def own_path(path: str, candidate: str) -> str:
    """The path with the candidate under trial put in."""
    return str(path).replace(OWN, f'candidates["{candidate}"]')


def numbers(scenario: Scenario, candidate: str, given: Iterable[tuple[Any, Any]]) -> dict[str, Any]:
    """Numbers by path [SI] from factors and their values, each a number or an array (draws,) of them.

    What replaces comes first, then all ratios together; paths of other candidates are left out.
    """
    times: dict[str, Any] = {}
    fixed: dict[str, Any] = {}
    for factor, v in given:
        for path in factor.paths:
            own = own_path(path, candidate)
            if own.startswith("candidates[") and not _has(scenario, candidate, own):
                continue
            if factor.times:
                times[own] = times.get(own, 1.0) * v
            else:
                fixed[own] = v
    out = dict(fixed)
    for path, f in times.items():
        out[path] = f * (fixed[path] if path in fixed else value_at(scenario, path))
    return out


def _has(scenario: Scenario, candidate: str, path: str) -> bool:
    """Whether a path of a candidate is one of this candidate's."""
    owner, _, name = path.rpartition(".")
    item = scenario.candidates[candidate].item
    return owner == item.path and takes(item, name)


def named(values: Mapping[str, Any], owner: str) -> dict[str, Any]:
    """Those of one owner, by the input's name."""
    return {p.rpartition(".")[2]: v for p, v in values.items() if p.rpartition(".")[0] == owner}
