"""Feeds the hand-written solver from the assembled demo line, so that both solve the same numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from benchmarks import hand_kernel as hk
from benchmarks import hand_laws as hl
from benchmarks import hand_measures as hm
from simcore.contract import COL_RA
from simcore.line.assemble import Assembly
from simcore.parts.hard_stop import PLACE
from simcore.solver import arrays as ar

ORDER = ["motor", "gearbox", "friction disc", "head shaft", "tray chain", "rails", "tray jams"]


@dataclass(frozen=True)
class HandLine:
    """Start, parameters and weights of the demo line in the layout of :mod:`benchmarks.hand_laws`."""

    y0: Any
    m0: Any
    params: Any
    scale: Any
    h0: float
    t_end: float

    @classmethod
    def of(cls, a: Assembly) -> HandLine:
        """From an assembly that starts at the contact (see :func:`benchmarks.demo.from_contact`)."""
        assert a.names == ORDER
        assert len(a.nodes) == 6
        y0 = np.zeros(hl.NY)
        y0[:5], y0[5:10], y0[10:12] = a.y0[1:6], a.y0[7:12], a.y0[12:14]
        scale = np.concatenate([a.scale[:, 1:6], a.scale[:, 7:12], a.scale[:, 12:14]], axis=1)
        assert a.mode0[1] == 5
        assert list(a.mode0[[8, 12]]) == [1, 1]
        m0 = np.array([a.mode0[0], 1, a.mode0[2], a.mode0[4], hl.TOUCHING, 1, 1, 0], dtype=np.int64)
        return cls(y0, m0, params_of(a, a.rows), scale, float(a.setup[2]), float(a.setup[1]))

    def scratch(self, cases: int) -> tuple[Any, ...]:
        return (
            np.zeros(hl.NY), np.zeros(8, dtype=np.int64), np.zeros((16, hl.NY)), np.zeros((4, hl.NT)),
            np.zeros((5, hl.NG)), np.zeros((cases, hm.N_OUT)), np.zeros((cases, 4), dtype=np.int64),
            np.zeros(cases, dtype=np.int64),
        )  # fmt: skip

    def run(self, params: Any = None) -> tuple[Any, Any]:
        """Measures (cases, N_OUT) and counts (cases, 4)."""
        params = self.params[None] if params is None else params
        s = self.scratch(len(params))
        failed = hk.crashes(params, self.t_end, self.h0, self.y0, self.m0, self.scale, *s)
        assert failed == 0
        return s[5], s[6]


def params_of(a: Assembly, rows: Any) -> Any:
    """One row of parameters from the parts' rows (parts, 32)."""
    motor, gear, disc, head, chain, rails, stop = rows
    p = np.zeros(hl.N_PARAM)
    p[hl.PEAK : hl.SLIP_C + 1] = motor[:5]
    p[hl.IR], p[hl.KG], p[hl.CG], p[hl.UP], p[hl.BACK] = gear[COL_RA], gear[0], gear[1], gear[3], gear[4]
    p[hl.S], p[hl.OVER], p[hl.V_STRIBECK], p[hl.RISE] = disc[:4]
    p[hl.KD : hl.FADE + 1] = disc[5:10]
    p[hl.SHAPE_REF] = 1.0 + disc[3] * disc[4] + (disc[1] - 1.0) * np.exp(-disc[4] / disc[2])
    p[hl.KH], p[hl.CH] = head[:2]
    p[hl.R_CHAIN], p[hl.KC], p[hl.CC] = chain[COL_RA], chain[0], chain[1]
    p[hl.RUN], p[hl.HOLD] = rails[:2]
    p[hl.R_STOP], p[hl.KS], p[hl.CS], p[hl.GAP] = stop[COL_RA], stop[0], stop[1], a.mem0[-1, PLACE]
    p[hl.J1 : hl.J5 + 1] = a.nodes[1:, ar.INV_J]
    return p
