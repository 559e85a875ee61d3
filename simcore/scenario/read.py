"""Read and check a scenario; all faults at once."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from numbers import Integral, Real
from typing import Any

from simcore.contract import Part
from simcore.errors import Fault, InputError
from simcore.scenario.load import LARGEST, load
from simcore.scenario.locate import Spot
from simcore.scenario.model import Scenario
from simcore.scenario.paths import PathFault, put
from simcore.scenario.toml import document

Registry = Mapping[str, Part]
Changes = Mapping[str, str | float]
PROTECT: Spot = ("protect",)
"""Told once."""


def read(
    path: str | os.PathLike[str],
    changes: Changes | None = None,
    registry: Registry | None = None,
) -> Scenario:
    """Read the scenario file at ``path``, with ``changes`` (path: value text, or a bare number) applied beside it.

    Raises InputError with every fault: file, line, path, rule, value got, nearest valid name.
    """
    return read_text(load(path), os.fspath(path), changes, registry)


def read_text(
    text: str,
    source: str = "<text>",
    changes: Changes | None = None,
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
    texts, wrong = _texts(changes or {})
    changed, misplaced = _apply(raw, texts, parts)
    store = Store(os.path.dirname(source), files)
    fill(raw, parts, store)
    if files is not None:
        raw.pop("sweep", None)
    scenario, faults = _check(raw, text, source, changed, parts)
    if wrong or misplaced or faults:
        raise InputError([*wrong, *misplaced, *faults])
    return replace(scenario, text=text, source=source, changes=texts, files=store.texts)


def _parts() -> Registry:
    from simcore.parts import REGISTRY

    return REGISTRY


def given(scenario: Scenario | str | os.PathLike[str], changes: Changes | None = None) -> Scenario:
    """The scenario, read with its changes if it is a file.  Raises InputError; changes go with a file alone."""
    if isinstance(scenario, str | os.PathLike):
        return read(scenario, changes)
    if changes:
        raise InputError("changes go with a file; this scenario is read already, give them to read")
    return scenario


def _texts(changes: Changes) -> tuple[dict[str, str], list[Fault]]:
    """Changes as on the command line, numbers and flags written out; faults for what is neither."""
    out, wrong = {}, []
    for path, value in changes.items():
        if isinstance(value, str):
            out[path] = value
        elif isinstance(value, Real):
            out[path] = str(value).lower() if isinstance(value, bool | Integral) else repr(float(value))
        else:
            got = type(value).__name__
            wrong.append(Fault(str(path)[:80], "a change is a text, a number or true or false", got, file="--set"))
    return out, wrong


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
