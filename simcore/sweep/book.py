"""What a sweep folder is about: scenario, plan, versions; whether a resumed sweep is still that one.

Refused is every change but those that leave finished blocks as they are: more draws, more values in a grid, and what
only the answer depends on, its targets and the words about it.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from difflib import unified_diff
from itertools import zip_longest
from pathlib import Path
from typing import Any, Final

from simcore.errors import InputError, ResultError
from simcore.output import CHARTS, REPLAYS
from simcore.results.files import why
from simcore.scenario.plan import BESIDE
from simcore.sweep.atomic import At, digest, nothing, put
from simcore.sweep.blocks import FOLDER, SET_ASIDE, BlockList, Cell, edges
from simcore.sweep.crew import MakeTrial
from simcore.sweep.result import PLAN, RESULT

TEXT: Final = "sweep.toml"
DECISION: Final = "decision.csv"
TARGETS: Final = ("damage_target", "nuisance_target")
"""Fields of a plan that no run depends on, only what is made of the runs."""
LONGEST: Final = 60
"""Lines of a difference that are shown."""
OURS: Final = frozenset(
    {PLAN, TEXT, FOLDER, SET_ASIDE, "lock", "ledger.jsonl", "log.txt", RESULT, DECISION, CHARTS, REPLAYS, "tables"}
)


@dataclass(frozen=True, slots=True)
class Setup:
    """A sweep to be run: everything the work loop needs to know about scenario, plan and trial.

    ``plan`` is the plan (a dataclass) and ``fingerprint`` its hash with scenario and versions; ``head`` gives the
    result without its numbers when so many draws of it are merged; ``changes`` were set beside the scenario's text,
    ``files`` are the texts of files that its lists come from.
    """

    text: str
    plan: Any
    fingerprint: str
    versions: Mapping[str, str]
    candidates: tuple[str, ...]
    cells: tuple[Cell, ...]
    expects: tuple[str, ...]
    make_trial: MakeTrial
    head: Callable[[int], Any]
    changes: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Book:
    """The sweep of a folder: the fingerprint it was begun with, its blocks, what to tell about it."""

    fingerprint: str
    blocks: BlockList
    note: str


def fields(plan: Any) -> dict[str, Any]:
    """A plan's fields as JSON gives them back."""
    out: dict[str, Any] = json.loads(json.dumps(asdict(plan), default=lambda v: v.tolist()))
    return out


def load(folder: Path) -> dict[str, Any] | None:
    """What ``plan.json`` says; None if it is absent or not as it was written."""
    try:
        found = json.loads((folder / PLAN).read_text("utf-8"))
        check = found.pop("check")
    except (OSError, ValueError, KeyError, AttributeError, TypeError):
        return None
    return found if check == digest(_canonical(found)) else None


def _canonical(words: dict[str, Any]) -> bytes:
    return json.dumps(words, sort_keys=True).encode("utf-8")


def open_book(folder: Path, setup: Setup, at: At = nothing) -> Book:
    """Begin a sweep in ``folder``, or go on with the one there.

    Raises InputError if that one is another sweep, with what differs; ResultError if nothing can be written.
    """
    words: dict[str, Any] = {
        "format": "simcore sweep 1", "fingerprint": setup.fingerprint, "versions": dict(setup.versions),
        "plan": fields(setup.plan), "candidates": list(setup.candidates), "expects": list(setup.expects),
        "cells": len(setup.cells), "lengths": [setup.plan.draws],
        "scenario": setup.text, "changes": dict(setup.changes),
        "files": dict(setup.files),
    }  # fmt: skip
    old = load(folder)
    note = "begun"
    if old is None and (folder / PLAN).exists():
        note = f"{PLAN} was damaged and is made anew"
    elif old is not None:
        differ = differences(old, words)
        if differ:
            raise InputError(_refusal(folder, differ))
        words["fingerprint"] = old["fingerprint"]
        words["lengths"] = sorted({*old["lengths"], setup.plan.draws})
        note = "goes on" + _extended(old, words) + _other_targets(old, words)
    try:
        (folder / FOLDER).mkdir(exist_ok=True)
        if old != words:
            put(folder / TEXT, setup.text.encode("utf-8"), at, "scenario")
            put(folder / PLAN, json.dumps({**words, "check": digest(_canonical(words))}, indent=1).encode(), at, "plan")
    except OSError as e:
        raise ResultError(f"{folder}: cannot be written, {why(e)}") from None
    starts = edges(setup.plan.draws, setup.plan.block, words["lengths"])
    return Book(words["fingerprint"], BlockList(setup.candidates, setup.cells, starts), note)


def _extended(old: Mapping[str, Any], new: Mapping[str, Any]) -> str:
    runs = [({n: v for n, v in w["plan"].items() if n not in TARGETS}, w["cells"]) for w in (old, new)]
    return "" if runs[0] == runs[1] else ", extended"


def _other_targets(old: Mapping[str, Any], new: Mapping[str, Any]) -> str:
    return ", with other targets" if any(old["plan"].get(n) != new["plan"].get(n) for n in TARGETS) else ""


def made_of(setup: Setup) -> str:
    """Hash of all that the merged file tells beside the numbers of its blocks."""
    return digest(_canonical({"scenario": setup.text, "plan": fields(setup.plan)}))


def refuse_foreign(folder: Path) -> None:
    """Raise InputError if ``folder`` is no folder or holds what no sweep left there."""
    if folder.exists() and not folder.is_dir():
        raise InputError(f"{folder}: is a file, --out needs a folder")
    if not folder.exists() or (folder / PLAN).exists():
        return
    others = sorted(p.name for p in folder.iterdir() if p.name not in OURS and not p.name.startswith("."))
    if others:
        raise InputError(f"{folder}: holds other files ({', '.join(others[:3])}); give a folder of its own")


def differences(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    """Lines that tell what forbids going on; none if nothing does."""
    out = _texts(old["scenario"], new["scenario"])
    out += [f"{n}: {old[n]}, now {new[n]}" for n in ("candidates", "expects") if old[n] != new[n]]
    beside = (old.get("changes", {}), new["changes"])
    out += [f"{p}: {_set(beside[0], p)}, now {_set(beside[1], p)}" for p in dict.fromkeys([*beside[0], *beside[1]])
            if beside[0].get(p) != beside[1].get(p)]  # fmt: skip
    out += _files(old.get("files", {}), new["files"])
    out += _plans(old["plan"], new["plan"])
    was, now = old["versions"], new["versions"]
    out += [f"version of {n}: {was.get(n, 'none')}, now {now.get(n, 'none')}"
            for n in dict.fromkeys([*was, *now]) if was.get(n) != now.get(n)]  # fmt: skip
    return out


def _set(changes: Mapping[str, str], path: str) -> str:
    return f"set to {changes[path]}" if path in changes else "as in the file"


def _files(old: Mapping[str, str], new: Mapping[str, str]) -> list[str]:
    """The first line that differs of each file that lists come from."""
    out = []
    for name in (n for n in dict.fromkeys([*old, *new]) if old.get(n) != new.get(n)):
        rows = zip_longest(*(t.get(name, "").splitlines() for t in (old, new)), fillvalue="no line")
        first = next(((k, a, b) for k, (a, b) in enumerate(rows, 1) if a != b), None)
        out.append(f"{name}: its ends of lines" if first is None else
                   f"{name}, line {first[0]}: {_brief(first[1])}, now {_brief(first[2])}")  # fmt: skip
    return out


def _texts(old: str, new: str) -> list[str]:
    """Unified difference of two scenarios, none if they differ only in comments, spaces and what bears on no run."""
    try:
        one, two = tomllib.loads(old), tomllib.loads(new)
        if {**one, **dict.fromkeys(BESIDE)} == {**two, **dict.fromkeys(BESIDE)}:
            return []
    except tomllib.TOMLDecodeError:
        if old == new:
            return []
    lines = list(unified_diff(old.splitlines(), new.splitlines(), "scenario of the folder", "scenario now", n=1,
                              lineterm=""))  # fmt: skip
    more = [f"... and {len(lines) - LONGEST} lines more"] if len(lines) > LONGEST else []
    return lines[:LONGEST] + more


def _plans(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    out = []
    for name in dict.fromkeys([*old, *new]):
        was, now = old.get(name), new.get(name)
        if name == "factors":
            out += list(_factors(was or [], now or []))
        elif name == "notes" or name in TARGETS:
            continue
        elif name == "draws":
            out += [f"draws: {was}, now {now}; they may only grow"] if (now or 0) < (was or 0) else []
        elif not _same(was, now) and not (name == "table" and _longer(was, now)):
            out.append(f"{name}: {_brief(was)}, now {_brief(now)}")
    return out


def _factors(old: Sequence[Mapping[str, Any]], new: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    names = [[f["name"] for f in fs] for fs in (old, new)]
    if names[0] != names[1]:
        yield f"factors: {', '.join(names[0]) or 'none'}, now {', '.join(names[1]) or 'none'}"
        return
    for was, now in zip(old, new, strict=True):
        for name in dict.fromkeys([*was, *now]):
            one, two = was.get(name), now.get(name)
            grown = name == "grid" and one and two and _within(one, two)
            if not grown and not _same(one, two):
                yield f'factor "{was["name"]}", {name}: {_brief(one)}, now {_brief(two)}'


def _within(old: Sequence[float], new: Sequence[float]) -> bool:
    """Whether ``new`` has every value of ``old`` in the same order."""
    rest = iter(new)
    return all(v in rest for v in old)


def _longer(old: Any, new: Any) -> bool:
    """Whether a table of cases only got more rows."""
    if not isinstance(old, dict) or not isinstance(new, dict) or list(old) != list(new):
        return False
    return all(new[n][: len(values)] == values for n, values in old.items())


def _same(one: Any, two: Any) -> bool:
    return json.dumps(one, sort_keys=True) == json.dumps(two, sort_keys=True)


def _brief(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 200 else f"{text[:197]}..."


def _refusal(folder: Path, differ: Sequence[str]) -> str:
    return "\n".join(
        [f"{folder}: holds the sweep of something else; all it can get are more draws, grid values and other targets.  "
         "What differs:",
         *(f"  {line}" for line in differ), "Undo the change, or give another --out."]
    )  # fmt: skip
