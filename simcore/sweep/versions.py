"""What a sweep's numbers depend on beside the scenario: libraries and the sources of simcore."""

from __future__ import annotations

import hashlib
import platform
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

LIBRARIES: Final = ("numpy", "scipy", "numba")
OWN_ROOM: Final = ("designs", "law", "limits", "plan", "scatter", "stack", "trial", "turn", "values")
"""Files of this room that make the numbers."""
ROOMS: Final = ("contract.py", "parts", "line", "solver", "measures", "scenario", "units",
                *(f"sweep/{n}.py" for n in OWN_ROOM))  # fmt: skip


def versions() -> dict[str, str]:
    """Versions by name; ``sources`` is a hash of the files that make the numbers."""
    return {"simcore": _version("simcore"), "python": platform.python_version(), "machine": platform.machine(),
            **{lib: _version(lib) for lib in LIBRARIES}, "sources": _sources()}  # fmt: skip


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "source"


@cache
def _sources() -> str:
    home = Path(__file__).parents[1]
    found = [p for room in ROOMS for p in ([home / room] if room.endswith(".py") else (home / room).glob("*.py"))]
    h = hashlib.blake2b(digest_size=8)
    for p in sorted(found):
        if p.is_file():
            h.update(p.relative_to(home).as_posix().encode() + p.read_bytes())
    return h.hexdigest()
