"""Compiling: plain functions become kernel functions, callees and all.

The kernel is generated into one module whose name carries a hash of every source it is made from, in
the user's cache folder.  An edit anywhere compiles anew; undoing it finds the old cache again.
``_nrt=False`` keeps reference counting out of every call and makes a hidden allocation a compile error;
it is an undocumented option of numba, so numba's version is bounded and a test compares with it off.
"""

from __future__ import annotations

import atexit
import importlib.util
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from hashlib import sha256
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Any

from simcore.contract import Part
from simcore.solver import dispatch
from simcore.solver.generate import module_text
from simcore.solver.lean import lean

INNER: dict[str, Any] = {
    "error_model": "numpy",
    "no_cpython_wrapper": True,
    "no_cfunc_wrapper": True,
    "forceinline": False,  # not said, it would be what the caller has: which caller comes first would decide
    "_nrt": os.environ.get("SIMCORE_KERNEL_NRT", "") == "1",
}
FORCED = {**INNER, "forceinline": True}
"""For laws, and for functions called from one place in the loop: their many arguments are not handed over.

Laws called instead of inlined cost up to 20 % of the speed (shear pins).
"""
INLINED = frozenset(
    {"try_step", "trial_state", "error_norm", "note_step", "may_turn", "crossing_share", "advance_slopes",
     "copy_state", "copy_row", "all_clear", "any_crossed_since", "next_step", "stop_reached", "note_torque", "one_step"}
)  # fmt: skip
IN_EVERY_STEP = ("torque", "ground", "friction", "inertia", "rate", "signals", "guards", "loss")
"""Laws of a part that every evaluation asks; what only its other functions call is inlined where LLVM sees fit.

Forced into every place where a mode may change it would be a fourth of the kernel's code, seldom run.
"""
PRIVATE = "simcore-kernel-"
ENTRY: dict[str, Any] = {"error_model": "numpy", "nogil": True, "cache": True}


class Adopter:
    """Turns plain functions into kernel functions, once each, with their callees.

    With ``plain`` they stay uncompiled: the same kernel in slow Python, to debug and to compare with.
    """

    def __init__(self, tag: str = "", plain: bool = False) -> None:
        self.done: dict[Callable[..., Any], Any] = {}
        self.seldom: frozenset[Callable[..., Any]] = frozenset()
        self.tag = tag
        self.plain = plain

    def njit(self, **options: Any) -> Callable[[Any], Any]:
        """numba's decorator, or none."""
        if self.plain:
            return lambda f: f
        from numba import njit

        return njit(**lean(options, entry="cache" in options))

    def put(self, plain: Callable[..., Any], compiled: Any) -> None:
        """Use ``compiled`` wherever ``plain`` is called, unless something else already is."""
        self.done.setdefault(plain, compiled)

    def adopt(self, plain: Callable[..., Any]) -> Any:
        """Kernel version of ``plain``."""
        if plain not in self.done:
            forced = _is_inlined(plain) and plain not in self.seldom
            self.done[plain] = self.njit(**(FORCED if forced else INNER))(self.rebound(plain))
        return self.done[plain]

    def rebound(self, plain: Callable[..., Any]) -> FunctionType:
        """The same code with every simcore function it names replaced by its kernel version."""
        f = plain
        if not isinstance(f, FunctionType):
            raise TypeError(f"{plain!r} is not a plain function")
        names = {n: self.adopt(v) for n, v in _callees(f).items()}
        scope = {**f.__globals__, **names}
        own = FunctionType(f.__code__, scope, f.__name__, f.__defaults__, f.__closure__)
        # two kernels in one process must not share a symbol: the loader would take the first it finds
        own.__qualname__ = f"{f.__qualname__}_{self.tag}"
        return own


def _callees(f: FunctionType) -> dict[str, FunctionType]:
    """Every simcore function that ``f`` names."""
    named = {n: f.__globals__.get(n) for n in f.__code__.co_names}
    return {n: v for n, v in named.items() if isinstance(v, FunctionType) and v.__module__.startswith("simcore")}


def _reached(first: Iterable[Callable[..., Any]]) -> set[Callable[..., Any]]:
    """These functions and all that they call, directly or not."""
    found: set[Callable[..., Any]] = set()
    waiting = list(first)
    while waiting:
        f = waiting.pop()
        if f not in found and isinstance(f, FunctionType):
            found.add(f)
            waiting += _callees(f).values()
    return found


def _seldom(parts: Sequence[Part]) -> frozenset[Callable[..., Any]]:
    """Functions of parts that no evaluation calls."""
    laws = [(name, f) for p in parts for name, f in p.functions.items()]
    return frozenset(_reached(f for _, f in laws) - _reached(f for name, f in laws if name in IN_EVERY_STEP))


def _is_inlined(plain: Callable[..., Any]) -> bool:
    return plain.__name__ in INLINED or plain.__module__.startswith("simcore.parts.")


def source_files(parts: Sequence[Part]) -> list[Path]:
    """Every file the kernel is made from."""
    here = Path(__file__).parent
    files = set(here.glob("*.py")) | {here.parent / "contract.py"}
    own = {Path(str(p.module.__file__)) for p in parts}
    for folder in {f.parent for f in own}:
        files |= set(folder.glob("_*.py"))
    return sorted(files | own)


def fingerprint(parts: Sequence[Part]) -> str:
    """Hash of all sources, of the compilers' versions and of the processor."""
    import llvmlite
    import numba

    h = sha256(repr((numba.__version__, llvmlite.__version__, sys.version_info[:3], INNER)).encode())
    for p in parts:
        h.update(p.kind.name.encode())
    for f in source_files(parts):
        h.update(f.name.encode())
        h.update(f.read_bytes())
    return h.hexdigest()[:20]


def kernel_name(parts: Sequence[Part]) -> str:
    """Of the module of ``parts``."""
    return f"simcore_kernel_{fingerprint(parts)}"


@cache
def cache_folder() -> Path:
    """The user's cache folder, or a private temporary one if that cannot be written."""
    from platformdirs import user_cache_path

    folder = user_cache_path("simcore") / "kernel"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=folder):
            pass
    except OSError:
        own = tempfile.mkdtemp(prefix=PRIVATE)
        atexit.register(shutil.rmtree, own, ignore_errors=True)
        return Path(own)
    return folder


def is_private(folder: Path) -> bool:
    """Whether this cache folder is for this process alone."""
    return folder.is_relative_to(Path(tempfile.gettempdir())) and folder.name.startswith(PRIVATE)


def write_once(path: Path, text: str) -> None:
    """Write to a temporary name and rename, so that a second process never reads half a file."""
    if path.exists() and path.read_text() == text:
        return
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".tmp")
    with os.fdopen(handle, "w") as f:
        f.write(text)
    os.replace(name, path)


def load_kernel(parts: Sequence[Part], stand_ins: Mapping[Callable[..., Any], Any] | None = None) -> ModuleType:
    """The compiled kernel of ``parts``: a module with ``run_batch``, compiled (or read) at its first call.

    ``stand_ins``: plain functions to be used in place of others.
    """
    name = kernel_name(parts)
    if name in sys.modules:
        return sys.modules[name]
    path = cache_folder() / f"{name}.py"
    write_once(path, module_text(parts))
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise ImportError(f"cannot load the kernel module {path}")
    module = importlib.util.module_from_spec(spec)
    adopter = Adopter(name)
    for f, other in (stand_ins or {}).items():
        adopter.put(f, adopter.njit(**INNER)(other))
    furnish(module, parts, adopter)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def furnish(module: ModuleType, parts: Sequence[Part], adopter: Adopter) -> None:
    """Give the generated module what its text names."""
    adopter.seldom = _seldom(parts)
    for p in parts:
        for f, fn in p.functions.items():
            module.__dict__[f"k{p.index}_{f}"] = _Lazy(adopter, fn)
    module.__dict__.update(_parts=parts, _adopter=adopter, _dispatch=dispatch, njit=adopter.njit)


def plain_kernel(parts: Sequence[Part]) -> ModuleType:
    """The same kernel uncompiled."""
    module = ModuleType("simcore_kernel_plain")
    furnish(module, parts, Adopter(plain=True))
    exec(compile(module_text(parts), "<kernel>", "exec"), module.__dict__)
    return module


class _Lazy:
    """A part function the generated module asks for by name."""

    def __init__(self, adopter: Adopter, fn: Callable[..., Any]) -> None:
        self.adopter = adopter
        self.fn = fn

    def __call__(self) -> Any:
        return self.adopter.adopt(self.fn)


def is_compiled(parts: Sequence[Part]) -> bool:
    """Whether a cached kernel of these very sources lies ready."""
    return lies_ready(kernel_name(parts))


def lies_ready(name: str) -> bool:
    """Whether the kernel of this name is in the cache."""
    return any(compiled_folder().glob(f"*/{name}.*.nbc"))


def compiled_folder() -> Path:
    """Where numba keeps what it has compiled, in folders of its own: beside its source unless told otherwise."""
    told = os.environ.get("NUMBA_CACHE_DIR")
    return Path(told) if told else cache_folder()
