"""Where a run leaves its files: numbered folders, never over an earlier run's results."""

from __future__ import annotations

import os
import re
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

from simcore.errors import InputError, ResultError
from simcore.results.files import RESULT, result_file, why

if TYPE_CHECKING:
    from simcore.results.model import ResultSet

__all__ = ["CHARTS", "REPLAYS", "RESULT", "TABLE", "named_folder", "next_folder", "refuse_taken", "result_file",
           "safe_name", "save", "table", "tidy"]  # fmt: skip

TABLE: Final = "table.csv"
CHARTS: Final = "charts"
RUNS: Final = "runs"
REPLAYS: Final = "replays"
MOST: Final = 999_999


def safe_name(name: str) -> str:
    """A name for a folder: what some system forbids becomes an underscore."""
    clean = re.sub(r'[\x00-\x1f\x7f<>:"/\\|?*]', "_", name).strip(" .")
    return clean[:80].rstrip(" .") or "run"


def next_folder(name: str, parent: Path | None = None) -> Path:
    """Make the next free ``runs/NAME-001``; two runs at once get two folders.  Raises ResultError."""
    parent = Path(RUNS) if parent is None else parent
    stem = safe_name(name)
    try:
        parent.mkdir(parents=True, exist_ok=True)
        for n in range(_highest(parent, stem) + 1, MOST):
            folder = parent / f"{stem}-{n:03d}"
            try:
                folder.mkdir(parents=True)
            except FileExistsError:
                continue
            return folder
    except OSError as error:
        raise ResultError(f"{parent}: no folder for the results can be made there, {why(error)}") from None
    raise ResultError(f"{parent}: all numbers of {stem} are taken, give --out")


def _highest(parent: Path, stem: str) -> int:
    found = [re.fullmatch(re.escape(stem) + r"-(\d{3,6})", p.name) for p in parent.iterdir()]
    return max((int(m[1]) for m in found if m), default=0)


def refuse_taken(folder: Path, force: bool) -> None:
    """Raise InputError if ``folder`` holds results already and ``force`` is not given."""
    if folder.exists() and not folder.is_dir():
        raise InputError(f"{folder}: is a file, --out needs a folder")
    if not force and _claimed(folder):
        raise InputError(f"{folder}: another run is writing there, or was ended half way; --force writes over it")
    taken = [n for n in (RESULT, TABLE, CHARTS) if (folder / n).exists()]
    if taken and not force:
        raise InputError(f"{folder}: holds results already ({', '.join(taken)}); --force writes over them")


def _claimed(folder: Path) -> bool:
    result = folder / RESULT
    return result.is_file() and not result.stat().st_size


def named_folder(folder: Path, force: bool) -> Path:
    """Make ``folder`` and claim it, so that a second run at once is refused.  Raises InputError, ResultError."""
    refuse_taken(folder, force)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        flags = os.O_WRONLY | os.O_CREAT | (0 if force else os.O_EXCL)
        os.close(os.open(folder / RESULT, flags, 0o666))
    except FileExistsError:
        raise InputError(f"{folder}: another run is writing there; --force writes over it") from None
    except OSError as error:
        raise ResultError(f"{folder}: cannot be written, {why(error)}") from None
    return folder


def save(result: ResultSet, folder: Path) -> list[Path]:
    """Write the result and its table into ``folder``, each whole or not at all.  Raises ResultError."""
    from simcore.results.files import replace
    from simcore.results.write import write

    target = folder / RESULT
    write(result, target)
    return [target, replace(folder / TABLE, table(result), "table")]


def tidy(folder: Path) -> None:
    """Take away what an interrupted run leaves: the empty result that claimed the folder, folders left empty."""
    with suppress(OSError):
        if _claimed(folder):
            (folder / RESULT).unlink()
    with suppress(OSError):
        folder.rmdir()
        if folder.parent.name in (RUNS, REPLAYS):
            folder.parent.rmdir()


def table(result: ResultSet) -> bytes:
    """The answers as CSV: one row a candidate, SI units in the header."""
    from simcore.results.columns import answer_columns
    from simcore.results.export import csv_table

    return csv_table(answer_columns(result))
