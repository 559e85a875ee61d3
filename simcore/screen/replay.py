"""The screen of a replayed case: which one, its numbers, what came of it, whether it is the same."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

from simcore import units
from simcore.results.layout import measure_unit
from simcore.screen.first import CAUTION, NARROWEST, WIDEST
from simcore.screen.table import Column, table
from simcore.screen.words import Line, Word, paragraph, wrap
from simcore.solver.arrays import MESSAGES, Status
from simcore.sweep.pick import lengths
from simcore.sweep.replay import Replay
from simcore.sweep.result import SweepResult
from simcore.sweep.sheet import OWN

DIGITS = 5


def replay_screen(result: SweepResult, found: Replay, columns: int = WIDEST, files: Sequence[str] = ()) -> list[Line]:
    """Lines of at most ``columns`` (40 to 100)."""
    wide = min(WIDEST, max(NARROWEST, columns))
    case, counts = found.case, lengths(result)
    out: list[Line] = [[Word(t, "head")] for t in wrap(result.title, wide)]
    what = (f"{case.number(result)}: {found.candidate}, cell {case.cell} of 0 to {counts[1] - 1}, draw {case.draw} "
            f"of 0 to {counts[2] - 1}")  # fmt: skip
    out += paragraph("Case", what, wide)
    same = "bad" if found.apart else "good"
    out += paragraph("Check", checked(result, found), wide, same)
    for n, text in enumerate(found.versions):
        out += paragraph("Versions" if n == 0 else "", text, wide, "mind")
    out += [[], *table(_numbers(found), wide), [], *table(_measures(result, found), wide), []]
    for n, (_, j, text) in enumerate(found.block.faults):
        out += paragraph("Failed" if n == 0 else "", f"{result.situations[j]}: {text}", wide, "bad")
    if found.note:
        out += paragraph("Mind", found.note, wide, "mind")
    for n, text in enumerate(files):
        out += paragraph("Files" if n == 0 else "", text, wide)
    return [*out, *paragraph("Caution", CAUTION, wide, "mind")]


def checked(result: SweepResult, found: Replay) -> str:
    """Whether the case is what the sweep stored, in a sentence."""
    if found.apart:
        more = f"; and {len(found.apart) - 1} more" if len(found.apart) > 1 else ""
        return f"not what the sweep stored: {found.apart[0]}{more}."
    return f"all measures of {len(result.situations)} situations are those of the sweep, to the last bit."


def _numbers(found: Replay) -> list[Column]:
    """Factors with their values, then the inputs they make."""
    rows = [(n, _factor(v, kind)) for n, (v, kind) in found.factors.items()]
    rows += [(p, _shown(found.changes[p])) for p in found.inputs]
    return [Column(("factor or input", ""), [Word(n) for n, _ in rows], False, 60),
            Column(("value", ""), [Word(v) for _, v in rows], False, 30)]  # fmt: skip


def _factor(value: float, kind: str) -> str:
    if kind in ("", "ratio"):
        return f"x {units.plain(value, DIGITS)}"
    return units.show(value, kind, units.units_of(kind)[0], DIGITS)


def _shown(text: str) -> str:
    number, _, unit = text.partition(" ")
    return f"{units.plain(float(number), DIGITS)} {unit}".strip()


def _measures(result: SweepResult, found: Replay) -> list[Column]:
    block = found.block
    names = [n for n, v in block.measures.items() if not all(isnan(x) for x in v[0])]
    heads = [Word("ended")] + [Word(f"{n} [{_unit(n)}]" if _unit(n) != "1" else n) for n in names]
    out = [Column(("measure", ""), heads, False, 26)]
    for j, situation in enumerate(result.situations):
        status = int(block.status[0, j])
        ended = (
            "well"
            if status <= Status.STOPPED
            else MESSAGES.get(Status(status), "")
            if _is(status)
            else "not put together"
        )
        cells = [Word(ended, "" if status <= Status.STOPPED else "bad")]
        cells += [Word(_value(float(block.measures[n][0, j]))) for n in names]
        out.append(Column((situation, result.expects[j]), cells))
    return out


def _is(status: int) -> bool:
    return status in set(Status)


def _value(x: float) -> str:
    return "-" if isnan(x) else units.plain(x, DIGITS)


def _unit(name: str) -> str:
    unit = OWN[name][0] if name in OWN else measure_unit(name)[0]
    return unit.replace(" ", "*")
