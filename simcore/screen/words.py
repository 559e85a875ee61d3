"""Lines of words with a style each, their width on a terminal, wrapping and labels."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from typing import Final, NamedTuple

STYLES: Final = {"good": "green", "bad": "bold red", "mind": "yellow", "head": "bold", "quiet": "dim", "": ""}
"""What colour a style is shown in; every style also has its words."""
_UNIT: Final = re.compile(r"(?<=[0-9]) (?=(?:%|k?N\*m|lbf\*\w+|kg\*m\^2|N|kg|ms|s|K|Hz|rad/s)(?![A-Za-z*]))")
LABEL: Final = 13
"""Columns of the label before a paragraph."""


class Word(NamedTuple):
    """A piece of a line and its style (a key of STYLES)."""

    text: str
    style: str = ""


Line = list[Word]


def width(text: str) -> int:
    """Columns a text takes on a terminal."""
    if text.isascii():
        return len(text)
    wide = {"W": 2, "F": 2}
    return sum(0 if unicodedata.combining(c) else wide.get(unicodedata.east_asian_width(c), 1) for c in text)


def pad(text: str, columns: int, right: bool = False) -> str:
    """Fill with spaces to ``columns``, before the text if ``right``."""
    space = " " * (columns - width(text))
    return space + text if right else text + space


def clean(text: str) -> str:
    """Control characters out, so that a name cannot steer the terminal."""
    return "".join(c if c.isprintable() else "?" for c in text)


def wrap(text: str, columns: int) -> list[str]:
    """Break at spaces, not between a number and its unit; a longer word is cut, nothing is lost.

    >>> wrap("the tray jams", 8)
    ['the tray', 'jams']
    """
    columns = max(1, columns)
    lines = [""]
    for word in _UNIT.sub("\x00", clean(text)).split(" "):
        if not word:
            continue
        word = word.replace("\x00", " ")
        gap = " " if lines[-1] else ""
        if width(lines[-1] + gap + word) <= columns:
            lines[-1] += gap + word
            continue
        if lines[-1]:
            lines.append("")
        while width(word) > columns:
            head, word = _cut(word, columns)
            lines[-1] = head
            lines.append("")
        lines[-1] = word
    return lines


def _cut(word: str, columns: int) -> tuple[str, str]:
    n = len(word)
    while n > 1 and width(word[:n]) > columns:
        n -= 1
    return word[:n], word[n:]


def paragraph(label: str, text: str, columns: int, style: str = "") -> list[Line]:
    """A label and beside it the text, wrapped; below the label on a narrow terminal."""
    narrow = columns < 60
    indent = 2 if narrow else LABEL
    out: list[Line] = [[Word(label, "head")]] if narrow and label else []
    for n, part in enumerate(wrap(text, columns - indent)):
        first = label if n == 0 and not narrow else ""
        out.append([Word(pad(first, indent), "head"), Word(part, style)])
    return out


def plain(lines: Iterable[Line]) -> str:
    """The lines as text without colour, without spaces at their ends."""
    return "\n".join("".join(w.text for w in line).rstrip() for line in lines)
