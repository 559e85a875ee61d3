"""Two results side by side on one screen: the answer first, then changed inputs, then results by candidate."""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import isfinite, isnan, nan
from typing import Final, NamedTuple

from simcore.results.compare import SAID, Comparison, Moved, row
from simcore.results.inputs import ENVIRONMENT, Change
from simcore.results.model import Answer, ResultSet
from simcore.screen import many
from simcore.screen.numbers import milliseconds, share, signed
from simcore.screen.reading import tightest
from simcore.screen.table import Column, table
from simcore.screen.verdicts import verdict
from simcore.screen.words import Line, Word, clean, paragraph, wrap

WIDEST: Final = 100
NARROWEST: Final = 40
MOST_INPUTS: Final = 8
"""Changed inputs that are told; the others are counted."""
MOST_ROWS: Final = 12
"""Candidates in the table; the others are counted."""
MOST_BESIDES: Final = 4
"""Candidates of which further results are told."""
FEW: Final = 3
"""Further results told of one candidate."""
LONGEST: Final = 24
"""Columns of a candidate's name."""
TELLING: Final = 0.01
"""Relative change of the instant of letting go from which it is told."""
MUCH: Final = 0.05
"""The same of a further result."""
POINTS: Final = 0.5
"""Points of a percentage from which a change of margin or peak is told."""
BESIDES: Final = ("reasons", "worst limit", "disconnects", "disconnect", "reengage", "again", "heat", "rise", "tally",
                  SAID["use"], SAID["overshoot"], "slip angle", "impulse")  # fmt: skip
"""Further results, the most telling first."""
ARROW: Final = " -> "
_OWN: Final = re.compile(r'(line|candidates|situations|stops|corners)\["(.+?)"\]\.?(.*)')


class Pair(NamedTuple):
    """One candidate before and after: its answers, peak over what is borne [1], least service margin [%]."""

    before: Answer
    after: Answer
    shares: tuple[float, float]
    margins: tuple[float, float]

    @property
    def name(self) -> str:
        return self.before.name

    @property
    def weight(self) -> tuple[bool, float]:
        """How telling its change is: whether it passes, then points of margin or of what is borne."""
        points = [abs(b - a) for a, b in (self.margins, _percent(self.shares)) if isfinite(b - a)]
        return self.before.passed != self.after.passed, max(points, default=0.0)

    @property
    def moved(self) -> bool:
        words = any(getattr(self.before, n) != getattr(self.after, n) for n in ("passed", "disconnects", "again"))
        return words or self.weight[1] >= POINTS or _apart(self.before.lets_go, self.after.lets_go)


def compared(c: Comparison, columns: int = WIDEST) -> list[Line]:
    """Lines of at most ``columns`` (40 to 100)."""
    wide = min(WIDEST, max(NARROWEST, columns))
    pairs = _pairs(c)
    out: list[Line] = []
    if c.titles[0] != c.titles[1]:
        out += [[Word(t, "head")] for t in wrap(ARROW.join(c.titles), wide)]
    out += [[Word(t)] for t in wrap(_answer(c, pairs), wide)]
    out += _inputs(c, wide)
    for names, where in zip(c.candidates, ("first", "second"), strict=True):
        out += paragraph("Only there", f"in the {where}: {', '.join(names)}", wide) if names else []
    out += _results(c, pairs, wide)
    if c.answers:
        told = f"simcore compare A B --all lists every result that moved ({len(c.answers)}), --json has every digit."
        out += paragraph("More", told, wide, "quiet")
    return out


def _pairs(c: Comparison) -> list[Pair]:
    """Candidates of both results, the most telling first."""
    first, second = c.results
    after = {a.name: a for a in second.answers}
    found = [_pair(a, after[a.name], first, second) for a in first.answers if a.name in after]
    return sorted(found, key=lambda p: p.weight, reverse=True)


def _pair(a: Answer, b: Answer, first: ResultSet, second: ResultSet) -> Pair:
    margins = tuple(nan if m is None else m.percent for m in (tightest(a), tightest(b)))
    return Pair(a, b, (a.peak / first.allowable, b.peak / second.allowable), (margins[0], margins[1]))


def _percent(shares: tuple[float, float]) -> tuple[float, float]:
    return 100.0 * shares[0], 100.0 * shares[1]


def _apart(x: float, y: float, least: float = TELLING) -> bool:
    """Whether two numbers differ by what is worth telling."""
    if isnan(x) or isnan(y):
        return isnan(x) != isnan(y)
    return abs(y - x) > least * max(abs(x), abs(y))


def _answer(c: Comparison, pairs: list[Pair]) -> str:
    """What came of it and why, in one or two sentences."""
    inputs = [i for i in c.inputs if i.path not in ENVIRONMENT]
    if not c.answers and not any(c.candidates):
        return "No answer moved." if c.inputs else "The inputs are the same. No answer moved."
    before, after = (_best(r) for r in c.results)
    head = _recommended(before, after, c.results[1])
    telling = [p for p in pairs if p.moved]
    focus = next((p for p in telling if p.name == (after or before)), telling[0] if telling else None)
    if focus is None:
        return f"{head}; nothing else moved by what is worth telling{_cause(inputs, c, None)}."
    who = "it" if focus.name == after else f"the {focus.name}"
    said = f"{head}: {who} {_effect(focus, c.results[1].protect)}{_cause(inputs, c, focus)}."
    return " ".join([said, *_others([p for p in telling if p is not focus])])


def _others(pairs: list[Pair]) -> Iterator[str]:
    """Whether any other candidate passes now or no longer, and how many moved without that."""
    for passes, one, several in ((True, "passes now", "pass now"), (False, "no longer passes", "no longer pass")):
        names = [p.name for p in pairs if p.before.passed != p.after.passed == passes]
        if names:
            told = " and the ".join(names) if len(names) < FEW else f"{names[0]} and {len(names) - 1} more"
            yield f"The {told} {one if len(names) == 1 else several}."
    rest = sum(p.before.passed == p.after.passed for p in pairs)
    if rest:
        yield f"{rest} other{'s' * (rest > 1)} moved too."


def _best(r: ResultSet) -> str:
    return next((a.name for a in r.answers if a.rank == 1 and a.passed), "")


def _recommended(before: str, after: str, now: ResultSet) -> str:
    """What to fit, and what became of what was to be fitted before."""
    if before == after:
        return f"Still fit the {after}" if after else "Still nothing passes"
    if not before:
        return f"Now fit the {after}, nothing passed before"
    was = next((a for a in now.answers if a.name == before), None)
    lost = "is no longer tried" if was is None else "ranks lower now" if was.passed else "; ".join(was.reasons)
    if not after:
        return f"Nothing passes any more, not even the {before} ({lost})"
    return f"Now fit the {after}, no longer the {before} ({lost})"


def _effect(p: Pair, protect: str) -> str:
    """What became of one candidate: whether it passes, its margin, its peak."""
    said = []
    if p.before.passed != p.after.passed:
        reasons = "; ".join(p.after.reasons or p.before.reasons)
        said.append(f"passes now (before: {reasons})" if p.after.passed else f"no longer passes ({reasons})")
    low, high = p.margins
    if abs(high - low) >= POINTS:
        way = "gains" if high > low else "loses"
        said.append(f"{way} {abs(high - low):.3g} points of service margin ({signed(low)}{ARROW}{signed(high)})")
    if abs(p.shares[1] - p.shares[0]) >= 0.01 * POINTS:
        told = ARROW.join(map(share, p.shares))
        said.append(f"its peak {'rises' if p.shares[1] > p.shares[0] else 'falls'} ({told} of what '{protect}' bears)")
    return " and ".join(said) or "keeps its margin and its peak"


def _cause(inputs: list[Change], c: Comparison, focus: Pair | None) -> str:
    if not inputs:
        return ", though no input changed, only versions" if c.inputs else ", though no input changed"
    if len(inputs) > 1:
        return f", with {len(inputs)} inputs changed"
    (i,) = inputs
    return f", because {_input(i.path, focus.name if focus else '')} went from {i.before} to {i.after}"


def _input(path: str, own: str) -> str:
    """An input in words: ``its setting``, ``mass of 'trays'``.

    >>> _input('candidates["ball detent"].setting', "ball detent"), _input('line["trays"].mass', "")
    ('its setting', "mass of 'trays'")
    """
    found = _OWN.fullmatch(path)
    if found is None:
        return path
    name, word = found[2], found[3].replace("_", " ")
    if not word:
        return f"'{name}'"
    return f"its {word}" if found[1] == "candidates" and name == own else f"{word} of '{name}'"


def _inputs(c: Comparison, wide: int) -> Iterator[Line]:
    for n, i in enumerate(c.inputs[:MOST_INPUTS]):
        yield from [[]] * (n == 0)
        yield from paragraph("" if n else "Inputs", f"{i.path}: {i.before}{ARROW}{i.after}", wide)
    if len(c.inputs) > MOST_INPUTS:
        yield from paragraph("", f"and {len(c.inputs) - MOST_INPUTS} more inputs", wide)


def _results(c: Comparison, pairs: list[Pair], wide: int) -> Iterator[Line]:
    telling, still = [p for p in pairs if p.moved], [p.name for p in pairs if not p.moved]
    if telling:
        yield []
        yield from table(_columns(telling[:MOST_ROWS]), wide)
        yield []
    if len(telling) > MOST_ROWS:
        yield from paragraph("", f"and {len(telling) - MOST_ROWS} more candidates, which moved less", wide)
    told = [f"{p.name}: {text}." for p in telling[:MOST_BESIDES] if (text := _besides(c, p))]
    for n, text in enumerate(told):
        yield from paragraph("" if n else "Besides", text, wide)
    if telling and still:
        yield from paragraph("Hardly moved", f"{many.some(still, [p.name for p in pairs])}.", wide)


def _columns(pairs: list[Pair]) -> list[Column]:
    return [
        Column(("", "protection"), [Word(many.cut(p.name, LONGEST)) for p in pairs], False),
        Column(("", "passes"), [_verdicts(p) for p in pairs], False),
        Column(("service", "margin"), [Word(_two(*map(signed, p.margins))) for p in pairs]),
        Column(("peak, of what", "it bears"), [Word(_two(*map(share, p.shares))) for p in pairs]),
        Column(("lets go", "at ms"), [Word(_two(*(milliseconds(a.lets_go) for a in p[:2]))) for p in pairs]),
    ]


def _two(a: str, b: str) -> str:
    return a if a == b else f"{a}{ARROW}{b}"


def _verdicts(p: Pair) -> Word:
    a, b = verdict(p.before), verdict(p.after)
    return Word(_two(a.text, b.text), b.style)


def _besides(c: Comparison, p: Pair) -> str:
    """The most telling further results of one candidate."""
    own = {m.what: m for m in c.answers if m.candidate == p.name}
    told = [own[w] for w in BESIDES if w in own and _tells(own[w])]
    return clean("; ".join(_said(m, c) for m in told[:FEW]))


def _tells(m: Moved) -> bool:
    if isinstance(m.before, str) or isinstance(m.after, str):
        return True
    return _apart(m.before, m.after, MUCH)


def _said(m: Moved, c: Comparison) -> str:
    if m.what == "reasons":
        return f"no longer against it: {m.before}" if m.after == "none" else f"against it now: {m.after}"
    what, change, by = row(m, c.results[0].unit)
    return f"{what} {change}" + (f" ({by})" if by else "")
