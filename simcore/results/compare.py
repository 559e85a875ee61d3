"""Two results side by side: what differs in the inputs, and what that did to the answers."""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import wrap
from typing import Any, Final, NamedTuple

from simcore.results.inputs import Change, changes
from simcore.results.model import Answer, Margin, ResultSet
from simcore.results.read import open_result
from simcore.results.tables import MARGINS, answer_unit, protected_unit

LEAST: Final = 1e-4
"""Relative change from which a number counts as moved: less is beneath what an engineer reads."""

WIDTH: Final = 80
"""Columns of the text."""

_INPUTS: Final = ("name", "part", "slot", "setting", "tolerance", "rise_limit", "margins")
_KINDS: Final = {
    "N m": "torque", "N": "force", "s": "time", "J": "energy", "K": "temperature_difference", "rad": "angle",
}  # fmt: skip

SAID: Final = {"use": "use over the band, of all limits", "peak": "peak as set", "overshoot": "overshoot as set"}
"""Answers of which it matters whether they are those of the setting as written or of the worse end of its band."""

Value = float | str


class Moved(NamedTuple):
    """One answer that moved; ``relative`` is after/before - 1, NaN unless both are above zero."""

    candidate: str
    what: str
    unit: str
    before: Value
    after: Value
    relative: float


@dataclass(frozen=True, slots=True, repr=False)
class Comparison:
    """Inputs that differ and answers that moved; ``str`` is the answer in short, ``whole`` all that moved.

    ``candidates``: names in only one of the results; their answers have no counterpart.  ``results``: both.
    """

    titles: tuple[str, str]
    inputs: tuple[Change, ...]
    answers: tuple[Moved, ...]
    candidates: tuple[tuple[str, ...], tuple[str, ...]]
    results: tuple[ResultSet, ResultSet]

    def __str__(self) -> str:
        from simcore.screen.compared import compared
        from simcore.screen.words import plain

        return plain(compared(self))

    @property
    def whole(self) -> str:
        """Every input that differs and every answer that moved, as text."""
        return "\n".join(_lines(self))

    def __repr__(self) -> str:
        return str(self)

    def __bool__(self) -> bool:
        """Whether anything differs."""
        return bool(self.inputs or self.answers or any(self.candidates))


Source = ResultSet | str | os.PathLike[str]


def compare(a: Source, b: Source, *, least: float = LEAST) -> Comparison:
    """Compare two result sets, or the files of two.

    A number counts as moved from a relative change of ``least`` on.  Raises ResultError if a file cannot
    be read.
    """
    a, b = (s if isinstance(s, ResultSet) else open_result(s) for s in (a, b))
    unit = protected_unit(a)
    first, second = ({x.name: x for x in r.answers} for r in (a, b))
    moved = [m for n in first if n in second for m in _moved(first[n], second[n], unit, least)]
    if a.sentence != b.sentence:
        moved.insert(0, Moved("", "verdict", "1", a.sentence, b.sentence, math.nan))
    only = tuple(n for n in first if n not in second), tuple(n for n in second if n not in first)
    return Comparison((a.title, b.title), changes(a, b), tuple(moved), only, (a, b))


def _moved(x: Answer, y: Answer, protected: str, least: float) -> Iterator[Moved]:
    for field in Answer.__dataclass_fields__:
        if field not in _INPUTS:
            unit, _ = answer_unit(field, protected)
            what = SAID.get(field, field.replace("_", " "))
            yield from _pair(x.name, what, unit, getattr(x, field), getattr(y, field), least)
    margins_x, margins_y = ({m.situation: m for m in a.margins} for a in (x, y))
    for situation in margins_x:
        if situation in margins_y:
            yield from _margin(x.name, margins_x[situation], margins_y[situation], least)


def _margin(name: str, x: Margin, y: Margin, least: float) -> Iterator[Moved]:
    for field in ("met", "asks", "margin", "note"):
        what = f"{MARGINS[field][0].replace('_', ' ')}, {x.situation}"
        yield from _pair(name, what, MARGINS[field][1], getattr(x, field), getattr(y, field), least)


def _pair(name: str, what: str, unit: str, x: Any, y: Any, least: float) -> Iterator[Moved]:
    number = isinstance(x, float) and isinstance(y, float)
    if not number:
        if x != y:
            yield Moved(name, what, unit, _words(x), _words(y), math.nan)
        return
    if x == y or (math.isnan(x) and math.isnan(y)):
        return
    known = math.isfinite(x) and math.isfinite(y)
    if known and abs(y - x) <= least * max(abs(x), abs(y)):
        return
    yield Moved(name, what, unit, x, y, y / x - 1.0 if known and x > 0.0 and y > 0.0 else math.nan)


def _words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return "; ".join(value) or "none"
    return str(value) if value != "" else "none"


def _lines(c: Comparison) -> Iterator[str]:
    if c.titles[0] != c.titles[1]:
        yield f"{c.titles[0]} -> {c.titles[1]}"
    yield "Inputs that differ" if c.inputs else "The inputs are the same."
    yield from _aligned([(i.path, f"{i.before} -> {i.after}", "") for i in c.inputs], "  ")
    for names, where in zip(c.candidates, ("first", "second"), strict=True):
        if names:
            yield f"Only in the {where}: {', '.join(names)}"
    yield "Answers that moved" if c.answers else "No answer moved."
    for name in dict.fromkeys(m.candidate for m in c.answers):
        if name:
            yield f"  {name}"
        rows = [row(m, c.results[0].unit) for m in c.answers if m.candidate == name]
        yield from _aligned(rows, "    " if name else "  ")


def row(m: Moved, torque_unit: str) -> tuple[str, str, str]:
    """What moved, from what to what, and by how much, as texts; a change that small is told with more digits."""
    if isinstance(m.before, str) or isinstance(m.after, str):
        return m.what, f"{m.before} -> {m.after}", ""
    digits = next((n for n in range(3, 17) if _shown(m, m.before, n, torque_unit) != _shown(m, m.after, n,
                   torque_unit)), 17)  # fmt: skip
    pair = " -> ".join(_shown(m, v, digits, torque_unit) for v in (m.before, m.after))
    return m.what, pair, "" if math.isnan(m.relative) else f"{100.0 * m.relative:+.3g} %"


def _shown(m: Moved, value: float, digits: int, torque_unit: str) -> str:
    from simcore import units

    if math.isnan(value):
        return "none"
    kind = _KINDS.get(m.unit)
    if kind is None or not math.isfinite(value):
        return units.plain(value, digits) + ("" if m.unit == "1" else f" {m.unit.replace(' ', '*')}")
    return units.show(value, kind, torque_unit if kind == "torque" else None, digits)


def _aligned(rows: list[tuple[str, str, str]], indent: str) -> Iterator[str]:
    """Rows in columns; what does not fit beside its name stands below it, before and after apart."""
    room = WIDTH - len(indent)
    first = max((len(a) for a, b, _ in rows if len(a) + len(b) + 2 <= room), default=0)
    second = max((len(b) for _, b, c in rows if c), default=0)
    for a, b, c in rows:
        line = f"{indent}{a:<{first}}  {b:<{second if c else 0}}  {c}".rstrip()
        if len(line) <= WIDTH:
            yield line
            continue
        yield f"{indent}{a}"
        before, _, after = b.partition(" -> ")
        yield from wrap(before, WIDTH, initial_indent=f"{indent}     ", subsequent_indent=f"{indent}     ")
        yield from wrap(f"{after}  {c}".rstrip(), WIDTH, initial_indent=f"{indent}  -> ",
                        subsequent_indent=f"{indent}     ")  # fmt: skip
