"""A scenario with some of its numbers replaced, by readable path."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from simcore.scenario.model import Item, Quantity, Scenario


def altered(scenario: Scenario, values: Mapping[str, float]) -> Scenario:
    """The same scenario with the inputs named by path (``line["drum"].radius``) set to ``values`` [SI].

    An input left out in the file may be set too.  KeyError for a path that names no quantity of the scenario.
    """
    by_item: dict[str, dict[str, float]] = {}
    for path, v in values.items():
        item, _, name = path.rpartition(".")
        by_item.setdefault(item, {})[name] = v
    stations = tuple(
        s if s.item is None or s.item.path not in by_item else replace(s, item=_with(s.item, by_item.pop(s.item.path)))
        for s in scenario.stations
    )
    candidates = {
        n: c if c.item.path not in by_item else replace(c, item=_with(c.item, by_item.pop(c.item.path)))
        for n, c in scenario.candidates.items()
    }
    situations = {
        n: s if s.item.path not in by_item else replace(s, item=_with(s.item, by_item.pop(s.item.path)))
        for n, s in scenario.situations.items()
    }
    if by_item:
        raise KeyError(next(iter(by_item)))
    return replace(scenario, stations=stations, candidates=candidates, situations=situations)


def value_at(scenario: Scenario, path: str) -> float:
    """The number at a path [SI], NaN if it was left out without default; KeyError if there is no such item."""
    item_path, _, name = path.rpartition(".")
    items = [s.item for s in scenario.stations if s.item is not None]
    items += [c.item for c in scenario.candidates.values()]
    items += [s.item for s in scenario.situations.values()]
    for item in items:
        if item.path == item_path:
            return item.si(name)
    raise KeyError(path)


def _with(item: Item, values: Mapping[str, float]) -> Item:
    from simcore.parts import REGISTRY

    kind = REGISTRY[item.part].kind
    new = {n: Quantity(v, kind.param(n).kind, f"{v:.12g} (SI)") for n, v in values.items()}
    return replace(item, values={**item.values, **new}, given=item.given | new.keys())
