"""Calls the command line as a user does, in a process of its own or in this one."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def environment(**more: str) -> dict[str, str]:
    """This environment, the package found from any folder."""
    path = os.pathsep.join(p for p in (str(ROOT), os.environ.get("PYTHONPATH", "")) if p)
    return {**os.environ, "PYTHONPATH": path, **more}


def command(*args: str) -> list[str]:
    return [sys.executable, "-m", "simcore", *args]


def call(*args: str, cwd: Path | None = None, **env: str) -> subprocess.CompletedProcess[str]:
    """A process of its own; its output as text."""
    return subprocess.run(command(*args), cwd=cwd, env=environment(**env), capture_output=True, encoding="utf-8",
                          timeout=300)  # fmt: skip


def inside(monkeypatch: pytest.MonkeyPatch, *args: str) -> int:
    """In this process, where the kernel is loaded already; the exit code."""
    from simcore.cli.main import main

    monkeypatch.setattr(sys, "argv", ["simcore", *args])
    with pytest.raises(SystemExit) as end:
        main()
    return int(end.value.code or 0)
