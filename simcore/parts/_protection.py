"""Inputs that every protection has."""

from __future__ import annotations

from math import isnan
from typing import Any

from simcore.contract import Param
from simcore.parts._given import lacking, named_in


def hub_params() -> tuple[Param, ...]:
    """Hub inertias of a protection; left out: the slot's own, else a size rule."""
    return (
        Param("hub_in", "inertia", "inertia of the driving hub; left out: the slot's, else by size",
              low="0 kg*m^2"),
        Param("hub_out", "inertia", "inertia of the driven hub; left out: the slot's, else by size",
              low="0 kg*m^2"),
    )  # fmt: skip


def tolerance(default: str, usual: tuple[str, str]) -> Param:
    return Param("tolerance", "ratio", "full band of the setting, plus and minus", default=default,
                 low=0, high=0.9, usual=usual, source="common practice, from memory")  # fmt: skip


def again_time(default: str | None, usual: tuple[str, str], left_out: str = "") -> Param:
    """``left_out``: words on the time taken where there is no one default (see ``to_run_again``)."""
    text = "time until the axis can run again once the jam is cleared"
    return Param("again_time", "time", f"{text}; left out: {left_out}" if left_out else text,
                 default=default, low="0 s", usual=usual, source="common practice, from memory")  # fmt: skip


def inertias(r: Any) -> tuple[float, float]:
    """Inertia of hub a and b [kg*m^2]; NaN where left out (the assembler fills the slot's in)."""
    return r.hub_in, r.hub_out


def hubs_by_size(setting: float) -> tuple[float, float]:
    """Hub inertias [kg*m^2] by similitude at equal stress, ``J ~ T^(5/3)``.

    Anchored at 8 and 4 g*m^2 for 150 N*m; common practice, from memory.
    """
    f = (setting / 150.0) ** (5.0 / 3.0)
    return 8e-3 * f, 4e-3 * f


def setting_or(r: Any, computed: float, how: str, needs: tuple[str, ...] = ()) -> list[str]:
    """Sentences when neither setting nor geometry is complete, or when they contradict each other by more than 2 %.

    Where both are given and agree the setting holds.  ``how`` says what the geometry takes; ``needs`` are these inputs
    by name, left out: those that it names.
    """
    if isnan(r.setting):
        whole = f"give the setting, or {how}"
        return (lacking(r, needs or named_in(r, how), "setting") or [whole]) if isnan(computed) else []
    if isnan(computed) or abs(computed - r.setting) <= 0.02 * r.setting:
        return []
    text = f"setting {r.setting:.4g} N*m contradicts the geometry, which gives {computed:.4g} N*m"
    return [text + ": leave one of them out"]
