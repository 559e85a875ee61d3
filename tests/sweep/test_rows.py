"""Rows of many cases by compiled laws: the same bits as the plain functions give, of every kind."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lines import raw_of

from simcore.contract import N_ROW, Part
from simcore.line import laws
from simcore.line import rows as compiled_rows
from simcore.line.rows import dialled, exact, rows_of
from simcore.parts import REGISTRY
from simcore.scenario.read import read
from simcore.sweep.plan import Plan
from simcore.sweep.trial import Trial

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "parts"))
from states import VARIANTS  # noqa: E402

DEMO = ROOT / "scenarios" / "bakery_tray_conveyor.toml"
PROTECTIONS = [v for v in VARIANTS if REGISTRY[v[0]].kind.family == "protection"]
WHOLE_POWERS = [
    ("shaft", {"diameter": 0.035, "bore": 0.011, "length": 0.6}),
    ("tipping sprag", {"sprags": 14.0, "inner_radius": 0.03, "outer_radius": 0.039, "contact_length": 0.012,
                       "cam_angle": 0.2, "cam_radius": 0.006}),
    ("tipping sprag", {"setting": 150.0, "sprags": 14.0, "inner_radius": 0.03, "contact_length": 0.012}),
    ("planetary gear", {"ratio": 90.0, "stages": 3.0, "stage_efficiency": 0.967, "rated_torque": 100.0}),
]  # fmt: skip
PLACE = 5.0
"""Where an input that is a list stands in the table."""


def varied(part: Part, given: dict[str, Any], cases: int) -> tuple[Any, Any]:
    """Raw inputs (cases, inputs), those that are given varied by a hundredth, and frequencies (cases)."""
    rng = np.random.default_rng(len(given))
    found = raw_of(part, **given)
    params = part.kind.params
    base = [PLACE if p.many and p.name in found else float(found.get(p.name, np.nan)) for p in params]
    moved = [
        p.name in given and not p.many and p.kind != "count" and not isinstance(given[p.name], str) for p in params
    ]
    raw = np.tile(base, (cases, 1))
    raw[1:, moved] *= np.exp(rng.normal(0.0, 0.01, (cases - 1, sum(moved))))
    return raw, np.exp(rng.normal(3.0, 0.3, cases))


def plainly(part: Part, raw: Any, w1: Any) -> Any:
    names = [p.name for p in part.kind.params]
    rows = [part.call("resolve", part.raw(dict(zip(names, r.tolist(), strict=True))), float(w))
            for r, w in zip(raw, w1, strict=True)]  # fmt: skip
    return np.array(rows, dtype=float)


def compare(kind: str, given: dict[str, Any], cases: int = 200) -> bool:
    """Whether the kind's row is compiled; the bits are the same if so."""
    part = REGISTRY[kind]
    if not part.has("resolve"):
        return False
    raw, w1 = varied(part, given, cases)
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


ALL = [pytest.param(kind, given, id=f"{kind} {n}") for n, (kind, given) in enumerate(VARIANTS)]
PYTHON: dict[str, str] = {}
"""Kinds whose row stays in Python, and why."""


def test_which_kinds_stay_in_python() -> None:
    """Every registered kind's ``resolve`` and ``dial`` can run compiled, but for those that are listed."""
    left = {p.kind.name for p in REGISTRY.values() for law in ("resolve", "dial", "hint", "slip_scale")
            if p.has(law) and not exact(p.functions[law])}  # fmt: skip
    assert left == set(PYTHON)
    assert {k for k, _ in VARIANTS} >= {p.kind.name for p in REGISTRY.values() if p.has("resolve")}


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "given"), ALL)
def test_every_kind_bit_by_bit(kind: str, given: dict[str, Any]) -> None:
    """Compiles each kind's laws once, some 45 s in all."""
    if REGISTRY[kind].has("resolve"):
        assert compare(kind, given) or kind in PYTHON


@pytest.mark.parametrize("name", ["friction disc", "ball detent", "shear pins", "magnet disc"])
def test_a_cell_of_the_demo(name: str, monkeypatch: pytest.MonkeyPatch, kernel: object) -> None:
    s = read(DEMO, {"sweep.draws": "70", "sweep.block": "70"})
    plan = Plan.of(s)
    cell = plan.cells()[4]
    used = []
    monkeypatch.setattr(laws, "rows_of", lambda *a: used.append(rows_of(*a)) or used[-1])
    fast = [stack.cases.rows for stack in Trial(s, plan, name)._stacks(cell, 0, 70)]
    assert used
    assert all(x is not None for x in used)
    monkeypatch.setattr(laws, "rows_of", lambda *a: None)
    slow = [stack.cases.rows for stack in Trial(s, plan, name)._stacks(cell, 0, 70)]
    assert len(fast) == len(slow) == 3
    assert all(a.tobytes() == b.tobytes() for a, b in zip(fast, slow, strict=True))
    whole = Trial(s, plan, name)._assembled(cell, 0, 70)
    assert all(a.tobytes() == b.cases.rows.tobytes() for a, b in zip(fast, whole, strict=True))


def squared(r: Any, w1: float) -> tuple[float]:
    return (r.x**2,)


def two_thirds(r: Any, w1: float) -> tuple[float]:
    return (r.x ** (2.0 / 3.0),)


TENTH, HALF = 0.9, 0.5


def tenth(r: Any, w1: float) -> tuple[float]:
    return (r.x**TENTH,)


def by_half(r: Any, w1: float) -> tuple[float]:
    return (r.x**HALF,)


def test_whole_powers_stay_in_python() -> None:
    """x**2 is a call of pow in Python and a product compiled: in a thousand cases or so they differ in the last bit."""
    assert not exact(squared)
    assert exact(two_thirds)
    x = np.random.default_rng(1).uniform(1.0, 1e3, 100_000).tolist()
    assert any(v**2.0 != v * v for v in x)
    assert exact(tenth)
    assert not exact(by_half)


@pytest.mark.parametrize(("kind", "given"), WHOLE_POWERS)
def test_laws_with_whole_powers_bit_by_bit(kind: str, given: dict[str, Any]) -> None:
    """Shaft by diameter, sprags by geometry, stages of a planetary gear: the powers are written as products."""
    assert compare(kind, given, 5000)


def test_a_failing_case_is_left_to_python() -> None:
    """A division by zero raises there and says so; no row is made up."""
    part = REGISTRY["friction disc"]
    raw, w1 = varied(part, {"setting": 150.0}, 100)
    w1[50] = 0.0
    assert rows_of(part, raw, w1) is None
    assert rows_of(part, raw[: compiled_rows.LEAST - 1], w1[: compiled_rows.LEAST - 1]) is None
