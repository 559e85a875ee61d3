"""The second process that compiles a share of the kernel: what it sends fits, and nothing depends on it."""

from __future__ import annotations

import numpy as np
import pytest
from lines import Line, run
from numba import njit

from simcore.contract import registry_of
from simcore.parts import REGISTRY, USUAL, flywheel, shaft
from simcore.solver import beside, shares
from simcore.solver import compile as compiling
from simcore.solver.compile import INNER, Adopter, load_kernel
from simcore.solver.lean import lean
from simcore.solver.parcel import received, sent
from simcore.solver.step import dense_one, error_norm


def inner(x: float) -> float:
    return 2.0 * x


def nothing(x: float) -> float:
    return 0.0


def middle(x: float) -> float:
    return inner(x) + 1.0


def outer(x: float) -> float:
    return middle(x) + inner(x)


class One:
    """Stands for numba's cache of one function; holds a parcel."""

    def __init__(self, parcel, own):
        self.parcel, self.own, self.asked = parcel, own, 0

    def load_overload(self, sig, context):
        self.asked += 1
        return received(self.parcel, context, self.own)

    def save_overload(self, sig, made):
        raise AssertionError("compiled here after all")


def test_what_is_sent_is_linked_and_finds_the_receivers_own_function(monkeypatch):
    for f in (inner, nothing, middle, outer):
        monkeypatch.setattr(f, "__module__", "simcore.toy")
    there, here = Adopter("there"), Adopter("here")
    there.put(inner, there.njit(**INNER)(nothing))
    stand_in, made = (shares.compiled(there.adopt(f), "f") for f in (inner, middle))
    parcel = sent(made, stand_in)

    entry = njit(**lean({"error_model": "numpy"}, entry=True))(here.rebound(outer))
    taken = here.adopt(middle)
    taken._cache = One(parcel, lambda: shares.compiled(here.adopt(inner), "f"))
    assert entry(3.0) == 13.0
    assert taken._cache.asked == 1


@pytest.mark.parametrize(("f", "types", "told"), [(error_norm, "fmviv", True), (dense_one, "ffvmi", False)])
def test_llvm_is_told_whose_arguments_stay_apart(f, types, told):
    """By the function's own name: what it is compiled under carries its kernel's as well."""
    made = shares.compiled(Adopter("some_kernel").adopt(f), types)
    head = next(s for s in str(made.library.own_code()).splitlines() if s.startswith("define"))
    pointers = [s for s in head.split(", ") if s.startswith("ptr ") and "%arg." in s]
    assert len(pointers) >= 6
    assert all(("noalias" in s) == told for s in pointers)


def test_nothing_is_waited_for_that_cannot_come():
    neighbour = beside.Neighbour("no such kernel")
    assert neighbour.wait_for("settle") is None
    neighbour.end()
    assert neighbour.process.returncode is not None


def test_a_kernel_that_is_not_the_registrys_is_compiled_here(monkeypatch, tmp_path):
    registry = registry_of([shaft, flywheel])
    line = Line(registry)
    line.part("shaft", line.mass(0.5, 0.0, 0.3), 0, stiffness=50.0)
    monkeypatch.setattr(compiling, "cache_folder", lambda: tmp_path)
    monkeypatch.setattr(compiling, "fingerprint", lambda parts: "of_two_kinds")
    monkeypatch.setattr(beside, "_cores", lambda: 2)
    helped = []
    with beside.helped(load_kernel(list(registry.values()))) as taken:
        r = run(line, 1.0, load_kernel(list(registry.values())), fast=100.0)
        helped += taken
    assert helped == []
    assert np.abs(r.speed(1)).max() == pytest.approx(0.3 * np.sqrt(50.0 / 0.5), rel=1e-4)


def test_units_are_the_kernels_own_and_named_once():
    every = list(REGISTRY.values())
    for parts in (every, every[:USUAL]):
        module = load_kernel(parts)
        units = shares.units(module)
        assert [name for name, _, _ in units] == [f.__name__ for f in shares.SOLVER]
        assert len({name for name, _, _ in units}) == len(units)
        assert all(made is module._adopter.adopt(f) for (_, made, _), f in zip(units, shares.SOLVER, strict=True))
