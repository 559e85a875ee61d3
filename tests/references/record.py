"""One vocabulary for a reference run and a run of the simulator: what happened, to whom, when."""

from __future__ import annotations

from typing import Any

from .engines import Run
from .protections import BallDetent, FrictionDisc, MagnetDisc, ShearPins

TOGETHER = 2e-9
"""Switches of one element within this time [s] count as one."""
DIED_AWAY = 0.01
"""A joint whose torque swings by less than this share of its peak has died away: its rattle is not compared."""
JOINTS = ("tight forward", "tight backward", "forward flank", "backward flank", "in the play")

Event = list[Any]


def merge(events: list[Event]) -> dict[str, list[Event]]:
    """By element: [instant, mode before, mode after], switches at one instant drawn together."""
    out: dict[str, list[Event]] = {}
    for t, who, old, new in events:
        mine = out.setdefault(who, [])
        if mine and t - mine[-1][0] < TOGETHER and mine[-1][2] == old:
            mine[-1][2] = new
            if mine[-1][1] == new:
                mine.pop()
        else:
            mine.append([t, old, new])
    return {k: v for k, v in out.items() if v}


def died_away(run: Run, who: str, events: list[Event]) -> int:
    """Number of leading switches of a joint after each of which it still carries a load worth the name."""
    names = [e.name for e in run.system.elements]
    if who not in names or not all(e[2] in JOINTS for e in events):
        return len(events)
    i = names.index(who)
    ends = [e[0] for e in events[1:]] + [run.t]
    for n, (e, end) in enumerate(zip(events, ends, strict=True)):
        swing = max((s[3] for s in run.swings if s[2] == i and e[0] <= s[0] and s[1] <= end), default=0.0)
        if swing < DIED_AWAY * run.peaks[i]:
            return n
    return len(events)


def instants(run: Run) -> dict[str, float | None]:
    """Trigger, letting go and disconnecting of the line's protection."""
    p = next(e for e in run.system.elements if isinstance(e, BallDetent | FrictionDisc | MagnetDisc | ShearPins))
    mine = [(t, c) for t, who, c in run.classes if who == p.name]
    out: dict[str, float | None] = {"trigger": None, "lets go": None, "disconnects": None}
    for n, (t, c) in enumerate(mine):
        end = mine[n + 1][0] if n + 1 < len(mine) else run.t
        if c != "engaged" and out["trigger"] is None:
            out["trigger"] = t
        if c in ("slipping", "open", "broken") and out["lets go"] is None:
            out["lets go"] = t
        quiet = c == "broken" or (c == "open" and p.drag <= 0.1 * max(p.t1, p.t2))
        if quiet and out["disconnects"] is None and (end - t >= 5e-3 or end == run.t):
            out["disconnects"] = t
    return out


def of_reference(run: Run) -> dict[str, Any]:
    """The stored form of a reference run."""
    s = run.system
    events = merge([list(e[:4]) for e in s.log])
    kept = {who: v[: died_away(run, who, v)] for who, v in events.items()}
    return {
        "events": kept,
        "died away": sorted(who for who in events if len(kept[who]) < len(events[who])),
        "peaks": {e.name: p for e, p in zip(s.elements, run.peaks, strict=True)},
        "instants": instants(run),
        "heat": {e.name: run.y[s.heat0 + i] + s.booked[i] for i, e in enumerate(s.elements)},
        "energy": {"start": run.e0, "end": s.energy(run.y), "from sources": run.y[s.work]},
        "tally": {e.name: e.tally for e in s.elements if e.tally},
    }


def of_simulator(assembly: Any, outcome: Any) -> dict[str, Any]:
    """The same of a run of the simulator."""
    from simcore.solver import arrays as ar

    names, graph, m = assembly.names, assembly.graph, outcome.meas
    nodes = {1: "runs forward", 0: "stands", -1: "runs backward"}
    events = []
    for t, who, which, old, new in outcome.events[:, :5]:
        w = int(who)
        if t < -TOGETHER or (which < 0 and old == new):
            continue
        if w >= len(names):
            who_name, words = "node " + graph.nodes[w - len(names)].name, nodes
        else:
            who_name = names[w]
            words = {j: mode.name for j, mode in enumerate(graph.elements[w].part.kind.modes)}
            words |= {j: "clear" for j, name in words.items() if name == "not there yet"}
            if graph.elements[w].part.kind.name == "start":
                continue
        events.append([float(t), who_name, words[int(old)], words[int(new)]])
    p = assembly.candidate
    columns = {"trigger": ar.TRIGGER, "lets go": ar.LETS_GO, "disconnects": ar.DISCONNECT}
    last = m[-1]
    return {
        "events": merge(events),
        "peaks": {n: float(m[i, ar.PEAK]) for i, n in enumerate(names)},
        "instants": {k: (None if m[p, c] != m[p, c] else float(m[p, c])) for k, c in columns.items()},
        "heat": {n: float(m[i, ar.HEAT_END] - m[i, ar.HEAT_0]) for i, n in enumerate(names)},
        "energy": {
            "start": float(last[ar.L_E0]), "end": float(last[ar.L_E1]),
            "from sources": float(last[ar.L_SOURCE1] - last[ar.L_SOURCE0]),
        },
        "tally": {names[p]: int(m[p, ar.TALLY])} if m[p, ar.TALLY] > 0 else {},
    }  # fmt: skip


def differences(ref: dict[str, Any], got: dict[str, Any]) -> dict[str, Any]:
    """Largest differences of ``got`` against ``ref``, and sentences on what happened otherwise.

    ``instant`` [s] over all events, ``peak`` relative, ``energy`` over the energy turned over.
    """
    other = []
    late, where = 0.0, ""
    for who, mine in ref["events"].items():
        theirs = got["events"].get(who, [])
        if who in ref["died away"]:
            theirs = theirs[: len(mine)]
        if [e[1:] for e in mine] != [e[1:] for e in theirs]:
            n = next((i for i, (a, b) in enumerate(zip(mine, theirs, strict=False)) if a[1:] != b[1:]),
                     min(len(mine), len(theirs)))  # fmt: skip
            other.append(f"{who}, switch {n}: {mine[n : n + 1]}, got {theirs[n : n + 1]}")
        for a, b in zip(mine, theirs, strict=False):
            if abs(a[0] - b[0]) > late:
                late, where = abs(a[0] - b[0]), f"{who} at {a[0]:.6f} s: {a[1]} to {a[2]}"
    other += [f"{who}: only one of the two switches" for who in set(got["events"]) - set(ref["events"])]
    for k, t in ref["instants"].items():
        g = got["instants"][k]
        if (t is None) != (g is None):
            other.append(f"{k}: {t}, got {g}")
        elif t is not None:
            late = max(late, abs(t - g))
    if ref["tally"] != got["tally"]:
        other.append(f"tally {ref['tally']}, got {got['tally']}")
    turned = ref["energy"]["start"] + ref["energy"]["from sources"]
    return {
        "other": other,
        "instant": late,
        "where": where,
        "peak": max(abs(got["peaks"][n] / p - 1.0) for n, p in ref["peaks"].items() if p > 0.0),
        "energy": max(
            *(abs(got["heat"][n] - h) for n, h in ref["heat"].items()),
            *(abs(got["energy"][n] - ref["energy"][n]) for n in ("start", "end")),
        ) / turned,
    }  # fmt: skip
