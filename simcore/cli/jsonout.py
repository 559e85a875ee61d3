"""A result as JSON: every number with its unit, all digits, and a format number."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite, isinf
from typing import Any, Final

from simcore.results.compare import Comparison
from simcore.results.model import Answer, Margin, ResultSet, Run
from simcore.results.tables import MARGINS, answer_unit, finding_unit, ledger_unit, protected_unit

FORMAT: Final = "simcore run"
FORMAT_NUMBER: Final = 1
"""Goes up when a reader of the old form would be misled."""


def document(result: ResultSet) -> dict[str, Any]:
    """The whole document; SI numbers as ``{"value": ..., "unit": ...}``, null where there is none."""
    unit = protected_unit(result)
    rank = sorted(result.answers, key=lambda a: a.rank)
    return {
        "format": FORMAT,
        "format_number": FORMAT_NUMBER,
        "title": result.title,
        "verdict": result.sentence,
        "protect": result.protect,
        "allowable": number(result.allowable, unit),
        "display_torque": result.unit,
        "candidates": [_answer(a, unit) for a in rank],
        "runs": [_run(r, unit) for r in result.runs.values()],
        "warnings": list(result.warnings),
        "remarks": _by_label(result),
        "defaults": [{**d._asdict(), "swing": number(d.swing, "1")} for d in result.defaults],
        "hand_bounds": [
            {"situation": b.situation, "what": b.what, "estimate": number(b.estimate, unit),
             "bound": number(b.bound, unit), "run": number(b.value, unit)}
            for b in result.bounds
        ],
        "inertias": {n: number(j, "kg" if unit == "N" else "kg m^2") for n, j in result.inertias.items()},
        "findings": {n: number(v, finding_unit(n, unit)) for n, v in result.findings.items()},
        "provenance": {**_bare(result.provenance), "files": list(result.provenance.get("files", ()))},
        "caution": _caution(),
    }  # fmt: skip


def comparison(c: Comparison) -> dict[str, Any]:
    """What differs between two results; a number with its unit, ``relative`` null where that has no meaning."""

    def told(value: float | str, unit: str) -> Any:
        return value if isinstance(value, str) else number(value, unit)

    return {
        "format": "simcore comparison",
        "format_number": FORMAT_NUMBER,
        "titles": list(c.titles),
        "verdicts": [r.sentence for r in c.results],
        "inputs": [i._asdict() for i in c.inputs],
        "only_in_first": list(c.candidates[0]),
        "only_in_second": list(c.candidates[1]),
        "answers": [
            {"candidate": m.candidate, "what": m.what, "before": told(m.before, m.unit),
             "after": told(m.after, m.unit), "relative": number(m.relative, "1")}
            for m in c.answers
        ],
    }  # fmt: skip


def number(value: float, unit: str) -> dict[str, Any]:
    """A number with its unit; null if there is none, the word "infinite" if it has no end."""
    shown: Any = value if isfinite(value) else "infinite" if isinf(value) else None
    return {"value": shown, "unit": unit}


def _by_label(result: ResultSet) -> dict[str, str]:
    """Remarks by their label, those with the same one after another."""
    out: dict[str, str] = {}
    for r in result.remarks:
        out[r.label] = f"{out[r.label]} {r.text}" if r.label in out else r.text
    return out


def _answer(a: Answer, protected: str) -> dict[str, Any]:
    out: dict[str, Any] = {"name": a.name}
    for field in Answer.__dataclass_fields__:
        value = getattr(a, field)
        if field == "margins":
            out["service"] = [_margin(m) for m in a.margins]
        elif field != "name":
            out[field] = number(value, answer_unit(field, protected)[0]) if isinstance(value, float) else _bare(value)
    return out


def _margin(m: Margin) -> dict[str, Any]:
    out: dict[str, Any] = {"situation": m.situation}
    for field, (_, unit, _) in MARGINS.items():
        value = getattr(m, field)
        out[field] = number(value, unit) if isinstance(value, float) else value
    return out


def _run(r: Run, protected: str) -> dict[str, Any]:
    return {
        "candidate": r.candidate,
        "situation": r.situation,
        "event": r.event,
        "expect": r.expect,
        "measures": _measures(r.measures, protected),
        "measures_low": _measures(r.low, protected),
        "measures_high": _measures(r.high, protected),
        "connections": [
            {"name": c.name, "part": c.part, "peak": number(float(r.peak[i]), c.unit),
             "peak_time": number(float(r.peak_time[i]), "s"), "allowable": number(c.allowable, c.unit)}
            for i, c in enumerate(r.connections)
        ],
        "left_behind": {x.name: number(x.value, x.unit) for x in r.left_behind},
        "ledger": {n: number(v, ledger_unit(n)) for n, v in r.ledger.items()},
        "counts": dict(r.counts),
    }  # fmt: skip


def _measures(measures: Mapping[str, float], protected: str) -> dict[str, Any]:
    return {n: number(v, _unit(n, protected)) for n, v in measures.items()}


def _unit(name: str, protected: str) -> str:
    from simcore.results.layout import measure_unit

    return measure_unit(name, protected)[0]


def _bare(value: Any) -> Any:
    """Plain data that JSON can hold."""
    if isinstance(value, Mapping):
        return {str(k): _bare(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_bare(v) for v in value]
    if isinstance(value, float):
        return value if isfinite(value) else None
    return value if isinstance(value, str | int | bool) or value is None else str(value)


def _caution() -> str:
    from simcore.screen.first import CAUTION

    return CAUTION
