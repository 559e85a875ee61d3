"""What is the same for several candidates or situations, said once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Final, NamedTuple

OF_ALLOWABLE: Final = " of its allowable"
EMPTY: Final[Mapping[str, str]] = {}


def listed(names: Sequence[str]) -> str:
    """Names in a sentence.

    >>> listed(["disc", "pins", "pawl"])
    'disc, pins and pawl'
    """
    return " and ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))


def quoted(names: Iterable[str]) -> str:
    """Names in quotation marks."""
    return ", ".join(f"'{n}'" for n in names)


def by_word(words: Mapping[str, str]) -> dict[str, list[str]]:
    """Names by what is said of them, both in their order."""
    out: dict[str, list[str]] = {}
    for name, word in words.items():
        out.setdefault(word, []).append(name)
    return out


def numbered(words: Mapping[str, str]) -> str:
    """Each name with its number, those with the same together.

    >>> numbered({"disc": "70 %", "pins": "62 %", "pawl": "62 %"})
    'disc 70 %, pins and pawl alike 62 %'
    """
    groups = by_word(words)
    return ", ".join(f"{listed(n)}{' alike' * (len(n) > 1)} {word}" for word, n in groups.items())


def grouped(words: Mapping[str, str]) -> str:
    """Candidates with the same word together, the largest group of several last, without its names.

    >>> grouped({"disc": "'start'", "pins": "'rub'", "pawl": "'rub'"}), grouped({"disc": "'start'", "pins": "'rub'"})
    ("'start' (disc), 'rub' for the others", "'start' (disc), 'rub' (pins)")
    """
    groups = by_word(words)
    if len(groups) == 1:
        return f"{next(iter(groups))} for all" if len(words) > 1 else next(iter(groups))
    most = max(groups, key=lambda w: len(groups[w]))
    named = [(w, n) for w, n in groups.items() if w != most or len(n) == 1]
    told = [f"{word} ({', '.join(names)})" for word, names in named]
    return ", ".join(told if len(named) == len(groups) else [*told, f"{most} for the others"])


def spoken(words: Mapping[str, str]) -> str:
    """Each name before its words, those with the same words together: ``disc, pins: clear the jam; pawl: reset``."""
    groups = by_word(words)
    if len(groups) == 1 and len(words) > 1:
        return f"{next(iter(groups))} (all)"
    return "; ".join(f"{', '.join(names)}: {word}" for word, names in groups.items())


class _Reason(NamedTuple):
    """A reason in pieces; ``head`` without its number, which is '' where there is none."""

    head: str
    number: str
    situation: str
    tail: str


_SEES = re.compile(r"(.* sees )(\S+ %)( of its allowable in)")


def merged(reasons: Iterable[str], situations: Iterable[str], letters: Mapping[str, str] = EMPTY) -> list[str]:
    """Reasons that differ in their situation alone, in one; the largest number first.

    A situation that has a letter on the screen is told by it.

    >>> merged(["trips in 'a'", "'rod' sees 103 % of its allowable in 'b'", "trips in 'c'"], "abc")
    ["trips in 'a', 'c'", "'rod' sees 103 % of its allowable in 'b'"]
    """
    groups: dict[tuple[str, str], list[_Reason]] = {}
    for text in reasons:
        r = _parsed(text, situations)
        r = r._replace(situation=letters.get(r.situation, r.situation and f"'{r.situation}'"))
        groups.setdefault((r.head, r.tail), []).append(r)
    limits = sorted((g for g in groups.values() if g[0].number), key=_largest, reverse=True)
    return [*(_joined(g) for g in groups.values() if not g[0].number), *_limits(limits)]


def _parsed(text: str, situations: Iterable[str]) -> _Reason:
    names = "|".join(re.escape(s) for s in sorted(situations, key=len, reverse=True))
    found = re.fullmatch(f"(.* (?:in|through)) '({names})'(.*)", text)
    if found is None:
        return _Reason(text, "", "", "")
    head, situation, tail = found.groups()
    sees = _SEES.fullmatch(head)
    return _Reason(sees[1], sees[2], situation, tail) if sees else _Reason(head, "", situation, tail)


def _joined(group: Sequence[_Reason]) -> str:
    first = group[0]
    where = ", ".join(r.situation for r in group if r.situation)
    return f"{first.head} {where}{first.tail}" if where else first.head


def _size(r: _Reason) -> float:
    return float(r.number.removesuffix(" %"))


def _largest(group: Sequence[_Reason]) -> float:
    return max(map(_size, group))


def _limits(groups: Sequence[Sequence[_Reason]]) -> list[str]:
    """What parts see of their allowable; the words are said with the first alone."""
    out = []
    for n, group in enumerate(groups):
        ranked = sorted(group, key=_size, reverse=True)
        shares = by_word({r.situation: r.number for r in ranked})
        told: list[str] = []
        for share, where in shares.items():
            also = f", likewise in {', '.join(where[1:])}" if where[1:] else ""
            told.append(f"{share}{OF_ALLOWABLE * (not told and not n)} in {where[0]}{also}")
        head = ranked[0].head if not n else ranked[0].head.removesuffix("sees ")
        out.append(head + ", ".join(told))
    return out
