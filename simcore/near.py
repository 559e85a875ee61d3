"""The name that a word was meant for."""

from __future__ import annotations

from collections.abc import Iterable


def near_name(word: str, names: Iterable[str], cutoff: float) -> str:
    """The nearest of ``names``; one whose words all stand in ``word`` comes first; empty if none is near."""
    from difflib import get_close_matches

    by_case: dict[str, str] = {}
    for name in names:
        by_case.setdefault(name.casefold(), name)
    said = set(word.casefold().split())
    whole = [n for n in by_case if n and set(n.split()) <= said]
    hit = get_close_matches(word.casefold(), whole or list(by_case), 1, 0.0 if whole else cutoff)
    return by_case[hit[0]] if hit else ""


def nearest_hint(name: str, names: Iterable[str], otherwise: str) -> str:
    """``nearest: ...`` if one of ``names`` is near, else ``otherwise``."""
    near = near_name(name.strip(), names, 0.5)
    return f"nearest: {near}" if near else otherwise
