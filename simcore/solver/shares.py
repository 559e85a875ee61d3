"""Which of the kernel's functions a second process compiles, and for which types of argument.

A function asked for with other types, or left out here, is compiled by the first process: nothing but time depends on
these lists.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import ModuleType, SimpleNamespace
from typing import Any

import numpy as np

from simcore.solver import arrays as ar
from simcore.solver import dispatch, locate, pace, settle, steady, stiff, trace, watch

SOLVER: dict[Callable[..., Any], str] = {
    steady.run_up: "vfmLSWm",
    dispatch.switch_part: "iifvvLS",
    steady.stands: "vmiiS",
    dispatch.part_store: "ifvLS",
    dispatch.part_clock: "ifvLS",
    settle.settle_accounts: "fvLSW",
    stiff.stiff_step: "ffviLSW",
    locate.crossing_share: "ffvLSW",
    trace.record_step: "fffvvLSWv",
    pace.accept: "ffbbivLSWv",
    watch.note_cycle: "fvLSW",
    watch.close_ledger: "fvvLSW",
}
"""Functions of the loop in the order in which the first process comes to need them."""
EVALUATE = dispatch.evaluate, "ffvvvvLS"
"""The one function that both need: the first process alone compiles it, with all laws in it."""


def units(module: ModuleType) -> list[tuple[str, Any, str]]:
    """Name, dispatcher and coded argument types of all that the second process compiles."""
    adopt = module._adopter.adopt
    return [(f.__name__, adopt(f), code) for f, code in SOLVER.items()]


def argument_types(code: str) -> tuple[Any, ...]:
    """Types of the arguments, one letter each."""
    return tuple(_types()[c] for c in code)


@cache
def _types() -> dict[str, Any]:
    from numba import typeof, types

    line, state, work = (typeof(x) for x in ar.working_arrays(_smallest(), 0, 0))
    vector = np.zeros(1)
    return {"f": types.float64, "i": types.int64, "b": types.boolean,
            "v": typeof(vector), "m": typeof(np.zeros((1, 1))), "L": line, "S": state, "W": work}  # fmt: skip


def compiled(dispatcher: Any, code: str) -> Any:
    """numba's record of a function compiled for these argument types."""
    args = argument_types(code)
    dispatcher.compile(args)
    return dispatcher.overloads[args]


def _smallest() -> Any:
    """What an Assembly must have for its arrays to be made."""
    one, ints = np.zeros((1, ar.N_NODE)), np.zeros((1, ar.N_PART), dtype=np.int64)
    return SimpleNamespace(parts=ints.astype(np.uint32), rows=one, nodes=one, tab=one[0], klass=ints, y0=one[0],
                           scale=one, mode0=ints[0], mem0=one, wire0=one[0])  # fmt: skip
