"""A file for h5py that never fails: HDF5 crashes the process where a full disk keeps it from closing a file.

The first error is kept, what cannot be written is dropped, and whoever writes asks for the error.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any


class Shield:
    """A new file, open for reading and writing; ``check`` raises the first error."""

    def __init__(self, path: Path) -> None:
        self.file = path.open("x+b", buffering=0)
        self.error: OSError | None = None

    def check(self) -> None:
        """Raise the OSError that was met, if any."""
        if self.error is not None:
            raise self.error

    def write(self, data: Any) -> int:
        view = memoryview(data).cast("B")
        done = 0
        try:
            while self.error is None and done < len(view):
                done += self.file.write(view[done:]) or 0
        except OSError as e:
            self.error = e
        if done < len(view):
            self.file.seek(len(view) - done, os.SEEK_CUR)
        return len(view)

    def readinto(self, target: Any) -> int:
        """Past the end, and where nothing could be written, there are zeros."""
        view = memoryview(target).cast("B")
        got = self.file.readinto(view) or 0
        if got < len(view):
            view[got:] = bytes(len(view) - got)
        return len(view)

    def read(self, size: int = -1) -> bytes:
        return self.file.read(size) or b""

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        return self.file.seek(offset, whence)

    def tell(self) -> int:
        return self.file.tell()

    def truncate(self, size: int | None = None) -> int:
        try:
            return self.file.truncate(size)
        except OSError as e:
            self.error = self.error or e
            return size or 0

    def flush(self) -> None:
        """Nothing is buffered."""

    def close(self) -> None:
        self.file.close()
