"""What a result comes from: versions, machine, source, every input."""

from __future__ import annotations

import platform
import time
from typing import Any

from simcore.scenario.model import Scenario, Series


def provenance_of(scenario: Scenario, rtol: float, began: float) -> dict[str, Any]:
    from datetime import UTC, datetime
    from importlib.metadata import version

    return {
        "simcore": version("simcore") if _installed() else "source",
        "python": platform.python_version(),
        **{lib: version(lib) for lib in ("numpy", "scipy", "numba", "h5py")},
        "machine": platform.machine(),
        "relative_tolerance": rtol,
        "source": scenario.source,
        "changes": dict(scenario.changes),
        "files": dict(scenario.files),
        "only": dict(scenario.only),
        "created": datetime.now(UTC).isoformat(timespec="seconds"),
        "wall_time": time.perf_counter() - began,
        "resolved": resolved(scenario),
    }


def _installed() -> bool:
    from importlib.metadata import PackageNotFoundError, version

    try:
        version("simcore")
    except PackageNotFoundError:
        return False
    return True


def resolved(scenario: Scenario) -> dict[str, Any]:
    """Every input in SI by its readable path; choices as words."""
    out: dict[str, Any] = {}
    out |= {f'corners["{n}"].{path}': v for n, c in scenario.corners.items() for path, v in c.items()}
    for item in scenario.items:
        for name, v in item.values.items():
            out[f"{item.path}.{name}"] = (
                v if isinstance(v, str | bool) else list(v.si) if isinstance(v, Series) else v.si
            )
    return out
