"""The short cuts in compiling: the same answers, numba left as it was, and the kernel of the usual kinds alone."""

from __future__ import annotations

import gc
import os
import subprocess
import sys
from contextlib import contextmanager, nullcontext
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from lines import Line, run
from numba.core.types.functions import BaseFunction
from numba.np import linalg

from simcore.contract import registry_of
from simcore.line.assemble import assemble
from simcore.parts import REGISTRY, USUAL, flywheel, shaft
from simcore.scenario.read import read
from simcore.solver import beside, lean
from simcore.solver import compile as compiling
from simcore.solver import kernel as kn
from simcore.solver.beside import helped
from simcore.solver.compile import load_kernel
from simcore.solver.quick import quickened
from simcore.solver.shares import units

DEMO = Path(__file__).parents[2] / "scenarios" / "bakery_tray_conveyor.toml"


def compile_and_fail():
    assert not gc.isenabled()
    raise ZeroDivisionError


def test_numba_is_left_as_it_was():
    plain, blas = BaseFunction.get_call_type, linalg.ensure_blas
    with quickened():
        assert BaseFunction.get_call_type is not plain
        assert linalg.ensure_blas is not blas
    with pytest.raises(ZeroDivisionError), quickened():
        compile_and_fail()
    assert BaseFunction.get_call_type is plain
    assert linalg.ensure_blas is blas
    assert gc.isenabled()


@pytest.fixture
def help_taken(monkeypatch):
    """Names of what a second process compiled, for each kernel compiled meanwhile."""
    found = {}

    @contextmanager
    def noting(module):
        ready = compiling.lies_ready(module.__name__)
        with helped(module) as taken:
            yield taken
        if beside._cores() > 1 and not ready:
            found[module] = taken

    monkeypatch.setattr(kn, "helped", noting)
    return found


def test_the_usual_kinds_alone_give_the_same_bits(kernel, help_taken):
    """Every protection of the demo through a kernel that has no other kinds; not one of them is missing in it.

    Where this is its first use, a second process compiled its share: every unit of it fitted.
    """
    few = load_kernel(list(REGISTRY.values())[:USUAL])
    scenario = read(DEMO)
    assert scenario.kinds <= set(list(REGISTRY)[:USUAL])
    for candidate in scenario.candidates.values():
        a = assemble(scenario, candidate, scenario.situations["tray jams"])
        one, other = (kn.run_one(a, module=m) for m in (few, kernel))
        assert np.array_equal(one.trace, other.trace, equal_nan=True)
        assert np.array_equal(one.meas, other.meas, equal_nan=True)
        assert np.array_equal(one.events, other.events)
    for module, taken in help_taken.items():
        assert {*taken} == {name for name, _, _ in units(module)}


class Batch:
    """Stands for a kernel's entry: compiled by its first call."""

    def __init__(self):
        self.signatures, self.calls = [], []

    def __call__(self, first, last, *rest):
        self.calls.append((first, last, kn._LOADING.locked()))
        self.signatures = ["compiled"]


def test_cases_do_not_wait_for_each_other_once_it_is_compiled(monkeypatch):
    """The first call in a process compiles and runs nothing: no case runs while others are locked out."""
    scenario = read(DEMO)
    a = assemble(scenario, scenario.candidates["friction disc"], scenario.situations["tray jams"])
    batch = Batch()
    monkeypatch.setattr(kn, "helped", nullcontext)
    kn.run_many(a, np.repeat(a.rows[None], 4, axis=0), module=SimpleNamespace(run_batch=batch))
    assert batch.calls == [(0, 0, True), (0, 4, False)]


def test_any_other_kind_asks_for_the_kernel_of_all(kernel):
    scenario = read(DEMO)
    a = assemble(scenario, scenario.candidates["friction disc"], scenario.situations["tray jams"])
    a.parts[0, 0] = USUAL
    assert kn.kernel_for(a) is kernel


def test_the_kernel_of_all_serves_every_line_once_it_is_compiled(monkeypatch):
    every = list(REGISTRY.values())
    for compiled, usual, number in ((True, True, len(every)), (False, True, USUAL), (False, False, len(every))):
        monkeypatch.setattr(kn, "is_compiled", lambda _, c=compiled: c)
        kn.parts_for.cache_clear()
        assert len(kn.parts_for(usual)) == number
    kn.parts_for.cache_clear()


@pytest.mark.slow
def test_without_the_short_cuts_the_bits_are_the_same(monkeypatch, tmp_path):
    """A numba whose internals are not as expected: everything is compiled the plain way."""

    def changed():
        raise AttributeError

    registry = registry_of([shaft, flywheel])
    line = Line(registry)
    line.part("shaft", line.mass(0.5, 0.0, 0.3), 0, stiffness=50.0)
    short = run(line, 1.0, load_kernel(list(registry.values())), fast=10.0)
    monkeypatch.setattr(lean, "pipelines", changed)
    monkeypatch.setattr(compiling, "fingerprint", lambda parts: "without_short_cuts")
    monkeypatch.setattr(compiling, "cache_folder", lambda: tmp_path)
    long = run(line, 1.0, load_kernel(list(registry.values())), fast=10.0)
    assert np.array_equal(short.out.trace, long.out.trace)


def test_a_kernel_is_found_where_numba_was_told_to_keep_it(monkeypatch, tmp_path):
    (tmp_path / "kept").mkdir()
    (tmp_path / "small_kernel.py").write_text("import numba\n@numba.njit(cache=True)\ndef f(): return 1\n")
    env = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path / "kept")}
    assert not compiling.lies_ready("small_kernel")
    monkeypatch.setenv("NUMBA_CACHE_DIR", env["NUMBA_CACHE_DIR"])
    assert not compiling.lies_ready("small_kernel")
    subprocess.run([sys.executable, "-c", "from small_kernel import f; f()"], env=env, cwd=tmp_path, check=True)
    assert compiling.lies_ready("small_kernel")
