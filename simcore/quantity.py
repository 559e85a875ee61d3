"""A number with its words: what the units room makes and scenarios hold."""

from __future__ import annotations

from typing import NamedTuple


class Quantity(NamedTuple):
    """A number in SI with the kind of quantity it is and the text it was read from."""

    si: float
    kind: str
    text: str


class Series(NamedTuple):
    """A list of numbers in SI with their kind and the texts they were read from; ``file``: the CSV file they are in."""

    si: tuple[float, ...]
    kind: str
    text: str
    file: str = ""
