"""Rows of many cases by compiled laws: the same bits as the plain functions give, of every kind."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lines import raw_of

from simcore.contract import N_ROW, Part
from simcore.line import rows as compiled_rows
from simcore.line.rows import compiled, dialled, exact, rows_of
from simcore.parts import REGISTRY
from simcore.scenario.read import read
from simcore.sweep import turn
from simcore.sweep.plan import Plan
from simcore.sweep.trial import Trial

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "parts"))
from states import VARIANTS  # noqa: E402

DEMO = ROOT / "scenarios" / "bakery_tray_conveyor.toml"
PROTECTIONS = [v for v in VARIANTS if REGISTRY[v[0]].kind.family == "protection"]
PLACE = 5.0
"""Where an input that is a list stands in the table."""


def varied(part: Part, given: dict[str, Any], cases: int) -> tuple[Any, Any]:
    """Raw inputs (cases, inputs), those that are given varied by a hundredth, and frequencies (cases)."""
    rng = np.random.default_rng(len(given))
    found = raw_of(part, **given)
    params = part.kind.params
    base = [PLACE if p.many and p.name in found else float(found.get(p.name, np.nan)) for p in params]
    moved = [p.name in given and not p.many and not isinstance(given[p.name], str) for p in params]
    raw = np.tile(base, (cases, 1))
    raw[1:, moved] *= np.exp(rng.normal(0.0, 0.01, (cases - 1, sum(moved))))
    return raw, np.exp(rng.normal(3.0, 0.3, cases))


def plainly(part: Part, raw: Any, w1: Any) -> Any:
    names = [p.name for p in part.kind.params]
    rows = [part.call("resolve", part.raw(dict(zip(names, r.tolist(), strict=True))), float(w))
            for r, w in zip(raw, w1, strict=True)]  # fmt: skip
    return np.array(rows, dtype=float)


def compare(kind: str, given: dict[str, Any]) -> bool:
    """Whether the kind's row is compiled; the bits are the same if so."""
    part = REGISTRY[kind]
    if not part.has("resolve"):
        return False
    raw, w1 = varied(part, given, 200)
    got = rows_of(part, raw, w1)
    if got is None:
        return False
    want = plainly(part, raw, w1)
    assert got[:, : want.shape[1]].tobytes() == want.tobytes()
    if part.has("dial"):
        rows = np.zeros((len(raw), N_ROW))
        rows[:, : want.shape[1]] = want
        turned = dialled(part, rows, w1 / 20.0)
        for c, row in enumerate(rows):
            new = part.call("dial", row, float(w1[c] / 20.0))
            assert turned[c, : len(new)].tobytes() == np.array(new, dtype=float).tobytes()
            assert turned[c, len(new) :].tobytes() == row[len(new) :].tobytes()
    return True


@pytest.mark.parametrize(("kind", "given"), PROTECTIONS)
def test_protections_bit_by_bit(kind: str, given: dict[str, Any]) -> None:
    part = REGISTRY[kind]
    if part.has("resolve") and compare(kind, given):
        raw, w1 = varied(part, given, 1)
        assert plainly(part, raw, w1).shape[1] == len(part.kind.row)
    else:
        assert not exact(part.functions["resolve"]) or kind == "shear pins"


@pytest.mark.slow
def test_every_kind_bit_by_bit() -> None:
    """Half a minute of compiling, once."""
    done = {kind for kind, given in VARIANTS if compare(kind, given)}
    assert len(done) > 0.8 * len({k for k, _ in VARIANTS if REGISTRY[k].has("resolve")})


@pytest.mark.parametrize("name", ["friction disc", "ball detent", "shear pins", "magnet disc"])
def test_a_cell_of_the_demo(name: str, monkeypatch: pytest.MonkeyPatch, kernel: object) -> None:
    s = read(DEMO, {"sweep.draws": "70", "sweep.block": "70"})
    plan = Plan.of(s)
    cell = plan.cells()[4]
    used = []
    monkeypatch.setattr(turn, "rows_of", lambda *a: used.append(rows_of(*a)) or used[-1])
    fast = [stack.cases.rows for stack in Trial(s, plan, name)._stacks(cell, 0, 70)]
    assert used
    assert all(x is not None for x in used)
    monkeypatch.setattr(turn, "_at_once", lambda *a: None)
    slow = [stack.cases.rows for stack in Trial(s, plan, name)._stacks(cell, 0, 70)]
    assert len(fast) == len(slow) == 3
    assert all(a.tobytes() == b.tobytes() for a, b in zip(fast, slow, strict=True))
    whole = Trial(s, plan, name)._assembled(cell, 0, 70)
    assert all(a.tobytes() == b.cases.rows.tobytes() for a, b in zip(fast, whole, strict=True))


def squared(r: Any, w1: float) -> tuple[float]:
    return (r.x**2,)


def two_thirds(r: Any, w1: float) -> tuple[float]:
    return (r.x ** (2.0 / 3.0),)


def test_whole_powers_stay_in_python() -> None:
    """x**2 is a call of pow in Python and a product compiled: in a thousand cases or so they differ in the last bit."""
    assert not exact(squared)
    assert exact(two_thirds)
    x = np.random.default_rng(1).uniform(1.0, 1e3, 100_000).tolist()
    assert any(v**2.0 != v * v for v in x)
    assert compiled(REGISTRY["shaft"], "resolve") is None


def test_a_failing_case_is_left_to_python() -> None:
    """A division by zero raises there and says so; no row is made up."""
    part = REGISTRY["friction disc"]
    raw, w1 = varied(part, {"setting": 150.0}, 100)
    w1[50] = 0.0
    assert rows_of(part, raw, w1) is None
    assert rows_of(part, raw[: compiled_rows.LEAST - 1], w1[: compiled_rows.LEAST - 1]) is None
