"""Many candidates on one screen: a line each in the table, equal words said once with the names."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from simcore.results.model import Answer, ResultSet
from simcore.screen.alike import merged
from simcore.screen.table import GAP, Column
from simcore.screen.words import Line, clean, paragraph, width

MANY: Final = 8
"""Candidates past which the screen groups equal words."""
LONGEST: Final = 30
"""Columns past which a name is cut, everywhere on the screen alike."""
SHORTEST: Final = 16
"""Columns that a name keeps in the table."""
SPLITS: Final = (0.5, 0.7, 0.3, 0.85, 0.15, 1.0, 0.0)
"""Shares of a cut name that its beginning gets, the preferred ones first."""
MOST_REASONS: Final = 9
"""Groups of reasons that are told; the others are counted."""
FEW: Final = 3
"""Names up to which 'all but ...' is shorter than the names themselves."""
DOTS: Final = "..."
HEAD: Final = 8
"""Letters kept of a beginning that all long names share."""
_SHARE: Final = re.compile(r" sees (\S+ %) of its allowable ")
_AFTER: Final = re.compile(r" after (\S+ s)$")


def shortened(result: ResultSet) -> ResultSet:
    """Long names of many candidates cut where they still differ; left alone if they would not."""
    if len(result.answers) <= MANY:
        return result
    names = short([a.name for a in result.answers], LONGEST)
    if len(set(names)) < len(names):
        return result
    pairs = zip(result.answers, names, strict=True)
    return replace(result, answers=tuple(replace(a, name=n) for a, n in pairs))


def short(names: Sequence[str], columns: int) -> list[str]:
    """Names of at most ``columns``, cut so that as many as possible stay different."""
    tries = [[cut(n, columns, split) for n in names] for split in SPLITS]
    long = [n for n in names if width(n) > columns]
    start = _parting(long)
    tries.append([cut(n[:HEAD] + DOTS + n[start:].lstrip(), columns, 1.0) if n in long else n for n in names])
    return max(tries, key=lambda t: len(set(t)))


def _parting(names: Sequence[str]) -> int:
    """Where the first word begins that not all names share."""
    letters = enumerate(zip(*names, strict=False))
    same = next((i for i, column in letters if len(set(column)) > 1), 0)
    return len(names[0][:same].rpartition(" ")[0]) if names else 0


def one_line(columns: Sequence[Column], wide: int) -> list[Column] | None:
    """The table with a line a candidate: its last column left out if need be, long names cut in the middle.

    None if even so it is wider than ``wide``.
    """
    open_ended = [c._replace(most=wide) for c in columns]
    for kept in (open_ended, open_ended[:-1]):
        rest = sum(c.wide for c in kept[1:]) + GAP * (len(kept) - 1)
        if kept[0].wide + rest <= wide:
            return kept
    if wide - rest < SHORTEST:
        return None
    room = wide - rest
    names = short([w.text for w in kept[0].cells], room)
    cells = [w._replace(text=n) for w, n in zip(kept[0].cells, names, strict=True)]
    return [kept[0]._replace(cells=cells, most=room), *kept[1:]]


def cut(name: str, columns: int, split: float = 0.5) -> str:
    """A name with a piece left out; its beginning gets the share ``split`` of what is kept.

    >>> cut("shear pins of the second kind", 16)
    'shear ...nd kind'
    """
    name = clean(name)
    if width(name) <= columns:
        return name
    head, tail = name, name
    while head and width(head) > split * (columns - len(DOTS)):
        head = head[:-1]
    while tail and width(head + tail) > columns - len(DOTS):
        tail = tail[1:]
    return f"{head}{DOTS}{tail}"


def some(names: Sequence[str], everyone: Sequence[str]) -> str:
    """Names in short: 'all 18', 'all but pawl, shear pins', or one by one."""
    missing = [n for n in everyone if n not in names]
    if not missing:
        return f"all {len(everyone)}"
    if len(missing) <= FEW and len(names) > 2 * FEW:
        return f"all but {', '.join(missing)}"
    return ", ".join(names)


def grouped(words: Mapping[str, str]) -> str:
    """Candidates with the same word together, the largest group without its names."""
    groups: dict[str, list[str]] = {}
    for name, word in words.items():
        groups.setdefault(word, []).append(name)
    if len(groups) == 1:
        return f"{next(iter(groups))} for all {len(words)}"
    most = max(groups, key=lambda w: len(groups[w]))
    told = [f"{word} ({', '.join(names)})" for word, names in groups.items() if word != most]
    return f"{', '.join(told)}, {most} for the other {len(groups[most])}"


def reasons(answers: Sequence[Answer], wide: int, situations: Sequence[str] = (), whole: bool = False) -> list[Line]:
    """Each 'no' with those it is said of; reasons of the very same candidates in one; ``whole`` tells all of them."""
    everyone = [a.name for a in answers]
    groups: dict[tuple[str, ...], list[str]] = {}
    for reason, owners in _by_reason(answers).items():
        plain = not any(own for _, own in owners)
        key = tuple(n for n, _ in owners) if plain else tuple(f"{n} {own}" for n, own in owners)
        groups.setdefault(key, []).append(reason)
    most = len(groups) if whole else MOST_REASONS
    out: list[Line] = []
    for who, why in list(groups.items())[:most]:
        text = f"{'; '.join(merged(why, situations))}: {some(who, everyone)}."
        out += paragraph("" if out else "No", text, wide, "bad")
    more = sum(len(why) for why in list(groups.values())[most:])
    if more:
        text = f"{more} further {'reason stands' if more == 1 else 'reasons stand'} in the result set."
        out += paragraph("", text, wide, "bad")
    return out


def _by_reason(answers: Sequence[Answer]) -> dict[str, list[tuple[str, str]]]:
    """Who has which reason, and with which number of his own, the largest first; the commonest reasons first."""
    found: dict[str, list[tuple[str, str]]] = {}
    for a in answers:
        if not a.passed:
            for reason, own in map(_common, a.reasons):
                found.setdefault(reason, []).append((a.name, own))
    for owners in found.values():
        owners.sort(key=lambda o: float(o[1].removesuffix(" %")) if o[1].endswith(" %") else 0.0, reverse=True)
    return dict(sorted(found.items(), key=lambda item: -len(item[1])))


def _common(reason: str) -> tuple[str, str]:
    """A reason without the number that differs from candidate to candidate, and that number.

    >>> _common("'shaft' sees 124 % of its allowable in 'jam'")
    ("'shaft' sees more than its allowable in 'jam'", '124 %')
    """
    if found := _SHARE.search(reason):
        return _SHARE.sub(" sees more than its allowable ", reason), found[1]
    if found := _AFTER.search(reason):
        return _AFTER.sub("", reason), f"after {found[1]}"
    return reason, ""


def told(label: str, words: Mapping[str, str], wide: int) -> Iterator[Line]:
    """A column that the table had no room for, in words."""
    yield from paragraph(label, f"{grouped(words)}.", wide)
