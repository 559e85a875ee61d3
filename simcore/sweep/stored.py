"""Arrays that stay in a merged file until they are asked for."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from simcore.errors import ResultError

Floats = NDArray[np.float64]


class Stored(Mapping[str, Floats]):
    """Measures by name, each read when it is first asked for and then kept; ``labels`` are their names in the file.

    Raises ResultError if the file was changed or taken away since.
    """

    def __init__(self, path: Path, labels: Mapping[str, str]) -> None:
        self.path, self.labels = path.absolute(), dict(labels)
        self.mark = _mark(self.path)
        self.known: dict[str, Floats] = {}

    def __getitem__(self, name: str) -> Floats:
        if name not in self.known:
            self.known[name] = self._read(self.labels[name])
        return self.known[name]

    def __contains__(self, name: object) -> bool:
        return name in self.labels

    def __iter__(self) -> Iterator[str]:
        return iter(self.labels)

    def __len__(self) -> int:
        return len(self.labels)

    def _read(self, label: str) -> Floats:
        import h5py

        try:
            with h5py.File(self.path, "r") as f:
                same = _mark(self.path) == self.mark
                values: Floats = f[label][...]
        except (OSError, KeyError, RuntimeError) as e:
            raise ResultError(f"{self.path}: cannot be read any more ({type(e).__name__})") from e
        if not same:
            raise ResultError(f"{self.path}: was written anew since it was opened; open it again")
        return values


def _mark(path: Path) -> tuple[int, int, int]:
    """What changes when another file takes the place of this one."""
    s = os.stat(path)
    return s.st_ino, s.st_size, s.st_mtime_ns
