"""Makes the README's output, benchmark table and picture anew: ``python tests/house/readme.py``."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "README.md"
PICTURE = ROOT / "scenarios" / "pictures" / "bakery_tray_conveyor_crash.png"
DEMO = ROOT / "scenarios" / "bakery_tray_conveyor.toml"


def output() -> str:
    """What the demo prints when piped, at 100 columns."""
    with tempfile.TemporaryDirectory() as folder:
        done = subprocess.run(
            [sys.executable, "-m", "simcore", "run", str(DEMO)],
            cwd=folder,
            env={**os.environ, "COLUMNS": "100", "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"},
            capture_output=True,
            text=True,
            check=True,
        )
    return "\n".join(line.rstrip() for line in done.stdout.splitlines()).strip()


def picture(folder: Path) -> Path:
    """The crash chart of the demo."""
    import simcore

    return simcore.draw(simcore.run(DEMO, evidence=False), folder, only=["crash"])[0]


def block(name: str, page: str) -> str:
    """Text between the markers of ``name``."""
    found = re.search(rf"<!-- {name} -->\n(.*?)<!-- end -->", page, re.DOTALL)
    if found is None:
        raise ValueError(f"the README has no block {name!r}")
    return found.group(1)


def with_block(name: str, text: str, page: str) -> str:
    return page.replace(f"<!-- {name} -->\n{block(name, page)}<!-- end -->", f"<!-- {name} -->\n{text}\n<!-- end -->")


def code(name: str, page: str) -> str:
    """The code inside a block's fences."""
    found = re.search(r"```\w*\n(.*?)```", block(name, page), re.DOTALL)
    if found is None:
        raise ValueError(f"block {name!r} has no code")
    return found.group(1)


def table() -> str:
    """The table of ``benchmarks/RESULTS.md`` without the rows of single machines."""
    lines = (ROOT / "benchmarks" / "RESULTS.md").read_text().splitlines()
    return "\n".join(line for line in lines if line.startswith("|") and " steps, ledger " not in line)


def main() -> None:
    page = PAGE.read_text()
    page = with_block("output: bakery", f"```\n{output()}\n```", page)
    page = with_block("benchmarks", f"{table()}\n", page)
    PAGE.write_text(page)
    PICTURE.parent.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        PICTURE.write_bytes(picture(Path(folder)).read_bytes())


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
