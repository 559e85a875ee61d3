"""The groups that hold one number per run or per candidate: answers, measures, connections, inputs."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any, Final

import numpy as np

from simcore.inertia_words import VARIES
from simcore.results.layout import (
    FORCE,
    TORQUE,
    Array,
    Group,
    Variable,
    clean,
    distinct,
    measure_unit,
    slug,
    texts,
    union,
    words,
)
from simcore.results.model import Answer, ResultSet, Run

CS: Final = ("candidate", "situation")
CSC: Final = (*CS, "connection")
BANDS: Final = ("low", "nominal", "high")

PROTECTED: Final = "(protected)"
ANSWERS: Final[dict[str, tuple[str, str]]] = {
    "part": ("1", "kind of part"),
    "slot": ("1", "slot it stands in"),
    "setting": (TORQUE, "setting at its own shaft"),
    "tolerance": ("1", "half width of the setting's band over the setting"),
    "breakaway": (TORQUE, "breakaway torque at its own shaft"),
    "to_protected": ("1", "torque at the protected connection per torque at the protection"),
    "crash": ("1", "situation judged as the crash"),
    "disconnects": ("1", "disconnects, in words"),
    "peak": (PROTECTED, "peak in the crash at the protected connection"),
    "use": ("1", "largest peak over its allowable, worst end of the band"),
    "worst_limit": ("1", "limit with the largest use"),
    "worst_situation": ("1", "situation with the largest use"),
    "until": ("1", "end of the let-through interval"),
    "rise_limit": ("K", "allowable temperature rise"),
    "tally_name": ("1", "what the tally counts"),
    "passed": ("1", "every expectation met, every limit kept"),
    "reasons": ("1", "why it failed, one reason a line"),
    "again": ("1", "what the line needs to run again"),
    "again_seconds": ("s", "stated or estimated time to run again"),
    "phase_kept": ("1", "whether the two sides keep their phase: yes, no, by hand (as they are put)"),
    "rank": ("1", "rank, 1 is best"),
}
"""Unit and long name of the fields of an answer that are no measure of :mod:`simcore.definitions`."""

MARGINS: Final[dict[str, tuple[str, str, str]]] = {
    "expect": ("expected", "1", "what the situation expects; empty where it has no margin"),
    "met": ("met", "1", "expectation met"),
    "asks": ("asks", TORQUE, "smallest setting that meets the situation, at the protection's own shaft"),
    "holds": ("holds", TORQUE, "setting at the low end of its band"),
    "margin": ("margin", TORQUE, "service margin, holds minus asks"),
    "percent": ("margin_percent", "%", "service margin over what is asked"),
    "note": ("margin_note", "1", "remark on the margin"),
}
"""Field of a margin: variable, unit, long name."""


def protected_unit(result: ResultSet) -> str:
    """'N m' or 'N' at the protected connection."""
    for run in result.runs.values():
        for c in run.connections:
            if c.name == result.protect:
                return c.unit
    return TORQUE


def answer_unit(name: str, protected: str) -> tuple[str, str]:
    """Unit and long name of a field of an answer."""
    unit, long_name = ANSWERS.get(name) or measure_unit(name, protected)
    return (protected if unit == PROTECTED else unit), long_name


def finding_unit(name: str, protected: str) -> str:
    """Unit of a finding: inertias are those at a protection's own shaft, or at the protected connection."""
    if name.startswith(f"{VARIES} '") and protected == FORCE:
        return "kg"
    return "kg m^2" if name.startswith("inertia ") else "rad/s" if name == "lowest mode" else "1"


def ledger_unit(name: str) -> str:
    """Unit of an entry of the ledger: energies, their residual also relative, and cycles."""
    return "1" if name.startswith("relative") or "cycle" in name else "J"


def answers_group(result: ResultSet) -> Group:
    """The verdicts, and the margins of each situation."""
    protected = protected_unit(result)
    names = [a.name for a in result.answers]
    situations = union([result.situations, *([m.situation for m in a.margins] for a in result.answers)])
    variables = [_labels("candidate", names, "candidate"), _labels("situation", situations, "situation")]
    for name in Answer.__dataclass_fields__:
        if name not in ("name", "margins"):
            unit, long_name = answer_unit(name, protected)
            values = [getattr(a, name) for a in result.answers]
            variables.append(column(name, ("candidate",), values, unit, long_name))
    variables += _margins(result, situations)
    limit = np.float64(result.allowable)
    variables.append(Variable("allowable", (), np.asarray(limit), protected, f"allowable at {result.protect}"))
    return Group("/answers", {}, tuple(variables))


def _margins(result: ResultSet, situations: list[str]) -> list[Variable]:
    shape = (len(result.answers), len(situations))
    data: dict[str, Array] = {f: np.full(shape, np.nan) for f in ("asks", "holds", "margin", "percent")}
    data |= {"met": np.zeros(shape, dtype=bool)}
    data |= {f: texts([""] * (shape[0] * shape[1])).reshape(shape) for f in ("expect", "note")}
    for i, a in enumerate(result.answers):
        for m in a.margins:
            for f in MARGINS:
                value = getattr(m, f)
                data[f][i, situations.index(m.situation)] = clean(value) if isinstance(value, str) else value
    return [column(MARGINS[f][0], CS, data[f], *MARGINS[f][1:]) for f in MARGINS]


def column(name: str, dims: tuple[str, ...], values: Any, unit: str, long_name: str) -> Variable:
    """A variable from numbers, truth values, texts or lists of texts (one a line)."""
    array = np.asarray([_line(v) for v in values], dtype=object) if isinstance(values, list) else values
    kinds = {type(v) for v in array.ravel()}
    if array.dtype == bool or (kinds and kinds <= {bool, np.bool_}):
        return Variable(name, dims, array.astype(np.int8), unit, long_name, {"dtype": "bool"})
    if any(isinstance(v, str) for v in array.ravel()):
        return Variable(name, dims, texts(array.ravel()).reshape(array.shape), unit, long_name)
    integers = kinds and all(issubclass(k, int | np.integer) for k in kinds)
    return Variable(name, dims, array.astype(np.int64 if integers else np.float64), unit, long_name)


def _line(value: Any) -> Any:
    return "\n".join(value) if isinstance(value, tuple) else value


def _labels(name: str, values: Iterable[str], long_name: str) -> Variable:
    return words(name, (name,), values, long_name)


def _run_labels(result: ResultSet) -> tuple[list[str], list[str]]:
    return union([[c for c, _ in result.runs]]), list(result.situations)


def _per_run(result: ResultSet, names: list[str], pick: Any, missing: Any) -> dict[str, Array]:
    """For each name an array (candidate, situation) of ``pick(run).get(name)``."""
    cs, ss = _run_labels(result)
    out = {n: np.full((len(cs), len(ss)), missing) for n in names}
    for (c, s), run in result.runs.items():
        values = pick(run)
        for n in names:
            if n in values:
                out[n][cs.index(c), ss.index(s)] = values[n]
    return out


def measures_group(result: ResultSet) -> Group:
    """Every measure over candidate, situation and end of the setting's band."""
    cs, ss = _run_labels(result)
    runs = list(result.runs.values())
    names = union(list(m) for r in runs for m in (r.measures, r.high, r.low))
    picks = (lambda r: r.low, lambda r: r.measures, lambda r: r.high)
    bands = [_per_run(result, names, pick, np.nan) for pick in picks]
    protected = protected_unit(result)
    variables = [_labels("candidate", cs, "candidate"), _labels("situation", ss, "situation"),
                 _labels("band", BANDS, "end of the setting's band")]  # fmt: skip
    for n in names:
        unit, long_name = measure_unit(n, protected)
        data = np.stack([b[n] for b in bands], axis=-1)
        variables.append(Variable(slug(n), (*CS, "band"), data, unit, long_name, _true_name(n)))
    return Group("/measures", {}, tuple(variables))


def ledger_group(result: ResultSet) -> Group:
    """Energy ledger of every run [J], its residual also relative."""
    names = union(list(r.ledger) for r in result.runs.values())
    table = _per_run(result, names, lambda r: r.ledger, np.nan)
    unit = {n: ledger_unit(n) for n in names}
    return _run_table("/ledger", result, table, unit, "energy ledger from the event to the end: {}")


def counts_group(result: ResultSet) -> Group:
    """What the solver counted in every run."""
    names = union(list(r.counts) for r in result.runs.values())
    table = _per_run(result, names, lambda r: r.counts, np.int64(-1))
    return _run_table("/counts", result, table, dict.fromkeys(names, "1"), "solver's count: {}; -1 not counted")


def _run_table(
    path: str, result: ResultSet, table: Mapping[str, Array], unit: Mapping[str, str], long_name: str
) -> Group:
    cs, ss = _run_labels(result)
    variables = [_labels("candidate", cs, "candidate"), _labels("situation", ss, "situation")]
    for n, data in table.items():
        text = long_name.format(n.replace("_", " "))
        variables.append(Variable(slug(n), CS, data, unit[n], text, _true_name(n)))
    return Group(path, {}, tuple(variables))


def _true_name(name: str) -> dict[str, str]:
    return {} if slug(name) == name else {"name": name}


PER_CONNECTION: Final[dict[str, tuple[str, str]]] = {
    "peak_time": ("s", "instant of the peak"),
    "lost": ("J", "energy lost there from the event to the end"),
    "peak_torque": (TORQUE, "peak torque; NaN where it travels"),
    "peak_force": (FORCE, "peak force; NaN where it turns"),
    "first_peak_torque": (TORQUE, "first-impact peak torque; NaN where it travels"),
    "first_peak_force": (FORCE, "first-impact peak force; NaN where it turns"),
    "allowable_torque": (TORQUE, "allowable torque, NaN if none is stated"),
    "allowable_force": (FORCE, "allowable force, NaN if none is stated"),
    "unit": ("1", "unit at the connection"),
    "part": ("1", "kind of part"),
    "allowable_source": ("1", "where the allowable comes from"),
    "role": ("1", "line, candidate or event"),
    "modes": ("1", "names of its modes, one a line, the first is number 0"),
    "classes": ("1", "classes of these modes, one a line"),
}


def connections_group(result: ResultSet) -> Group:
    """Peaks, limits and kinds over candidate, situation and connection; empty where a run has no such one."""
    cs, ss = _run_labels(result)
    names = union(distinct(c.name for c in r.connections) for r in result.runs.values())
    shape = (len(cs), len(ss), len(names))
    blank = texts([""] * int(np.prod(shape))).reshape(shape)
    text = ("unit", "part", "allowable_source", "role", "modes", "classes")
    data = {n: blank.copy() if n in text else np.full(shape, np.nan) for n in PER_CONNECTION}
    for (c, s), run in result.runs.items():
        own = distinct(x.name for x in run.connections)
        at = (cs.index(c), ss.index(s), [names.index(n) for n in own])
        for n, values in _rows_of(run).items():
            data[n][at] = values
    variables = [_labels("candidate", cs, "candidate"), _labels("situation", ss, "situation"),
                 _labels("connection", names, "place where torque or force is counted")]  # fmt: skip
    variables += [Variable(n, CSC, data[n], *PER_CONNECTION[n]) for n in PER_CONNECTION]
    return Group("/connections", {}, tuple(variables))


def _rows_of(run: Run) -> dict[str, Array]:
    cs = run.connections
    turns = np.array([c.unit != FORCE for c in cs], dtype=bool)
    out = {"peak_time": run.peak_time, "lost": run.lost}
    limits = np.array([c.allowable for c in cs], dtype=float)
    for name, values in (("peak", run.peak), ("first_peak", run.first_peak), ("allowable", limits)):
        out[f"{name}_torque"] = np.where(turns, values, np.nan)
        out[f"{name}_force"] = np.where(turns, np.nan, values)
    out |= {"unit": texts(c.unit for c in cs), "part": texts(c.part for c in cs)}
    out |= {"allowable_source": texts(c.source for c in cs), "role": texts(c.role for c in cs)}
    return out | {
        "modes": texts("\n".join(c.modes) for c in cs),
        "classes": texts("\n".join(c.classes) for c in cs),
    }


def inputs_group(result: ResultSet) -> Group:
    """The scenario's text, defaults, inertias, hand bounds, warnings, provenance as JSON."""
    d, b, unit = result.defaults, result.bounds, protected_unit(result)
    variables = [
        words("scenario_text", (), [result.scenario_text], "scenario as read"),
        words("provenance", (), [json.dumps(plain(result.provenance))], "provenance as JSON, values in SI"),
        words("warning", ("warning",), result.warnings, "warnings"),
        words("remark_label", ("remark",), (x.label for x in result.remarks), "heading of the remark"),
        words("remark", ("remark",), (x.text for x in result.remarks), "what happens after the protection let go"),
        words("contributor", ("contributor",), result.inertias, "contributor to the inertia"),
        Variable("inertia", ("contributor",), np.array([*result.inertias.values()], dtype=float),
                 "kg m^2" if unit == TORQUE else "kg", f"inertia reflected to {result.protect}"),
        words("default", ("default",), (x.path for x in d), "default that entered the answer"),
        words("default_value", ("default",), (x.text for x in d), "its value as written"),
        words("default_usual", ("default",), (x.usual for x in d), "usual range"),
        words("default_source", ("default",), (x.source for x in d), "where it comes from"),
        Variable("default_swing", ("default",), np.array([x.swing for x in d], dtype=float), "1",
                 "change of peak over allowable by its range"),
        words("bound_situation", ("hand",), (x.situation for x in b), "situation of the hand calculation"),
        words("bound_what", ("hand",), (x.what for x in b), "what is calculated by hand"),
        *(Variable(f"bound_{n}", ("hand",), np.array([getattr(x, f) for x in b], dtype=float), unit, text)
          for n, f, text in (("estimate", "estimate", "hand estimate"), ("limit", "bound", "hand bound"),
                             ("value", "value", "value of the run"))),
    ]  # fmt: skip
    return Group("/inputs", {}, tuple(variables))


def findings_group(result: ResultSet) -> Group:
    """What the run found out about itself: shifts of the peak, ledger, lowest mode."""
    protected = protected_unit(result)
    return Group("/findings", {}, tuple(
        Variable(slug(n), (), np.asarray(float(v)), finding_unit(n, protected), clean(n), {"name": clean(n)})
        for n, v in result.findings.items()
    ))  # fmt: skip


def plain(value: Any) -> Any:
    """What JSON can hold: mappings, lists, texts, numbers, None."""
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, np.ndarray | np.generic):
        return plain(value.tolist())
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(v) for v in value]
    return value if isinstance(value, str | int | float | bool | type(None)) else str(value)
