"""Cases that the solver gave up: what is left of them, and how it is told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import nan
from typing import Protocol

from simcore.errors import SolveError
from simcore.measures.cases import Case, bare_in, check_outcome
from simcore.measures.reason import LETS_GO_RUNNING
from simcore.results.model import BARE
from simcore.solver import arrays as ar
from simcore.solver.kernel import Outcome


class Tried(Protocol):
    """A case with the measures of its run as set and at both ends of the band, and the part that switched last."""

    @property
    def case(self) -> Case: ...

    @property
    def nominal(self) -> Mapping[str, float]: ...

    @property
    def low(self) -> Mapping[str, float]: ...

    @property
    def high(self) -> Mapping[str, float]: ...

    @property
    def last(self) -> str: ...


def status_of(out: Outcome, case: Case) -> int:
    """0 if the case was solved, else the status; InputError if the bare line has no steady running."""
    if case.candidate is None and out.status == ar.Status.NO_STEADY:
        check_outcome(out, case.assembly, bare_in(case.situation), case.scenario)
    return given_up(out.status)


def given_up(status: int) -> int:
    """0 if a case was solved, else its status."""
    return int(status) if status > ar.Status.STOPPED else 0


def without_measures(m: Mapping[str, float], status: float) -> dict[str, float]:
    """The same names without values, and with what status it was given up."""
    return {**dict.fromkeys(m, nan), "failed": float(status)}


def why(m: Mapping[str, float]) -> str:
    """Why a run has no measures, in words; '' if it has."""
    if "failed" not in m:
        return ""
    if has_no_steady(m):
        return LETS_GO_RUNNING
    return f"the solver gave up: {ar.MESSAGES[ar.Status(int(m['failed']))]}"


def has_no_steady(m: Mapping[str, float]) -> bool:
    """Whether a run has no measures because there was no steady running to begin from."""
    return m.get("failed") == ar.Status.NO_STEADY


def told(triples: Mapping[str, Sequence[Tried]]) -> list[str]:
    """A sentence on every case that the solver gave up (no steady state is a verdict, and told as such)."""
    out = []
    for name, tried in triples.items():
        who = "The bare line" if name == BARE else f"'{name}'"
        for t in tried:
            where = t.case.situation.name
            if "failed" in t.nominal:
                if not has_no_steady(t.nominal):
                    out.append(f"{who} has no answer in '{where}': {why(t.nominal)}; last to switch was '{t.last}'.")
                continue
            out += [f"{who} has no answer at the {end} end of its band in '{where}': {why(m)}; peaks and heat are "
                    "without it." for end, m in (("high", t.high), ("low", t.low)) if "failed" in m
                    and not has_no_steady(m)]  # fmt: skip
    return out


def cases_given_up(triples: Mapping[str, Iterable[Tried]]) -> dict[str, float]:
    """How many nominal runs the solver gave up, as a finding; empty if none."""
    met = [t.nominal.get("failed", ar.Status.DONE) for tried in triples.values() for t in tried]
    lost = sum(s not in (ar.Status.DONE, ar.Status.NO_STEADY) for s in met)
    return {"cases given up": float(lost)} if lost else {}


def check_some_solved(triples: Mapping[str, Sequence[Tried]]) -> None:
    """Raise SolveError if no case at all has an answer."""
    if all("failed" in t.nominal for tried in triples.values() for t in tried):
        raise SolveError(" ".join(told(triples)) or "No candidate has a steady state to begin from.")
