"""What is loaded when: counted in modules, which no busy machine can change."""

from __future__ import annotations

import subprocess
import sys

import pytest
from shell import ROOT, call, environment

import simcore
from simcore.api import read

HEAVY = {"numpy", "scipy", "numba", "h5py", "h5netcdf", "matplotlib", "pint", "pydantic", "pandas", "xarray", "rich"}


BY_TYPER = {"pydantic"}
"""What the library of the command line loads by itself for a command (20 ms)."""


def loaded_by(code: str) -> set[str]:
    """Top-level modules that are there after ``code``."""
    tail = "\nprint('MODULES', *{m.split('.')[0] for m in sys.modules})"
    done = subprocess.run([sys.executable, "-c", f"import sys\n{code}{tail}"], env=environment(), check=True,
                          capture_output=True, encoding="utf-8")  # fmt: skip
    return set(done.stdout.rpartition("MODULES")[2].split())


@pytest.mark.parametrize(
    "code",
    [
        "import simcore",
        "import simcore; simcore.InputError; simcore.__version__; dir(simcore); simcore.scenarios()",
        "import simcore; simcore.part('ball detent'); simcore.explain('peak')",
    ],
)
def test_importing_is_light(code: str) -> None:
    assert not loaded_by(code) & HEAVY


@pytest.mark.parametrize("args", [["--help"], ["--version"], ["run", "--help"], ["parts"], ["explain"], ["scenarios"]])
def test_short_commands_are_light(args: list[str]) -> None:
    code = f"sys.argv = ['simcore', *{args!r}]\nfrom simcore.cli.main import main\ntry: main()\nexcept SystemExit: pass"
    assert not loaded_by(code) & (HEAVY - BY_TYPER)


def test_a_run_needs_neither_linear_algebra_nor_charts(kernel: object) -> None:
    """What numba and the rest would load beside the kernel costs more than all cases together."""
    demo = ROOT / "scenarios" / "bakery_tray_conveyor.toml"
    read(demo)  # units are known from here on
    unwanted = {"scipy.linalg", "matplotlib", "pandas", "xarray", "pint"}
    loaded_by(f"import simcore; simcore.run({str(demo)!r})\nassert not {unwanted!r} & set(sys.modules)")


def test_public_names() -> None:
    assert simcore.__all__ == sorted(simcore.__all__)
    for name in simcore.__all__:
        assert getattr(simcore, name).__doc__, name
    with pytest.raises(AttributeError, match="has no attribute 'nothing'"):
        _ = simcore.nothing  # type: ignore[attr-defined]


def test_parts_stays_the_package_of_parts() -> None:
    assert "friction disc" in simcore.parts.REGISTRY


def test_versions() -> None:
    done = call("--version")
    words = done.stdout.split()
    assert words[0::2] == ["simcore", "Python", "numpy", "numba"]
    assert done.returncode == 0
