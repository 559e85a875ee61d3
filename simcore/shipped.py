"""The scenarios that come along: in the wheel under ``simcore/_scenarios``, in a checkout beside it."""

from __future__ import annotations

import os
from pathlib import Path

from simcore.errors import Fault, InputError


def scenarios() -> dict[str, Path]:
    """Shipped scenarios: name -> file, by name."""
    here = Path(__file__).parent
    for folder in (here / "_scenarios", here.parent / "scenarios"):
        if folder.is_dir():
            return {f.stem: f for f in sorted(folder.glob("*.toml"))}
    return {}


def find(name: str | os.PathLike[str]) -> Path:
    """The file called ``name``, else the shipped scenario of that name.

    Raises InputError with the nearest shipped name if a bare word is neither.
    """
    path = Path(name)
    if path.parent != Path() or path.exists():
        return path
    known = scenarios()
    if path.suffix in ("", ".toml") and path.stem in known:
        return known[path.stem]
    if path.suffix:
        return path
    word = os.fspath(name)[:200]
    from simcore.near import nearest_hint

    hint = nearest_hint(word, known, "simcore scenarios lists the shipped ones")
    raise InputError([Fault(word, "is neither a file nor a shipped scenario", hint=hint)])


def title(path: Path) -> str:
    """What a scenario shows, in a line; empty if the file cannot be read."""
    import tomllib

    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return ""
    return str(raw.get("question") or raw.get("title") or "")
