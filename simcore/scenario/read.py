"""Read and check a scenario; all faults at once."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from simcore.contract import Part
from simcore.errors import Fault, InputError
from simcore.scenario.load import LARGEST, load
from simcore.scenario.locate import Spot
from simcore.scenario.model import Scenario
from simcore.scenario.paths import PathFault, put
from simcore.scenario.toml import document

Registry = Mapping[str, Part]
PROTECT: Spot = ("protect",)
"""Told once."""


def read(
    path: str | os.PathLike[str],
    changes: Mapping[str, str] | None = None,
    registry: Registry | None = None,
) -> Scenario:
    """Read the scenario file at ``path``, with ``changes`` (path: value text) applied beside it.

    Raises InputError with every fault: file, line, path, rule, value got, nearest valid name.
    """
    return read_text(load(path), os.fspath(path), changes, registry)


def read_text(
    text: str,
    source: str = "<text>",
    changes: Mapping[str, str] | None = None,
    registry: Registry | None = None,
    files: Mapping[str, str] | None = None,
) -> Scenario:
    """Check a scenario text; ``registry`` (default: all parts) names the parts it may use.

    ``files``: texts of the CSV files of its lists, as kept with a result, which needs no section [sweep] any more;
    None: they are read beside ``source``.
    Raises InputError as :func:`read` does.
    """
    if len(text) > LARGEST:
        raise InputError([Fault("", "the text is larger than 1 MB", file=source)])
    text = text.removeprefix("\ufeff")
    from simcore.scenario.list_files import Store, fill

    parts = _parts() if registry is None else registry
    raw = document(text, source)
    changed, wrong = _apply(raw, changes or {}, parts)
    store = Store(os.path.dirname(source), files)
    fill(raw, parts, store)
    if files is not None:
        raw.pop("sweep", None)
    scenario, faults = _check(raw, text, source, changed, parts)
    if wrong or faults:
        raise InputError([*wrong, *faults])
    return replace(scenario, text=text, source=source, changes=dict(changes or {}), files=store.texts)


def _parts() -> Registry:
    from simcore.parts import REGISTRY

    return REGISTRY


def _apply(raw: dict[str, Any], changes: Mapping[str, str], parts: Registry) -> tuple[list[Spot], list[Fault]]:
    changed, wrong = [], []
    for path, text in changes.items():
        try:
            changed.append(put(raw, path, text, parts))
        except PathFault as fault:
            wrong.append(Fault(path[:80], fault.rule, hint=fault.hint, file="--set"))
    return changed, wrong


def _check(
    raw: Mapping[str, Any], text: str, source: str, changed: list[Spot], parts: Registry
) -> tuple[Scenario, list[Fault]]:
    from simcore.scenario.corner import impossible
    from simcore.scenario.draft import draft
    from simcore.scenario.findings import faults
    from simcore.scenario.structure import structure
    from simcore.scenario.sweep_section import sweep_section

    scenario, found = draft(raw, parts)
    found += [f for f in structure(scenario, raw, parts) if f.spot != PROTECT or f.spot not in {g.spot for g in found}]
    found += () if found else impossible(scenario, parts)
    sweep, wrong = sweep_section(raw, scenario, parts, os.path.dirname(source))
    found += wrong
    scenario = replace(scenario, sweep=sweep)
    return scenario, faults(found, raw, text, source, changed) if found else []
