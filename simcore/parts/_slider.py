r"""A mass that a turning shaft moves to and fro: seen from the shaft, an inertia that varies with the angle.

With the mass at :math:`x(\theta)` the shaft carries :math:`m x'^2\dot\omega + m x' x''\omega^2`: Lagrange's equation,
textbook.  The kernel counts :math:`m x'^2` as inertia, so kinetic energy holds the mass's own.  Forces on the
mass against its motion, one for each stroke, are dry friction :math:`F|x'|` at the shaft.
"""

from __future__ import annotations

from simcore.contract import Param


def stroke_forces() -> tuple[Param, Param, Param]:
    """Forces on the mass against its motion."""
    return (
        Param("slide_friction", "force", "dry friction of its guide, on both strokes", default="0 N", low="0 N",
              source="left out unless given"),
        Param("force_out", "force", "process force against it on the way out (pressing, cutting, pumping)",
              default="0 N", low="0 N", source="left out unless given"),
        Param("force_back", "force", "process force against it on the way back", default="0 N", low="0 N",
              source="left out unless given"),
    )  # fmt: skip


def stroke_friction(slope: float, out: float, back: float) -> tuple[float, float, float, float]:
    """Dry friction at the shaft where ``x'`` is ``slope`` [m/rad]: turning forward it goes out if that is positive."""
    if slope >= 0.0:
        return slope * back, slope * out, slope * back, slope * out
    return -slope * out, -slope * back, -slope * out, -slope * back
