"""The catalogue: every kind of part, every measure and every warning, explained from the data they declare."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from importlib import import_module
from textwrap import wrap
from types import ModuleType
from typing import TYPE_CHECKING, Final

from simcore.contract import MODE_CLASSES, Kind, Param, Part
from simcore.errors import Fault, InputError
from simcore.formula import plain_formula
from simcore.near import nearest_hint
from simcore.trade_words import told_here

if TYPE_CHECKING:
    from simcore.file_tables import Table

WIDTH: Final = 96
FAMILIES: Final = ("protection", "overrunning clutch", "drive", "transmission", "body", "load", "event", "command")
UNSTATED: Final = "common practice"
"""Source of an input that states none, told only beside a value."""
SHARED: Final = re.compile(r":mod:`simcore\.parts\.(_\w+)`")
"""How a text names a law that several kinds share."""


def overview(width: int = WIDTH) -> str:
    """All kinds of part by family, one line each."""
    from simcore.parts import REGISTRY

    longest = max(len(n) for n in REGISTRY)
    out: list[str] = []
    for family in FAMILIES:
        kinds = [p.kind for p in REGISTRY.values() if p.kind.family == family]
        if kinds:
            out += ([""] if out else []) + [f"{family}:"]
            for k in kinds:
                out += hang(f"  {k.name:<{longest}}  ", k.summary, width)
    return "\n".join(out)


def part(name: str = "", width: int = WIDTH) -> str:
    """The page of one kind of part as text; the list of all kinds for an empty name.

    Raises InputError with the nearest name.
    """
    if _plain(name) == "slot":
        return "\n".join(_slot(width))
    return "\n".join(_page(named(name), width)) if name else overview(width)


def named(name: str) -> Part:
    """The part of a kind's name, however it is cased or joined.  Raises InputError with the nearest name."""
    from simcore.parts import REGISTRY

    found = REGISTRY.get(name) or next((p for n, p in REGISTRY.items() if _plain(n) == _plain(name)), None)
    if found is None:
        here = told_here(name, REGISTRY)
        fault = _unknown(name, "part", REGISTRY, "simcore parts lists all")
        raise InputError([Fault(fault.path, fault.rule, hint=here) if here else fault])
    return found


def _plain(name: str) -> str:
    return re.sub(r"[\s_-]+", " ", name).strip().casefold()


def explain(name: str = "", width: int = WIDTH) -> str:
    """A measure, a warning, a word of the screen, a table of the file: what it means; all names for an empty one.

    Raises InputError with the nearest name.
    """
    from simcore.definitions import MEASURES, WARNINGS
    from simcore.file_tables import TABLES, table_named
    from simcore.headings import WORDS, heading

    if not name:
        return "\n".join(_names(width))
    key = re.sub(r" +k?n\*m$", "", name.strip().casefold())
    if key in WARNINGS:
        w = WARNINGS[key]
        return "\n".join([f"{key} (warning)", *_labelled((("means", w.meaning), ("rule", w.rule), ("do", w.advice)),
                                                          width)])  # fmt: skip
    shown, measure = heading(name), key.replace(" ", "_")
    if measure not in MEASURES:
        measure = WORDS[shown].measure if shown else ""
    if not measure and not shown:
        table = table_named(name)
        if table:
            return "\n".join(_table(table, width))
        known = [*MEASURES, *WARNINGS, *WORDS, *TABLES]
        what = "measure, warning, word of the screen or table of the file"
        raise InputError([_unknown(name, what, known, "simcore explain lists all")])
    return "\n".join(_explained(shown, measure, width))


def _explained(shown: str, measure: str, width: int) -> Iterator[str]:
    """A word of the screen, then the measure that it shows."""
    from simcore.definitions import MEASURES
    from simcore.headings import HEADINGS, WORDS

    if shown:
        yield f"{shown} ({'on the screen' if shown in HEADINGS else 'in table.csv and --json'})"
        yield from _labelled((("means", WORDS[shown].meaning),), width)
    if measure:
        yield from [""] * bool(shown)
        m = MEASURES[measure]
        unit = "without unit" if m.unit == "1" else f"in {m.unit.replace(' ', '*')}"
        yield f"{measure}: {m.long_name}, {unit}"
        yield from _labelled((("means", m.meaning), ("formula", m.formula), ("do", m.advice)), width)


def _table(table: Table, width: int) -> Iterator[str]:
    yield f"{table.heading} (of a scenario file)"
    yield from wrap(table.meaning, width)
    yield ""
    longest = max(len(n) for n in [*(p.name for p in table.params), *(n for n, _ in table.more)])
    for name, text in [*((p.name, input_text(p)) for p in table.params), *table.more]:
        yield from hang(f"  {name:<{longest}}  ", text, width)


def _names(width: int) -> Iterator[str]:
    from simcore.definitions import MEASURES, WARNINGS
    from simcore.file_tables import TABLES
    from simcore.headings import COLUMNS, HEADINGS

    told = {
        "measures": {n: m.long_name for n, m in MEASURES.items()},
        "words of the screen": {n: _sentence(h.meaning) for n, h in HEADINGS.items()},
        "words of table.csv and --json": {n: _sentence(h.meaning) for n, h in COLUMNS.items()},
        "warnings": {n: _sentence(w.meaning) for n, w in WARNINGS.items()},
        "tables of the file": {n: t.meaning for n, t in TABLES.items()},
    }
    longest = max(len(n) for names in told.values() for n in names)
    for k, (what, names) in enumerate(told.items()):
        yield from [""] * bool(k)
        yield f"{what}:"
        for n, text in names.items():
            yield from hang(f"  {n:<{longest}}  ", text, width)


def _sentence(text: str) -> str:
    """The first sentence of a text, without its stop."""
    return text.split(". ")[0].rstrip(".")


def _page(p: Part, width: int) -> Iterator[str]:
    k = p.kind
    yield f"{k.name} ({k.family})"
    yield from wrap(k.summary, width)
    yield ""
    yield "inputs:"
    yield from _inputs(k.params, width)
    yield ""
    for heading, words in _beside(k):
        yield f"{heading}:"
        yield from _inputs(words, width)
        yield ""
    yield "law:"
    yield from (f"  {line}".rstrip() for line in law(p, width - 2))
    yield ""
    yield from _labelled(list(_facts(k)), width)


def _inputs(params: Sequence[Param], width: int) -> Iterator[str]:
    longest = max((len(x.name) for x in params), default=0)
    for q in params:
        yield from hang(f"  {q.name:<{longest}}  ", input_text(q), width)


def _beside(k: Kind) -> Iterator[tuple[str, tuple[Param, ...]]]:
    """The words of the file that stand beside the inputs of a kind, with where they do."""
    from simcore.scenario import words

    if k.family == "event":
        yield "beside them in a situation", (*words.SITUATION[1:], words.FOLLOWING)
    elif k.family == "command":
        yield "beside them in [stops.NAME]", words.STOP[1:]
    else:
        if k.family == "protection":
            yield "beside them in [candidates.NAME]", words.CANDIDATE
        yield "beside them in a station of the line", (*words.PLACE, *(words.LIMIT if k.bears else ()))


def _slot(width: int) -> Iterator[str]:
    from simcore.scenario.words import LIMIT, PLACE, SLOT_KIND

    yield f"{SLOT_KIND.name} (station)"
    yield from wrap(SLOT_KIND.summary, width)
    yield ""
    yield "inputs:"
    yield from _inputs((*SLOT_KIND.params, *PLACE, *LIMIT), width)


def _facts(k: Kind) -> Iterator[tuple[str, str]]:
    yield "modes", "; ".join(f"{m.name} ({MODE_CLASSES[m.klass]})" for m in k.modes)
    yield "states", "; ".join(f"{s.name} in {s.unit.replace(' ', '*')}: {s.meaning}" for s in k.states)
    yield "counts", k.tally
    yield "left behind", "; ".join(f"{x.name}: {x.meaning}" for x in k.left_behind)
    yield "lets go", k.lets_go
    yield "leaves", k.leaves
    yield "runs again", k.runs_again
    for text in k.cautions:
        yield "caution", text
    for text in k.sources:
        yield "source", text
    if k.character:
        yield "chart", f'simcore parts "{k.name}" --chart'


def input_text(p: Param) -> str:
    """An input in a sentence: meaning, units, bounds, default, usual range, where these come from."""
    text = p.meaning
    units = _units(p)
    if units:
        text += f" [{units}]"
    if p.many:
        text += "; a list, or a column of a CSV file"
    bounds = [(p.above, "above"), (p.low, "at least"), (p.high, "at most")]
    limits = [f"{word} {_written(v)}" for v, word in bounds if v is not None]
    out = [text, *(["a list of values"] if p.many else []), *limits]
    if p.choices:
        out.append(f"one of {', '.join(p.choices)}")
    if p.default is not None:
        out.append(f"default {_written(p.default)}")
    elif p.required:
        out.append("must be given")
    if p.usual is not None:
        out.append(f"usual {p.usual[0]!s} to {p.usual[1]!s}")
    if p.default is not None or p.usual is not None or p.source != UNSTATED:
        out.append(f"from: {p.source}")
    return "; ".join(out)


def _written(value: str | float) -> str:
    """A bound or default as one writes it in a scenario."""
    if isinstance(value, bool):
        return str(value).lower()
    return value if isinstance(value, str) else f"{value:g}"


def _units(p: Param) -> str:
    """Units of an input; both sorts where it depends on whether its station turns or travels."""
    from simcore import units

    if p.kind not in units.kinds():
        return ""
    turning, travelling = units.sorts(p.kind)
    if turning == travelling:
        return _some(units.units_of(p.kind))
    return f"turning: {_some(units.units_of(turning))}; travelling: {_some(units.units_of(travelling))}"


def _some(every: Sequence[str]) -> str:
    names = ["no unit"] * ("" in every) + [u for u in every if u]
    return ", ".join(names[:4]) + (", ..." if len(names) > 4 else "")


def law(p: Part, width: int = WIDTH) -> list[str]:
    """The part's own text with its formulas in plain letters, then those of the shared laws it names."""
    out = _law_text(p.module, width)
    told: set[str] = set()
    wanted = SHARED.findall(p.module.__doc__ or "")
    while wanted:
        name = wanted.pop(0)
        if name in told:
            continue
        told.add(name)
        module = import_module(f"simcore.parts.{name}")
        out += ["", f"{_title(name)}:", *_law_text(module, width)]
        wanted += SHARED.findall(module.__doc__ or "")
    return out


def _title(name: str) -> str:
    """What a shared law is called on a page."""
    return f"[{name.strip('_').replace('_', ' ')}]"


def _law_text(module: ModuleType, width: int) -> list[str]:
    text = (module.__doc__ or "").strip("\n")
    text = re.sub(r":math:`([^`]*)`", lambda m: plain_formula(m[1].replace("\n", " ")), text)
    text = SHARED.sub(lambda m: _title(m[1]), text)
    text = re.sub(r":mod:`simcore\.parts\.(\w+)`", lambda m: f'simcore parts "{m[1].replace("_", " ")}"', text)
    out: list[str] = []
    paragraph: list[str] = []
    for line in [*text.splitlines(), ""]:
        formula = ".. math::" in line or line.startswith("   ")
        bare = line.replace(".. math::", "").replace("``", "").strip()
        if paragraph and (formula or not bare or bare.startswith("- ")):
            out += wrap(" ".join(paragraph), width, break_on_hyphens=False)
            paragraph = []
        if not bare:
            out += [] if formula or not out or not out[-1] else [""]
        elif formula:
            out.append(f"    {plain_formula(bare)}")
        else:
            paragraph.append(bare)
    return out[:-1] if out and not out[-1] else out


def _labelled(rows: Iterable[tuple[str, str]], width: int) -> list[str]:
    given = [(label, text) for label, text in rows if text]
    longest = max((len(label) for label, _ in given), default=0)
    return [line for label, text in given for line in hang(f"  {label:<{longest}}  ", text, width)]


def hang(head: str, text: str, width: int) -> list[str]:
    """Text beside its head, further lines below the text."""
    room = max(width, len(head) + 20)
    return wrap(f"{head}{text}", room, subsequent_indent=" " * len(head), drop_whitespace=True,
                break_on_hyphens=False) or [head.rstrip()]  # fmt: skip


def _unknown(name: str, what: str, names: Iterable[str], hint: str) -> Fault:
    return Fault(name[:80], f"is no {what}", hint=nearest_hint(name, names, hint))
