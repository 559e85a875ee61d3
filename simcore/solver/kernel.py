"""The kernel as the rest of the program calls it: one case with its trace, or many without."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from threading import Lock
from types import ModuleType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcore.contract import Part
from simcore.parts import REGISTRY, USUAL
from simcore.solver import arrays as ar
from simcore.solver.beside import helped
from simcore.solver.compile import is_compiled, load_kernel
from simcore.solver.quick import quickened

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

TRACE_ROWS = 20_000
EVENT_ROWS = 4_000
MOST_EVENT_ROWS = 100_000
"""Rows of the event list where the line has lists: their corners are events, and must not crowd out the others."""


_LOADING = Lock()
"""A second thread that asks at the same time would find a half-loaded module."""


@cache
def parts_for(usual: bool) -> list[Part]:
    """Parts of the kernel for a line of usual kinds alone, or of any.

    Compiling all kinds takes about twice as long as the usual ones, so a first start does without the others; once
    the kernel of all of them lies ready it serves every line.  Both give the same bits.
    """
    every = list(REGISTRY.values())
    return every[:USUAL] if usual and not is_compiled(every) else every


@cache
def _kernel(usual: bool) -> ModuleType:
    return load_kernel(parts_for(usual))


def kernel(usual: bool = False) -> ModuleType:
    """The compiled kernel of all registered parts, or one that at least has the usual ones."""
    with _LOADING:
        return _kernel(usual)


def kernel_for(a: Any) -> ModuleType:
    """The compiled kernel that an Assembly needs."""
    return kernel(bool(a.parts[:, ar.KIND].max() < USUAL))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the kernel gives for one case.

    ``meas`` (parts + 1, N_MEAS) and ``counts`` (8) are always there; ``trace`` (rows, columns) and
    ``events`` (rows, 6) only for a single run.
    """

    status: ar.Status
    meas: Floats
    counts: Ints
    trace: Floats
    events: Floats
    y: Floats
    memory: Floats
    """Of every part (parts, 64) at the end."""


def cases_of(a: Any, rows: Floats | None = None) -> Any:
    """The cases of one Assembly: its own, or one for each of ``rows`` (cases, parts, 48)."""
    rows = a.rows[None] if rows is None else rows
    inertia = a.nodes[:, ar.INERTIA]
    return ar.Cases(rows, inertia[None], a.setup[None], a.y0[None], a.mode0[None], a.mem0, a.wire0, a.steady[None],
                    a.scale[None], a.nodes[None, :, ar.STOP_SPEED])  # fmt: skip


def _call(a: Any, cases: Any, first: int, last: int, work: Any, out: Any, module: ModuleType) -> Any:
    line, state, scratch = work
    y = a.y0.copy()
    # for arrays laid out otherwise the kernel would be compiled once more, for a minute, without a word
    cases = ar.Cases(*map(np.ascontiguousarray, cases))
    size = a.steady.shape[1]
    rest = (cases, y, np.zeros((size, size)), line, state, scratch, *out)
    if not _is_ready(module):
        with _LOADING, quickened(), helped(module):
            module.run_batch(0, 0, *rest)  # compiles, or reads the cache, and runs nothing
    module.run_batch(first, last, *rest)
    return y


def _is_ready(module: ModuleType) -> bool:
    """Whether the kernel has been compiled, or read from the cache, in this process."""
    return bool(getattr(module.run_batch, "signatures", True))


def _outputs(cases: int, np_: int) -> tuple[Floats, Ints, Ints]:
    return (
        np.empty((cases, np_ + 1, ar.N_MEAS)),
        np.zeros((cases, 8), dtype=np.int64),
        np.zeros(cases, dtype=np.int64),
    )


def run_one(a: Any, trace: bool = True, module: ModuleType | None = None, cases: Any = None) -> Outcome:
    """Run an Assembly; with ``trace`` every step, both limits at events, and the event list.

    ``cases``: one case of many (arrays.Cases) to run in its place.
    """
    module = module or kernel_for(a)
    size, events = (TRACE_ROWS, EVENT_ROWS) if trace else (0, 0)
    while True:
        work = ar.working_arrays(a, size, events)
        meas, counts, status = out = _outputs(1, len(a.parts))
        y = _call(a, cases_of(a) if cases is None else cases, 0, 1, work, out, module)
        if status[0] == ar.Status.TRACE_FULL:
            size = int(counts[0, ar.ROWS]) + 16
        elif trace and events == EVENT_ROWS < counts[0, ar.EVENTS] and len(a.tab) > 1:
            events = min(int(counts[0, ar.EVENTS]), MOST_EVENT_ROWS)
        else:
            break
    n = int(counts[0, ar.ROWS]) if trace else 0
    m = int(counts[0, ar.EV_ROWS]) if trace else 0
    return Outcome(
        ar.Status(int(status[0])), meas[0], counts[0], work[2].rec[:n], work[2].ev[:m], y, work[1].mem.copy()
    )


def run_states(a: Any, cases: Any, count: int) -> tuple[Floats, Ints]:
    """States at the end (cases, states) and status (cases) of cases as in :func:`run_cases`, one after the other."""
    module = kernel_for(a)
    work, out = ar.working_arrays(a, 0, 0), _outputs(count, len(a.parts))
    ends = [_call(a, cases, c, c + 1, work, out, module) for c in range(count)]
    return np.array(ends), out[2]


def run_many(a: Any, rows: Floats, threads: int = 1, module: ModuleType | None = None) -> tuple[Floats, Ints, Ints]:
    """Run the Assembly with each of ``rows`` (cases, parts, 48); same bits for any ``threads``.

    Returns measures (cases, parts + 1, N_MEAS), counts (cases, 8), status (cases).
    """
    return run_cases(a, cases_of(a, rows), len(rows), threads, module)


def run_cases(
    a: Any, cases: Any, count: int, threads: int = 1, module: ModuleType | None = None
) -> tuple[Floats, Ints, Ints]:
    """Run ``count`` cases that share the structure of the Assembly ``a``; as :func:`run_many`."""
    module = module or kernel_for(a)
    out = _outputs(count, len(a.parts))
    edges = np.linspace(0, count, max(1, min(threads, count)) + 1).astype(int)
    pairs = list(zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True))

    def part(pair: tuple[int, int]) -> None:
        _call(a, cases, pair[0], pair[1], ar.working_arrays(a, 0, 0), out, module)

    if len(pairs) == 1:
        part(pairs[0])
    else:
        with ThreadPoolExecutor(len(pairs)) as pool:
            list(pool.map(part, pairs))
    return out
