"""What the shell offers on Tab: files, shipped scenarios, parts, measures, paths, charts."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any


def _starting(names: Iterable[str], incomplete: str) -> list[str]:
    return sorted(n for n in names if n.casefold().startswith(incomplete.casefold()))


def _files(incomplete: str, ending: str) -> list[str]:
    """Folders, and files with ``ending``, that begin with what was typed."""
    typed = Path(incomplete)
    folder = typed if incomplete.endswith(("/", "\\")) or not incomplete else typed.parent
    try:
        found = [p for p in folder.iterdir() if p.suffix == ending or (p.is_dir() and p.name[:1] != ".")]
    except OSError:
        return []
    return _starting((f"{p}/" if p.is_dir() else str(p) for p in found), incomplete)


def scenario(incomplete: str) -> list[str]:
    """Scenario files and shipped names."""
    from simcore.shipped import scenarios

    return [*_starting(scenarios(), incomplete), *_files(incomplete, ".toml")]


def result(incomplete: str) -> list[str]:
    """Result files and the folders that hold them."""
    return _files(incomplete, ".h5")


def part(incomplete: str) -> list[str]:
    from simcore.parts import REGISTRY

    return _starting(REGISTRY, incomplete)


def part_input(ctx: Any, incomplete: str) -> list[str]:
    """Inputs of the part that was typed, with '=' behind."""
    from simcore.catalogue import named

    try:
        kind = named(ctx.params.get("name") or ctx.args[0]).kind
    except Exception:  # nothing to offer for an unknown part
        return []
    return _starting((f"{p.name}=" for p in kind.params), incomplete)


def explained(incomplete: str) -> list[str]:
    from simcore.definitions import MEASURES, WARNINGS
    from simcore.file_tables import TABLES
    from simcore.headings import WORDS

    return _starting(dict.fromkeys([*MEASURES, *WARNINGS, *WORDS, *TABLES]), incomplete)


def chart(incomplete: str) -> list[str]:
    from simcore.charts.draw import KINDS
    from simcore.charts.sweep_draw import PAIR, SWEEP_KINDS

    return _starting([*KINDS, *SWEEP_KINDS, PAIR], incomplete)


def case(incomplete: str) -> list[str]:
    from simcore.sweep.pick import WORDS

    return _starting(WORDS, incomplete)


def picture(incomplete: str) -> list[str]:
    return _starting(("pdf", "png", "svg"), incomplete)


def change(ctx: Any, incomplete: str) -> list[str]:
    """Paths of the scenario's values, names of candidates in them, with '=' behind."""
    from simcore.parts import REGISTRY
    from simcore.scenario.load import load
    from simcore.scenario.paths import all_paths
    from simcore.scenario.toml import document
    from simcore.shipped import find

    try:
        file = find(ctx.params.get("file") or ctx.args[0])
        raw = document(load(file), str(file))
    except Exception:  # nothing to offer where there is no readable scenario
        return []
    return _starting((f"{p}=" for p in all_paths(raw, REGISTRY)), incomplete)
