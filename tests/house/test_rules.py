"""House rules: lint, format, types, import directions, what must not be named."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def run(*command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True)


@pytest.mark.parametrize("command", [("ruff", "check", "."), ("ruff", "format", "--check", "."), ("mypy",)])
def test_tools_find_nothing(command: tuple[str, ...]) -> None:
    done = run(*command)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]


def test_imports_go_one_way() -> None:
    code = "from importlinter.cli import lint_imports; import sys; sys.exit(lint_imports(no_cache=True))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]


def test_top_level_is_as_fixed() -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if tracked.returncode != 0:
        pytest.skip("not a git checkout")
    tops = {line.split("/")[0] for line in tracked.stdout.splitlines()}
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "simcore", "scenarios", "tests", "benchmarks"}
    assert {t for t in tops if not t.startswith(".")} <= allowed


def test_ci_runs_the_test_command_of_the_readme() -> None:
    command = (ROOT / ".ci" / "run").read_text().splitlines()[-1]
    assert command in (ROOT / "README.md").read_text()


def test_files_stay_small() -> None:
    long = [
        (str(p.relative_to(ROOT)), n)
        for p in (ROOT / "simcore").rglob("*.py")
        if (n := len(p.read_text().splitlines())) > 400
    ]
    assert not long


def test_import_is_light() -> None:
    """As modules loaded, not as seconds."""
    code = "import sys, simcore; print(' '.join(sorted(m.split('.')[0] for m in sys.modules)))"
    loaded = set(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT).stdout.split())
    heavy = {
        "numpy",
        "scipy",
        "numba",
        "h5py",
        "h5netcdf",
        "matplotlib",
        "pandas",
        "xarray",
        "pint",
        "pydantic",
        "rich",
    }
    assert "simcore" in loaded
    assert not loaded & heavy


def test_library_table_names_every_dependency() -> None:
    project = (ROOT / "pyproject.toml").read_text()
    wanted = set(re.findall(r'^    "([a-zA-Z0-9-]+)[><=\[]', project, re.MULTILINE)) - {"simcore"}
    page = (ROOT / "DEVELOPERS.md").read_text()
    assert wanted
    assert not {w for w in wanted if w not in page}
