"""An HDF5 file being written that remembers what it has looked up.

h5netcdf asks for the same groups and dimensions by their paths some 25 times for each variable: a third of its time.
"""

from __future__ import annotations

from typing import Any

import h5py


class RememberingFile(h5py.File):  # type: ignore[misc]
    """As h5py's; groups are remembered, and while ``settled`` all else: what is there is not made anew by then."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.settled = False
        self._found: dict[str, Any] = {}

    def __getitem__(self, name: Any) -> Any:
        if name in self._found:
            return self._found[name]
        thing = super().__getitem__(name)
        if isinstance(name, str) and (self.settled or isinstance(thing, h5py.Group)):
            self._found[name] = thing
        return thing

    def close(self) -> None:
        """As h5py's."""
        self._found.clear()
        super().close()
