"""What a warning is."""

from __future__ import annotations

from typing import NamedTuple


class Caution(NamedTuple):
    """A warning: its name (see `simcore explain`), where, and the sentence."""

    name: str
    path: str
    text: str
