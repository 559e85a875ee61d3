"""What a warning is."""

from __future__ import annotations

from typing import NamedTuple


class Caution(NamedTuple):
    """A warning: its name (see `simcore explain`), where, and the sentence."""

    name: str
    path: str
    text: str
    grave: bool = False
    """It can hurt someone, or burns or breaks the protection within a year without an overload."""

    @property
    def candidate(self) -> str:
        """Name of the candidate that its path belongs to; empty if it is none's."""
        return candidate_in(self.path)

    def sentence(self, more: str = "") -> str:
        """Its text as a sentence, ``more`` before the stop."""
        ended = self.text.endswith("?")
        return f"{self.text[:1].upper()}{self.text[1:]}{more}{'' if ended and not more else '.'}"


def candidate_in(path: str) -> str:
    """Name of the candidate a path belongs to; empty if it is none.

    >>> candidate_in('candidates["shear pins"].setting')
    'shear pins'
    """
    head = 'candidates["'
    return path[len(head) :].split('"')[0] if path.startswith(head) else ""
