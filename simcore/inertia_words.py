"""Inertias in words: who brings how much, and the range of those that vary over a turn."""

from __future__ import annotations

from collections.abc import Mapping

from simcore.units import plain

VARIES = "inertia varies by"
"""What an inertia that varies over a turn adds at most: of a contributor, or of a side of a candidate."""


def over_a_turn(least: float, more: float, unit: str = "") -> str:
    """An inertia, or the range of one that varies.

    >>> over_a_turn(0.08, 0.0), over_a_turn(0.08, 0.2, " kg*m^2")
    ('0.08', '0.08 to 0.28 kg*m^2 over a turn')
    """
    return f"{plain(least)} to {plain(least + more)}{unit} over a turn" if more > 0.0 else f"{plain(least)}{unit}"


def ranked_words(table: Mapping[str, float], varies: Mapping[str, float], calls: Mapping[str, str]) -> str:
    """Who brings how much, the largest first; ``calls``: other words for some of them."""
    all_of = {n: (table.get(n, 0.0), varies.get(n, 0.0)) for n in (*table, *varies)}
    ranked = sorted(all_of.items(), key=lambda item: -sum(item[1]))
    return ", ".join(f"{calls.get(n, n)} {over_a_turn(*js)}" for n, js in ranked if sum(js) > 0.0)
