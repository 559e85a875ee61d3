"""Rows of many cases at once: a kind's own ``resolve``, ``dial``, ``hint``, ``slip_scale`` compiled over arrays.

The same bits as the plain functions give.  A law stays in Python where that cannot be promised: where it raises to a
power that compiled code would multiply out, which rounds otherwise.  An input that is a list is its place in the table.
"""

from __future__ import annotations

import dis
import importlib.util
import re
import sys
from collections.abc import Callable, Iterator
from threading import RLock
from types import FunctionType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from simcore.contract import N_ROW, Part
from simcore.solver.compile import Adopter, cache_folder, fingerprint, write_once

Floats = NDArray[np.float64]

LEAST: Final = 64
"""Fewer cases are not worth loading compiled code."""
OTHERWISE: Final = ("hypot", "pow", "sum")
"""Functions that compiled code rounds otherwise than Python does."""
_LOADING: Final = RLock()
_FAILS: Final = (ArithmeticError, ValueError)

LOOP: Final = '''"""Generated; do not edit."""

from collections import namedtuple

Raw = namedtuple("Raw", {names!r})


@njit(error_model="python", nogil=True, cache=True)
def over(given, more, out):
    for c in range(out.shape[0]):
        r = law({call})
'''
TUPLE: Final = "        for j in range(len(r)):\n            out[c, j] = r[j]\n"
NUMBER: Final = "        out[c, 0] = r\n"


def rows_of(part: Part, raw: Floats, w1: Floats) -> Floats | None:
    """Rows (cases, N_ROW) from raw inputs (cases, inputs in the order of the kind's) and frequencies (cases) [rad/s].

    None where the law stays in Python.
    """
    return _run(part, "resolve", raw, w1, np.zeros((len(raw), N_ROW)))


def dialled(part: Part, rows: Floats, factors: Floats) -> Floats:
    """The rows (cases, N_ROW) of a protection at its setting times ``factors`` (cases)."""
    out = _run(part, "dial", rows, factors, rows.copy())
    if out is None:
        out = rows.copy()
        for c, (row, f) in enumerate(zip(rows, factors, strict=True)):
            new = part.call("dial", row, float(f))
            out[c, : len(new)] = new
    return out


def numbers(part: Part, law: str, rows: Floats) -> Floats:
    """``hint`` or ``slip_scale`` of each row, (cases); 0 for a kind without."""
    if not part.has(law):
        return np.zeros(len(rows))
    out = _run(part, law, rows, np.zeros(len(rows)), np.zeros((len(rows), 1)))
    return np.array([part.call(law, row) for row in rows], dtype=float) if out is None else out[:, 0]


def _run(part: Part, law: str, given: Floats, more: Floats, out: Floats) -> Floats | None:
    if len(given) < LEAST:
        return None
    over = compiled(part, law)
    if over is None:
        return None
    try:
        over(np.ascontiguousarray(given, dtype=float), np.ascontiguousarray(more, dtype=float), out)
    except _FAILS:
        return None  # the plain functions say which case it is, and what is wrong with it
    return out if _as_plain(part, law, given, more, out) else None


def _as_plain(part: Part, law: str, given: Floats, more: Floats, out: Floats) -> bool:
    """Whether all cases have numbers where the first has them in Python: a root of -1 raises there, here it is NaN."""
    first = part.call(law, *_plain(part, law, given[0], float(more[0])))
    new = np.array(first if isinstance(first, tuple) else (first,), dtype=float)
    finite = np.isfinite(new)
    return out[0, : len(new)].tobytes() == new.tobytes() and bool(np.all(np.isfinite(out[:, : len(new)]) == finite))


def _plain(part: Part, law: str, given: Any, more: float) -> tuple[Any, ...]:
    if law == "resolve":
        return part.raw(dict(zip((p.name for p in part.kind.params), given.tolist(), strict=True))), more
    return (given, more) if law == "dial" else (given,)


def compiled(part: Part, law: str) -> Any:
    """The law over arrays, made once and kept on disk; None if it must stay in Python."""
    with _LOADING:
        return _compiled(part.functions[law], part.kind.name, law, part) if part.has(law) else None


_made: dict[Any, Any] = {}


def _compiled(plain: Callable[..., Any], kind: str, law: str, part: Part) -> Any:
    if plain not in _made:
        _made[plain] = None
        if exact(plain):
            from numba.core.errors import NumbaError

            try:
                _made[plain] = _loaded(part, law)
            except NumbaError:
                _made[plain] = None
    return _made[plain]


def _loaded(part: Part, law: str) -> Any:
    name = f"simcore_rows_{re.sub(r'[^A-Za-z0-9]+', '_', part.kind.name)}_{law}_{fingerprint([part])}"
    path = cache_folder() / f"{name}.py"
    write_once(path, text(part, law))
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        return None
    module = importlib.util.module_from_spec(spec)
    adopter = _Adopter(name)
    module.__dict__.update(law=adopter.adopt(part.functions[law]), njit=adopter.njit)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    some = np.zeros((1, max(1, len(part.kind.params)) if law == "resolve" else N_ROW))
    module.over(some, np.ones(1), np.zeros((0, N_ROW)))  # no case: compiles, computes nothing
    return module.over


def text(part: Part, law: str) -> str:
    """The module around one law."""
    names = [p.name for p in part.kind.params]
    raw = ", ".join(f"given[c, {j}]" for j in range(len(names)))
    call = {"resolve": f"Raw({raw}), more[c]", "dial": "given[c], more[c]"}.get(law, "given[c]")
    return LOOP.format(names=names, call=call) + (TUPLE if law in ("resolve", "dial") else NUMBER)


class _Adopter(Adopter):
    """Inner functions that raise on a division by zero, as Python does."""

    def njit(self, **options: Any) -> Callable[[Any], Any]:
        from numba import njit

        kept = {k: v for k, v in options.items() if k != "_nrt"}
        made: Callable[[Any], Any] = njit(**{**kept, "error_model": "python"})
        return made


def exact(law: Callable[..., Any]) -> bool:
    """Whether a law and all that it calls round alike in Python and compiled."""
    seen: dict[Any, None] = {law: None}
    for name in law.__code__.co_names:
        _reach(law.__globals__.get(name), seen)
    return not any(set(OTHERWISE) & set(f.__code__.co_names) or any(_powers(f)) for f in seen)


def _reach(f: Any, seen: dict[Any, None]) -> None:
    if isinstance(f, FunctionType) and f.__module__.startswith("simcore") and f not in seen:
        seen[f] = None
        for name in f.__code__.co_names:
            _reach(f.__globals__.get(name), seen)


def _powers(f: FunctionType) -> Iterator[bool]:
    """For each ``**``, whether its power is other than a constant like 2/3: whole and half ones are multiplied out."""
    before: Any = None
    for step in dis.get_instructions(f):
        if step.opname == "BINARY_OP" and step.argrepr.startswith("**"):
            yield not _rounds_alike(_constant(f, before))
        if step.opname != "CACHE":
            before = step


def _constant(f: FunctionType, step: Any) -> Any:
    """What an instruction loads if that is a constant, of the function or of its module; None otherwise."""
    if step is None:
        return None
    if step.opname == "LOAD_CONST":
        return step.argval
    return f.__globals__.get(step.argval) if step.opname == "LOAD_GLOBAL" else None


def _rounds_alike(power: Any) -> bool:
    return isinstance(power, float) and not (2.0 * power).is_integer()
