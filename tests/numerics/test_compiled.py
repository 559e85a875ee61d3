"""The compiled kernel: same bits everywhere, no allocation, its hash, a part of one's own."""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from ast import literal_eval
from hashlib import sha256
from math import sqrt
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
import toy_spring
from crashes import HOW, PROTECTIONS, crash
from lines import Line, Run, run

from simcore.contract import COL_SETTING, registry_of
from simcore.parts import REGISTRY, shaft
from simcore.solver import arrays as ar
from simcore.solver import kernel as kn
from simcore.solver.compile import Adopter, fingerprint, furnish, load_kernel, plain_kernel

HERE = Path(__file__).parent


def cases(kind: str) -> tuple[object, np.ndarray]:
    """Nine cases that differ in the protection's setting."""
    a = crash(kind).assembly(0.3, **HOW)
    rows = np.repeat(a.rows[None], 9, axis=0)
    dial = REGISTRY[kind].functions["dial"]
    for i, f in enumerate(np.linspace(0.6, 1.8, 9)):
        new = dial(tuple(a.rows[1]), f)
        rows[i, 1, : len(new)] = new
        rows[i, 1, COL_SETTING] *= f
    return a, rows


def digest() -> str:
    """Hash of the bits of many cases of all protections."""
    h = sha256()
    for kind in PROTECTIONS:
        for out in kn.run_many(*cases(kind)):
            h.update(out.tobytes())
    return h.hexdigest()


def other_process(call: str, **env: str) -> str:
    """What ``call``, a function of this file, gives in a fresh process."""
    code = f"import sys; sys.path[:0] = {[str(HERE), str(HERE.parent), *sys.path]!r}\n"
    code += f"import test_compiled as t; print(t.{call})"
    done = subprocess.run(
        [sys.executable, "-c", code], env=os.environ | env, capture_output=True, text=True, check=True
    )
    return done.stdout.strip()


@pytest.mark.parametrize("kind", PROTECTIONS)
def test_same_bits_on_any_number_of_threads(kind, kernel):
    a, rows = cases(kind)
    one, *others = (kn.run_many(a, rows, threads=n) for n in (1, 2, 3))
    assert len(np.unique(one[0][:, 1, ar.PEAK])) > 3
    for other in others:
        for x, y in zip(one, other, strict=True):
            assert x.tobytes() == y.tobytes()


@pytest.mark.parametrize("kind", PROTECTIONS)
def test_single_run_with_trace_gives_the_bits_of_the_batch(kind, kernel):
    a, rows = cases(kind)
    meas, counts, _ = kn.run_many(a, rows, threads=2)
    for i in (0, 4, 8):
        one = kn.run_one(a.with_rows(rows[i]))
        assert one.meas.tobytes() == meas[i].tobytes()
        assert one.counts[ar.STEPS] == counts[i, ar.STEPS]


def test_same_bits_in_another_process(kernel):
    assert other_process("digest()") == digest()


@pytest.mark.slow
def test_same_bits_with_reference_counting_on(kernel):
    """numba's undocumented option _nrt=False changes the speed, not the answer (another full compile)."""
    assert other_process("digest()", SIMCORE_KERNEL_NRT="1") == digest()


def allocations(t_end: float) -> tuple[int, int]:
    from numba.core.runtime import rtsys

    a = crash("ball detent").assembly(t_end, **HOW)
    kn.run_one(a, trace=False)
    before = rtsys.get_allocation_stats()
    steps = kn.run_one(a, trace=False).counts[ar.STEPS]
    after = rtsys.get_allocation_stats()
    return after.alloc - before.alloc, int(steps)


def both_allocations() -> list[tuple[int, int]]:
    return [allocations(0.02), allocations(0.6)]


def test_a_warm_call_allocates_nothing_by_the_step(kernel):
    """numba's own counter: the arrays handed over are counted, whatever the number of steps."""
    (short, few), (long, many) = literal_eval(other_process("both_allocations()", NUMBA_NRT_STATS="1"))
    assert many > 4 * few
    assert short == long


@pytest.mark.parametrize("kind", ["ball detent", "friction disc"])
def test_plain_and_compiled_kernel_agree(kind, kernel):
    line = crash(kind)
    slow = Run(line.assembly(0.012, w1=60.0, rtol=1e-5), plain_kernel(list(REGISTRY.values())))
    fast = run(line, 0.012, w1=60.0, rtol=1e-5)
    assert len(fast.out.events) >= 4
    assert np.array_equal(slow.out.events[:, 1:5], fast.out.events[:, 1:5])
    assert slow.out.events[:, 0] == pytest.approx(fast.out.events[:, 0], abs=1e-12)
    assert slow.out.y == pytest.approx(fast.out.y, rel=1e-12, abs=1e-12)
    assert slow.out.counts[ar.STEPS] == fast.out.counts[ar.STEPS]


def test_a_part_is_one_file_and_one_line():
    """A kernel of two kinds, one of them known to this test only; period of Duffing's spring by energy."""
    registry = registry_of([shaft, toy_spring])
    module = load_kernel(list(registry.values()))
    line = Line(registry)
    n = line.mass(0.5, 0.0, 0.3)
    spring = line.part("toy spring", n, 0, k=200.0, k3=3000.0)
    line.part("shaft", n, 0, stiffness=50.0)
    r = run(line, 1.0, module, fast=10.0)
    assert r.residual < 1e-9
    assert r.torque(spring)[0] == pytest.approx(200.0 * 0.3 + 3000.0 * 0.027)
    top = sqrt(2.0 / 0.5 * (0.5 * 250.0 * 0.3**2 + 0.25 * 3000.0 * 0.3**4))
    assert np.abs(r.speed(n)).max() == pytest.approx(top, rel=1e-3)
    assert np.abs([a for _, a in r.turning(n)]) == pytest.approx(0.3, rel=1e-7)


def test_what_only_switches_call_is_not_forced_inline():
    """A law of every evaluation is, and so is what it calls even where a switch calls it as well."""
    adopter, detent = Adopter("any"), REGISTRY["ball detent"]
    furnish(ModuleType("any"), [detent], adopter)
    own = detent.functions["switch"].__globals__
    seldom, often = ("switch", "_gap", "_put_back", "store"), ("torque", "guards", "loss", "_side")
    forced = {name: bool(adopter.adopt(own[name]).targetoptions["forceinline"]) for name in (*seldom, *often)}
    assert forced == dict.fromkeys(seldom, False) | dict.fromkeys(often, True)


def test_an_edit_gives_another_kernel_and_undoing_it_the_old_one(tmp_path):
    source = Path(toy_spring.__file__).read_text()
    path = tmp_path / "edited_spring.py"
    path.write_text(source)
    spec = importlib.util.spec_from_file_location("edited_spring", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    parts = list(registry_of([shaft, module]).values())
    first = fingerprint(parts)
    path.write_text(source.replace("0.25 *", "0.5 *"))
    assert fingerprint(parts) != first
    path.write_text(source)
    assert fingerprint(parts) == first
    assert fingerprint(list(REGISTRY.values())) != first
