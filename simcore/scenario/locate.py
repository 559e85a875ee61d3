"""Line numbers of a TOML text: where each table, key and list entry stands.

A path is a tuple of keys and list positions from 0, as the parsed document nests them:
``("line", 2, "ratio")``.  Nothing here raises: of a text that is not TOML it finds what it can.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Final, NamedTuple

Spot = tuple[str | int, ...]

_TOKEN: Final = re.compile(
    r'(?P<string>"""(?:\\.|[^\\])*?(?:"{3,5}|\Z)|\'\'\'.*?(?:\'{3,5}|\Z)'
    r'|"(?:\\[^\n]|[^"\\\n])*"?|\'[^\'\n]*\'?)'
    r"|(?P<comment>#[^\n]*)|(?P<newline>\n)|(?P<sign>[\[\]{},=.])|(?P<word>[^\s\"'#\[\]{},=.]+)",
    re.DOTALL,
)
_DEEPEST: Final = 12
"""Levels that are followed; what lies deeper is found at the line of its parent."""
_ESCAPES: Final = {"n": "\n", "t": "\t", "r": "\r", "b": "\b", "f": "\f", '"': '"', "\\": "\\"}


class _Token(NamedTuple):
    sort: str
    text: str
    line: int


def lines_of(text: str) -> dict[Spot, int]:
    """Line (from 1) of every table header, key and list entry of a TOML text."""
    return _Reader(text).read()


def locate(lines: Mapping[Spot, int], spot: Spot) -> int | None:
    """Line of ``spot``, or of the nearest table or key around it; None if there is none."""
    for end in range(len(spot), 0, -1):
        if spot[:end] in lines:
            return lines[spot[:end]]
    return None


def _tokens(text: str) -> Iterator[_Token]:
    line = 1
    for match in _TOKEN.finditer(text):
        sort = match.lastgroup or ""
        if sort != "comment":
            yield _Token(sort, match[0], line)
        line += match[0].count("\n")


def _unescaped(match: re.Match[str]) -> str:
    mark = match[1]
    if len(mark) > 1:
        code = int(mark[1:], 16)
        return chr(code) if code < 0x110000 else "\ufffd"
    return _ESCAPES.get(mark, mark)


def _key(token: _Token) -> str:
    if token.sort != "string":
        return token.text
    quote, body = token.text[0], token.text[1:].removesuffix(token.text[0])
    if quote == "'":
        return body
    return re.sub(r"\\(u[0-9A-Fa-f]{4}|U[0-9A-Fa-f]{8}|.)", _unescaped, body)


class _Reader:
    """Walks the tokens once; ``lines`` is what it has found."""

    def __init__(self, text: str) -> None:
        self.tokens = list(_tokens(text))
        self.i = 0
        self.lines: dict[Spot, int] = {}
        self.counts: dict[Spot, int] = {}

    def read(self) -> dict[Spot, int]:
        base: Spot = ()
        while self.i < len(self.tokens):
            if self._sign("["):
                base = self._header()
                self._to_newline()
            elif self.tokens[self.i].sort in ("word", "string"):
                self._value(self._keys(base))
            else:
                self.i += 1
        return self.lines

    def _sign(self, text: str) -> bool:
        if self.i >= len(self.tokens):
            return False
        token = self.tokens[self.i]
        return token.sort == "sign" and token.text == text

    def _to_newline(self) -> None:
        while self.i < len(self.tokens) and self.tokens[self.i].sort != "newline":
            self.i += 1

    def _parts(self) -> list[_Token]:
        """Tokens of a dotted key, up to the first that is no part of it."""
        parts: list[_Token] = []
        while self.i < len(self.tokens) and (self.tokens[self.i].sort in ("word", "string") or self._sign(".")):
            if not self._sign(".") and len(parts) < _DEEPEST:
                parts.append(self.tokens[self.i])
            self.i += 1
        return parts

    def _header(self) -> Spot:
        self.i += 1
        many = self._sign("[")
        self.i += many
        path: Spot = ()
        parts = self._parts()
        for n, part in enumerate(parts):
            path = (*path, _key(part))
            last = n == len(parts) - 1
            if last and many:
                self.lines.setdefault(path, part.line)
                self.counts[path] = self.counts.get(path, 0) + 1
            if path in self.counts and (many or not last):
                path = (*path, self.counts[path] - 1)
            self.lines.setdefault(path, part.line)
        return path

    def _keys(self, base: Spot) -> Spot:
        path = base
        for part in self._parts():
            path = (*path, _key(part))
            self.lines.setdefault(path, part.line)
        return path

    def _value(self, path: Spot) -> None:
        """Go through the value of ``path``; note the entries of lists and inline tables in it."""
        nest: list[tuple[str, Spot, int]] = []
        while self.i < len(self.tokens):
            token = self.tokens[self.i]
            if token.sort == "newline" and not nest:
                return
            self.i += 1
            if token.sort == "sign":
                path = self._bracket(token, nest, path)
            elif nest and nest[-1][0] == "{" and token.sort in ("word", "string"):
                self.i -= 1
                path = self._inline_key(nest[-1][1], path)

    def _bracket(self, token: _Token, nest: list[tuple[str, Spot, int]], path: Spot) -> Spot:
        if token.text in "[{":
            nest.append((token.text, path, 0))
        elif token.text in "]}" and nest:
            return nest.pop()[1]
        elif token.text == "," and nest:
            sort, base, n = nest[-1]
            nest[-1] = (sort, base, n + 1)
        if not nest:
            return path
        sort, base, n = nest[-1]
        if sort != "[" or token.text not in "[,":
            return path
        entry = (*base, n) if len(base) < _DEEPEST else base
        if self.i < len(self.tokens):
            self.lines.setdefault(entry, self._line_of_next())
        return entry

    def _line_of_next(self) -> int:
        k = self.i
        while k < len(self.tokens) - 1 and self.tokens[k].sort == "newline":
            k += 1
        return self.tokens[k].line

    def _inline_key(self, base: Spot, path: Spot) -> Spot:
        start = self.i
        parts = self._parts()
        if not self._sign("="):
            self.i = max(self.i, start + 1)
            return path
        for part in parts[: max(0, _DEEPEST - len(base))]:
            base = (*base, _key(part))
            self.lines.setdefault(base, part.line)
        return base


def deepest_key(text: str) -> tuple[int, int]:
    """(line, dots) of the name with most dots; (0, 0) unless some line is suspicious.

    Reading a name of n parts takes a time that grows as n squared, so it is looked at beforehand.
    """
    if all(row.count(".") <= 40 for row in text.split("\n")):
        return 0, 0
    worst, dots, line = 0, 0, 0
    for token in _tokens(text):
        if token.sort == "sign" and token.text == ".":
            dots += 1
        elif token.sort not in ("word", "string"):
            dots = 0
        if dots > worst:
            worst, line = dots, token.line
    return line, worst
