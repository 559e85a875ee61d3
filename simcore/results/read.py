"""Open a result file as a result set; traces are loaded when they are asked for."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Iterator, Mapping
from typing import Any, NoReturn, TypeVar

import numpy as np

from simcore.errors import ResultError
from simcore.results import files
from simcore.results.layout import FORCE, FORMAT, FORMAT_NUMBER, TORQUE, Array
from simcore.results.model import (
    Answer,
    Connection,
    Default,
    Event,
    HandBound,
    LeftBehind,
    Margin,
    OwnState,
    Remark,
    ResultSet,
    Run,
)
from simcore.results.tables import MARGINS
from simcore.results.traces import group_path, left_variable, own_variable

T = TypeVar("T")


def open_result(path: str | os.PathLike[str]) -> ResultSet:
    """The result set stored at ``path``, or in the folder of a run; ``runs`` loads each run when first asked for.

    Raises ResultError in a plain sentence: absent, no run's folder, damaged, another format, a newer format.
    """
    f = files.opened(path)
    try:
        _check_format(f, path)
        return _Reader(f, os.fspath(path)).result()
    except ResultError:
        raise
    except Exception as e:  # h5py raises many kinds for a damaged file
        _damaged(path, e)


def _damaged(path: Any, cause: Exception) -> NoReturn:
    raise ResultError(f"{path}: is damaged, a part of it cannot be read") from cause


def _check_format(f: Any, path: Any) -> None:
    if _attr(f, "format", "") != FORMAT:
        raise ResultError(f"{path}: is an HDF5 file, but not a result of simcore")
    number = int(np.ravel(_attr(f, "format_number", 0))[0])
    if number > FORMAT_NUMBER:
        raise ResultError(
            f"{path}: has format number {number}, this simcore reads up to {FORMAT_NUMBER}; a newer simcore is needed"
        )


class Runs(Mapping[tuple[str, str], Run]):
    """The runs of a file by candidate and situation, each loaded when first asked for."""

    def __init__(self, reader: _Reader, keys: list[tuple[str, str]]) -> None:
        self._reader = reader
        self._runs: dict[tuple[str, str], Run | None] = dict.fromkeys(keys)

    def __getitem__(self, key: tuple[str, str]) -> Run:
        run = self._runs[key]
        if run is None:
            run = self._runs[key] = self._reader.run(*key)
        return run

    def __iter__(self) -> Iterator[tuple[str, str]]:
        return iter(self._runs)

    def __len__(self) -> int:
        return len(self._runs)

    def __repr__(self) -> str:
        loaded = sum(r is not None for r in self._runs.values())
        return f"<{len(self)} runs, {loaded} loaded>"

    def __reduce__(self) -> tuple[type[dict[Any, Any]], tuple[dict[tuple[str, str], Run]]]:
        return dict, (dict(self),)


class _Reader:
    """Reads parts of one open file; what an older file lacks gets an empty value."""

    def __init__(self, f: Any, path: str) -> None:
        self.f = f
        self.path = path
        self._tables: dict[str, dict[str, Array]] = {}

    def table(self, group: str) -> dict[str, Array]:
        """All variables of a group, by their true names; texts as objects."""
        if group not in self._tables:
            g = self.f.get(group, {})
            self._tables[group] = {str(_attr(d, "name", n)): _values(d) for n, d in g.items() if _is_variable(d)}
        return self._tables[group]

    def result(self) -> ResultSet:
        a, i = self.f.attrs, self.table("/inputs")
        return ResultSet(
            title=_word(a.get("title", "")), protect=_word(a.get("protect", "")),
            unit=_word(a.get("display_unit", "N*m")),
            allowable=float(self.table("/answers").get("allowable", np.nan)), runs=Runs(self, self.keys()),
            answers=self.answers(), sentence=_word(a.get("sentence", "")),
            warnings=tuple(i.get("warning", ())),
            remarks=tuple(Remark(*r) for r in zip(i.get("remark_label", ()), i.get("remark", ()), strict=True)),
            defaults=_rows(Default, i, {"path": "default", "text": "default_value", "usual": "default_usual",
                                        "source": "default_source", "swing": "default_swing"}),
            bounds=_rows(HandBound, i, {"situation": "bound_situation", "what": "bound_what",
                                        "estimate": "bound_estimate", "bound": "bound_limit",
                                        "value": "bound_value"}),
            inertias=dict(zip(i.get("contributor", ()), map(float, i.get("inertia", ())), strict=True)),
            findings={k: float(v) for k, v in self.table("/findings").items()},
            provenance=json.loads(str(i.get("provenance", "{}"))),
            scenario_text=str(i.get("scenario_text", "")),
        )  # fmt: skip

    def keys(self) -> list[tuple[str, str]]:
        """Candidate and situation of every run, in the order they were written."""
        groups = (g for c in self.f.get("/runs", {}).values() for g in c.values())
        return [(_word(g.attrs["candidate"]), _word(g.attrs["situation"])) for g in groups]

    def answers(self) -> tuple[Answer, ...]:
        t = self.table("/answers")
        count = len(t.get("candidate", ()))
        return tuple(Answer(**self._answer(t, i)) for i in range(count))

    def _answer(self, t: Mapping[str, Array], i: int) -> dict[str, Any]:
        out: dict[str, Any] = {}
        for name, f in Answer.__dataclass_fields__.items():
            source = "candidate" if name == "name" else name
            out[name] = _typed(t[source][i] if source in t else None, str(f.type))
        return {**out, "margins": self._margins(t, i)}

    def _margins(self, t: Mapping[str, Array], i: int) -> tuple[Margin, ...]:
        kinds = {f: _name(k) for f, k in Margin.__annotations__.items()}
        out = []
        for j, situation in enumerate(t.get("situation", ())):
            if "expected" in t and t["expected"][i, j]:
                cells = {f: _typed(t[name][i, j], kinds[f]) for f, (name, _, _) in MARGINS.items()}
                out.append(Margin(situation=situation, **cells))
        return tuple(out)

    def run(self, candidate: str, situation: str) -> Run:
        try:
            return self._run(candidate, situation)
        except ResultError:
            raise
        except Exception as e:  # h5py raises many kinds for a damaged file
            _damaged(self.path, e)

    def _run(self, candidate: str, situation: str) -> Run:
        path = group_path(candidate, situation)
        g, t = self.f[path], self._traces(path)
        names = list(t["connection"])
        units = tuple(_names(g, "node_units"))
        own = self._connections_of(names, candidate, situation)
        turning = own["unit"] != FORCE
        spinning = np.array([u != "m" for u in units], dtype=bool)
        hubs = [_double(t["speed_driving_hub"]), _double(t["speed_driven_hub"])]
        switches = (t["switch_time"].tolist(), t["switch_who"], t["switch_old"], t["switch_new"])
        return Run(
            candidate=candidate, situation=situation,
            event=_word(g.attrs["event"]), expect=_word(g.attrs["expect"]),
            connections=_connections(names, own, turning), nodes=tuple(t["node"]), node_units=units,
            time=t["time"], angle=_joined(t, "angle", "position", spinning),
            speed=_joined(t, "speed", "velocity", spinning), torque=_joined(t, "torque", "force", turning),
            mode=t["mode"].astype(np.int64), heat=_double(t["heat"]), twist=_double(t["twist"]),
            slip=_double(t["slip"]), hub_speed=np.column_stack(hubs), events=tuple(map(Event, *switches)),
            peak=_either(own, "peak", turning), peak_time=own["peak_time"],
            first_peak=_either(own, "first_peak", turning), lost=own["lost"],
            own=self._own(g, t), left_behind=self._left(g, t), **self._scalars(g, candidate, situation),
        )  # fmt: skip

    def _own(self, g: Any, t: Mapping[str, Array]) -> tuple[OwnState, ...]:
        """Temperatures and used-up life of the protection."""
        stored = ((name, own_variable(name)) for name in _names(g, "own_states"))
        return tuple(OwnState(name, _word(g[v].attrs["units"]), _double(t[v])) for name, v in stored if v in t)

    def _left(self, g: Any, t: Mapping[str, Array]) -> tuple[LeftBehind, ...]:
        """What the protection leaves behind."""
        stored = ((name, left_variable(name)) for name in _names(g, "left_behind"))
        return tuple(LeftBehind(name, _word(g[v].attrs["units"]), float(t[v]), _word(g[v].attrs["long_name"]))
                     for name, v in stored if v in t)  # fmt: skip

    def _scalars(self, g: Any, candidate: str, situation: str) -> dict[str, Any]:
        counts = self._numbers("/counts", _names(g, "counts"), candidate, situation)
        return {
            "measures": self._measures(g, "measures", 1, candidate, situation),
            "ledger": self._numbers("/ledger", _names(g, "ledger"), candidate, situation),
            "counts": {name: int(v) for name, v in counts.items()},
            "high": self._measures(g, "measures_high", 2, candidate, situation),
            "low": self._measures(g, "measures_low", 0, candidate, situation),
        }

    def _connections_of(self, names: list[str], candidate: str, situation: str) -> dict[str, Array]:
        """Rows of the table of connections that belong to one run."""
        all_names = list(self.table("/connections")["connection"])
        columns = [all_names.index(n) for n in names]
        return {n: v[columns] for n, v in self._at("/connections", candidate, situation).items()}

    def _traces(self, path: str) -> dict[str, Array]:
        return {n: _values(d) for n, d in self.f[path].items() if _is_variable(d)}

    def _at(self, group: str, candidate: str, situation: str) -> dict[str, Any]:
        """What a table over candidate and situation says of one run."""
        t = self.table(group)
        at = (list(t["candidate"]).index(candidate), list(t["situation"]).index(situation))
        return {n: v[at] for n, v in t.items() if v.ndim >= 2}

    def _measures(self, g: Any, key: str, band: int, candidate: str, situation: str) -> dict[str, float]:
        names = _names(g, key)
        t = self._at("/measures", candidate, situation) if names else {}
        return {n: float(t[n][band]) for n in names if n in t}

    def _numbers(self, group: str, names: list[str], candidate: str, situation: str) -> dict[str, float]:
        t = self._at(group, candidate, situation) if names else {}
        return {n: t[n].item() for n in names if n in t}


def _connections(names: list[str], own: Mapping[str, Array], turning: Array) -> tuple[Connection, ...]:
    limit = _either(own, "allowable", turning)
    return tuple(
        Connection(n, own["part"][i], own["unit"][i] or TORQUE, float(limit[i]), own["allowable_source"][i],
                   _split(own["modes"][i]), _split(own["classes"][i]), own["role"][i])
        for i, n in enumerate(names)
    )  # fmt: skip


def _either(own: Mapping[str, Array], name: str, turning: Array) -> Array:
    return np.where(turning, own[f"{name}_torque"], own[f"{name}_force"])


def _joined(t: Mapping[str, Array], turning: str, travelling: str, turns: Array) -> Array:
    """One array of the columns that turn and those that travel, in double precision."""
    if turning not in t or travelling not in t:
        return _double(t[turning] if turning in t else t[travelling])
    return np.where(turns, _double(t[turning]), _double(t[travelling]))


def _double(values: Array) -> Array:
    return values.astype(np.float64)


def _rows(row: type[T], table: Mapping[str, Array], columns: Mapping[str, str]) -> tuple[T, ...]:
    """Named tuples of ``row`` from the columns of a table."""
    count = len(table.get(next(iter(columns.values())), ()))
    kinds = {f: _name(k) for f, k in row.__annotations__.items()}
    return tuple(
        row(**{f: _typed(table[c][i] if c in table else None, kinds[f]) for f, c in columns.items()})
        for i in range(count)
    )


def _typed(value: Any, kind: str) -> Any:
    """A stored cell as the type of its field; an empty one where the file has none."""
    if kind == "str":
        return "" if value is None else str(value)
    if kind == "bool":
        return bool(value)
    if kind == "int":
        return 0 if value is None else int(value)
    if kind == "float":
        return math.nan if value is None else float(value)
    return _split(value or "")


def _split(text: str) -> tuple[str, ...]:
    return tuple(text.split("\n")) if text else ()


def _name(kind: Any) -> str:
    return str(getattr(kind, "__forward_arg__", kind))


def _is_variable(d: Any) -> bool:
    """Not a group, and not the mere length of a dimension."""
    return hasattr(d, "shape") and "units" in d.attrs


def _values(d: Any) -> Array:
    """All values; texts as an object array of str."""
    import h5py

    if h5py.check_string_dtype(d.dtype) is None:
        return np.asarray(d[()])
    return np.asarray(d.asstr()[()], dtype=object)


def _attr(d: Any, name: str, missing: Any) -> Any:
    value = d.attrs.get(name, missing)
    return _word(value) if isinstance(value, bytes) else value


def _names(g: Any, key: str) -> list[str]:
    return [_word(v) for v in np.atleast_1d(g.attrs.get(key, np.array([], dtype=object)))]


def _word(value: Any) -> str:
    return value.decode("utf-8") if isinstance(value, bytes) else str(value)
