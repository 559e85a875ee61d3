"""simcore: time-domain simulation of overload protection in drive lines.

Ten lines are enough::

    import simcore

    result = simcore.run("bakery_tray_conveyor.toml")
    print(result.sentence)
    for answer in result.answers:
        print(answer.name, answer.peak, answer.disconnects, answer.passed)
    simcore.draw(result, "charts")

Everything is loaded when it is first asked for; ``import simcore`` itself costs next to nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from simcore import parts as parts
    from simcore.api import check, read, run
    from simcore.catalogue import explain, part
    from simcore.charts.draw import draw_all as draw
    from simcore.errors import InputError, ResultError, SimcoreError, SolveError
    from simcore.results.compare import compare
    from simcore.results.export import export
    from simcore.results.read import open_result
    from simcore.results.write import write
    from simcore.scenario.schema import schema
    from simcore.shipped import find, scenarios

__all__ = [
    "InputError",
    "ResultError",
    "SimcoreError",
    "SolveError",
    "check",
    "compare",
    "draw",
    "explain",
    "export",
    "find",
    "open_result",
    "part",
    "parts",
    "read",
    "run",
    "scenarios",
    "schema",
    "write",
]

_HOMES = {
    "InputError": "simcore.errors",
    "ResultError": "simcore.errors",
    "SimcoreError": "simcore.errors",
    "SolveError": "simcore.errors",
    "check": "simcore.api",
    "compare": "simcore.results.compare",
    "draw": "simcore.charts.draw:draw_all",
    "explain": "simcore.catalogue",
    "export": "simcore.results.export",
    "find": "simcore.shipped",
    "open_result": "simcore.results.read",
    "part": "simcore.catalogue",
    "parts": "simcore.parts:",
    "read": "simcore.api",
    "run": "simcore.api",
    "scenarios": "simcore.shipped",
    "schema": "simcore.scenario.schema",
    "write": "simcore.results.write",
}
"""Where each name lives; ``module:name`` if it is called otherwise there, ``module:`` for a module."""


def __getattr__(name: str) -> Any:
    if name == "__version__":
        return _version()
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module 'simcore' has no attribute {name!r}")
    from importlib import import_module

    module, colon, other = home.partition(":")
    loaded = import_module(module)
    value = getattr(loaded, other or name) if other or not colon else loaded
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted([*__all__, "__version__"])


def _version() -> str:
    """Version of the installed package; that of a bare checkout is unknown."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("simcore")
    except PackageNotFoundError:
        return "0+source"
