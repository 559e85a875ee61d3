"""A second process compiles some of the kernel's functions while this one compiles the others.

Most of compiling is numba's own Python, which one process does on one core.  What the second has compiled is handed
over as it comes and linked as if it had been compiled here.  Leans on numba's internals as ``lean.py`` does: whatever
fails is compiled here after all.
"""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from threading import Condition, Thread
from types import ModuleType
from typing import Any

from simcore import child
from simcore.solver.compile import kernel_name, lies_ready, load_kernel
from simcore.solver.parcel import received, sent
from simcore.solver.shares import EVALUATE, argument_types, compiled, units


class Neighbour:
    """The second process, and what has come from it."""

    def __init__(self, kernel: str) -> None:
        self.process = child.started("simcore.solver.beside", kernel)
        self.come: dict[str, Any] = {}
        self.taken: list[str] = []
        self.ended = False
        self.news = Condition()
        Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        assert self.process.stdout is not None
        with self.process.stdout as pipe, suppress(EOFError, OSError, pickle.UnpicklingError):
            while True:
                name, parcel = pickle.load(pipe)
                with self.news:
                    self.come[name] = parcel
                    self.news.notify_all()
        with self.news:
            self.ended = True
            self.news.notify_all()

    def wait_for(self, name: str) -> Any:
        """What has been compiled under ``name``; None once it can no longer come."""
        with self.news:
            self.news.wait_for(lambda: name in self.come or self.ended)
            return self.come.get(name)

    def end(self) -> None:
        """No more is wanted."""
        child.end(self.process)


class Shelf:
    """Stands for numba's cache of one function: what it holds is what the neighbour compiled."""

    def __init__(self, neighbour: Neighbour, name: str, args: tuple[Any, ...], own: Callable[[], Any]) -> None:
        self.neighbour, self.name, self.args, self.own = neighbour, name, args, own

    def load_overload(self, sig: Any, context: Any) -> Any:
        """The compiled function, or None."""
        if tuple(getattr(sig, "args", sig)) != self.args:
            return None
        parcel = self.neighbour.wait_for(self.name)
        if parcel is None:
            return None
        try:
            made = received(parcel, context, self.own)
        except (AttributeError, ImportError, RuntimeError, TypeError, ValueError):
            return None
        self.neighbour.taken.append(self.name)
        return made

    def save_overload(self, sig: Any, made: Any) -> None:
        """Nothing is kept."""


@contextmanager
def helped(module: ModuleType) -> Iterator[list[str]]:
    """Compile the kernel ``module`` inside; gives the names of what the second process has compiled for it."""
    neighbour = _neighbour(module.__name__)
    if neighbour is None:
        yield []
        return
    function, types = EVALUATE
    evaluate = module._adopter.adopt(function)

    def own() -> Any:
        return compiled(evaluate, types)

    shelves = _shelves(module, neighbour, own)
    try:
        for d, _, shelf in shelves:
            d._cache = shelf
        own()  # first, so that what waits for the neighbour waits no longer than it must
        yield neighbour.taken
    finally:
        for d, plain, _ in shelves:
            d._cache = plain
        neighbour.end()


def _neighbour(kernel: str) -> Neighbour | None:
    """None where there is nothing to compile or no core to spare."""
    if lies_ready(kernel) or _cores() < 2:
        return None
    try:
        return Neighbour(kernel)
    except OSError:
        return None


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _shelves(module: ModuleType, neighbour: Neighbour, own: Callable[[], Any]) -> list[tuple[Any, Any, Shelf]]:
    """Dispatcher, its own cache, and what stands in for it meanwhile, of every unit."""
    return [
        (d, d._cache, Shelf(neighbour, name, argument_types(code), own))
        for name, d, code in units(module)
        if hasattr(d, "_cache")
    ]


def evaluate(t: float, full: float, y: Any, dy: Any, T: Any, G: Any, line: Any, state: Any) -> None:
    """Stands for the function of this name, which the first process has."""


def main(kernel: str) -> int:
    """Compile all units of the registered kernel of that name and hand them over on standard output."""
    from simcore.parts import REGISTRY, USUAL
    from simcore.solver.quick import quickened

    out = child.own_output()
    every = list(REGISTRY.values())
    parts = next((p for p in (every[:USUAL], every) if kernel_name(p) == kernel), None)
    if parts is None:
        return 1
    function, types = EVALUATE
    module = load_kernel(parts, {function: evaluate})
    with quickened():
        stand_in = compiled(module._adopter.adopt(function), types)
        for name, made, code in units(module):
            child.put(out, (name, sent(compiled(made, code), stand_in)))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
