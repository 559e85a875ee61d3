"""What the words on the screens and in the tables of results mean: headings of columns, words at the left.

``simcore explain`` prints these texts, with those of the measures in :mod:`simcore.definitions`.
"""

from __future__ import annotations

import re
from typing import Final, NamedTuple


class Heading(NamedTuple):
    """A word of the screen: its meaning, and the measure that is shown there ('' if none)."""

    meaning: str
    measure: str = ""


HEADINGS: dict[str, Heading] = {
    "verdict": Heading(
        "The first sentence. A candidate passes if it meets what is expected in every situation, as set and at the "
        "worse end of its band, with no part past its allowable, not too hot, and nothing else in the line letting go "
        "where it should hold."
    ),
    "expect": Heading("What a situation expects of the protection: let go, hold or carry, each explained by its name."),
    "let go": Heading("Expected of a protection: that it lets go, as set and at the high end of its band."),
    "hold": Heading(
        "Expected of a protection: that it does not trigger, nor pins stretch for good, as set and at the low end of "
        "its band. A start must also bring drive and load to 90 % of their running speed; it ends at 98 %, once "
        "nothing more is due."
    ),
    "carry": Heading(
        "Expected of a protection: that it carries through, as set and at the low end of its band. It may slide, but "
        "at the horizon it is engaged, has not disconnected and has kept within its heat limit, and the driven side "
        "has the speed it had at the event, to 2 %, there or, while it keeps half of it, on average over the last "
        "fifth of the run; where nothing slid to 10 %, as a line may swing by itself."
    ),
    "protection": Heading("The candidates, best first, and the bare line."),
    "bare line": Heading("The same line with every slot closed rigidly: what happens without a protection."),
    "passes": Heading("'yes' if nothing speaks against the candidate; else each reason stands below, after No."),
    "rank": Heading(
        "The order in the table: those that pass first, then by the smaller of the least service margin and the room "
        "up to the limits, allowable / peak - 1 over the band; those alike to three digits by the time to run again."
    ),
    "in": Heading(
        "Which situation the row tells of, where that is not the same for all: the crash in which this candidate, or "
        "the bare line, peaks most. The letters are named under Reading."
    ),
    "triggers at": Heading(
        "Milliseconds after the first event of the crash with the largest peak (where the jam is not its first, "
        "Reading says when it comes); 'before' if it slips by intent already.",
        "trigger",
    ),
    "lets go at": Heading("Milliseconds after the first event of the crash with the largest peak.", "lets_go"),
    "disconnects at": Heading(
        "Milliseconds after the first event of the crash with the largest peak. 'no, slips': a kind that only slips; "
        "'never': it does not let go; 'back at': it engages again by itself.",
        "disconnect",
    ),
    "peak": Heading(
        "At the protected connection, with the setting as written, in the crash with the largest peak.", "peak"
    ),
    "of what it bears": Heading(
        "That peak over the allowable of the protected connection, with the setting as written. Under Reading stands "
        "the measure use: the largest over the band of the setting and over all limits.",
        "use",
    ),
    "service margin": Heading(
        "In % of what the situation asks, in the service situation where it is least (named under Reading). 'fails': "
        "not met at any setting tried; 'as asked': met, but no setting makes a difference.",
        "margin",
    ),
    "to run again": Heading("What has to be done before the axis can run again, and the seconds it takes."),
    "reading": Heading("Which situations and which place the numbers of the table stand for."),
    "no": Heading("Why a candidate does not pass: each reason with its situation."),
    "warning": Heading(
        "What may make the answer wrong or the machine unsafe, the gravest first; simcore check lists those known "
        "without a run, with the names that simcore explain takes."
    ),
    "by hand": Heading(
        "The run beside an estimate and a bound by hand formula (energy of the inertias against the springs, "
        "textbook), of each kind the situation nearest to its bound; simcore show RESULT --all has every one. Above "
        "its bound a run is not to be trusted; below the estimate is usual, as damping and the rest of the line take "
        "their part."
    ),
    "not given": Heading(
        "Inputs that took their default, and those whose usual range moves the peak most: find these out first. "
        "simcore show RESULT --defaults lists all."
    ),
    "numerics": Heading(
        "What the numbers owe to the computing and to damping, the least certain input: how far the energies fail to "
        "add up, and by how much the peak of the best candidate moves with a tolerance ten times tighter, with half "
        "and with double the damping. More damping takes from the swing, but also hands torque on while a spring still "
        "winds up: so both may move the peak the same way.",
        "ledger",
    ),
    "inertias": Heading(
        "What each body brings as seen at the protected connection: J i^2 with the speed ratio i between them. Then "
        "the sums before and behind each protection, at its own shaft."
    ),
    "files": Heading("What the command has written, and where."),
    "caution": Heading("What this tool is not: a safeguard for people."),
    "stop": Heading(
        "When, after the situation's first event, the stop chain notices the overload and when it acts, and the heat "
        "of the protection by then, in the run with the most of it."
    ),
    "holds again": Heading(
        "Once the jam is gone: from when on a protection that slips is engaged for good, or that it still slips at the "
        "horizon."
    ),
    "reverses": Heading("How far a stop chain that reverses the drive turns the load back, and when."),
    "runs back": Heading(
        "Whether the load moves backward after the protection has let go, and how far by the horizon; no way is told "
        "that is longer than a machine: 3 m, or three turns."
    ),
    "backstop": Heading("The largest torque at a backstop, in the run where it is largest."),
    "heats on": Heading("What still slips at the horizon, and how long its heat limit lets it.", "time_to_limit"),
    "lets go too": Heading(
        "What else in the line lets go: a second protection, a backstop past its capacity, a belt drive that slips."
    ),
    "drops in": Heading("A detent that meets its pockets again by itself, and how fast."),
    "left behind": Heading(
        "What a run leaves in the protection for the next: setting lost, life used, phase lost; and what the resistor "
        "of a coil that was cut has taken."
    ),
    "grid": Heading("Of a sweep: where its grid of settings ends before the window does, and how far to extend it."),
    "inputs": Heading(
        "Of a comparison: what was changed, by path; the same in other units or as default is no change."
    ),
    "only there": Heading("Of a comparison: candidates that only one of the results has."),
    "besides": Heading(
        "Of a comparison: what else moved by 5 % or more, the most telling candidates and results first."
    ),
    "hardly moved": Heading(
        "Of a comparison: candidates whose margin and peak moved by less than half a point and which let go as before."
    ),
    "more": Heading("What the screen leaves out, and the command that tells it all."),
    "setting": Heading("The torque (S) at which the protection is set to let go, at its own shaft."),
    "band": Heading(
        "From (1 - tolerance) to (1 + tolerance) times the setting. Service is judged at the low end, a crash at the "
        "high one."
    ),
    "breakaway": Heading(
        "The torque at which a protection at rest first lets go; more than the setting with some discs."
    ),
    "allowable": Heading("What a connection bears, as given in the scenario with where it comes from."),
    "what the solver did": Heading(
        "Of every run: steps, steps taken again, evaluations of the line, switches of mode."
    ),
    "slowest mode": Heading("The lowest natural frequency of the bare line, at rest."),
    "tolerance": Heading("The solver's relative tolerance, and the seconds it took."),
    "damage": Heading(
        "Of a sweep: the share of crashes in which a part passes its allowable, or the protection its heat limit, with "
        "its 95 % bounds. One passed in an ordinary event is told under Mind."
    ),
    "nuisance": Heading(
        "Of a sweep: the share of ordinary events that trip the protection, with its 95 % bounds. Where several are "
        "run in each draw, the share of draws in which any of them does."
    ),
    "measure": Heading("Of a sweep: which input to find out more exactly, as it moves the answer most."),
    "cases": Heading("Of a sweep: how many runs were done, how many failed, and how they were chosen."),
    "mind": Heading("What weakens the answer of a sweep."),
    "to open one": Heading("Of a sweep without a window: what would have to change for one to open."),
    "set": Heading("Of a sweep: the setting recommended for the candidate."),
    "crashes damaged": Heading(
        "Of a sweep, at that setting: the share of crashes in which a part passes its allowable, or the protection its "
        "heat limit."
    ),
    "events that trip": Heading("Of a sweep, at that setting: the share of ordinary events that trip the protection."),
    "peak 95 %": Heading("Of a sweep: 95 of 100 crashes stay below this share of what is borne."),
    "off at": Heading("Of a sweep: median instant of the disconnect in milliseconds.", "disconnect"),
    "regret": Heading(
        "Of a sweep: 95 % point of the surplus of the peak over that of the best candidate in the same draw, in % of "
        "what is borne."
    ),
    "case": Heading("Of a replay: which case of the sweep it is."),
    "check": Heading("Of a replay: whether the numbers are those of the sweep, to the last bit."),
    "versions": Heading("Of a replay: what is installed in another version than when the sweep ran."),
    "failed": Heading("Of a replay: the situations that could not be run, and why."),
}

COLUMNS: dict[str, Heading] = {
    "candidate": Heading("Name of the candidate, or the bare line."),
    "part": Heading("Kind of the candidate; simcore parts NAME tells its inputs."),
    "slot": Heading("Station at which the candidate stands."),
    "to protected": Heading("Torque at the protected connection for one at the protection: the ratio between them."),
    "crash": Heading("The crash with the largest peak, whose times, peak, impulse and heat the row gives."),
    "worst limit": Heading("The connection at which use is reached.", "use"),
    "worst situation": Heading("The situation in which use is reached.", "use"),
    "until": Heading("What ends the interval that impulse and energy are counted over.", "impulse"),
    "rise limit": Heading("The heat limit of the candidate, as a rise above the surroundings.", "rise"),
    "tally name": Heading("What tally counts: pole slips, pockets passed, broken pins.", "tally"),
    "passed": Heading("Whether nothing speaks against the candidate; see verdict."),
    "reasons": Heading("Why it does not pass: each reason with its situation."),
    "again": Heading("What has to be done before the axis can run again."),
    "again seconds": Heading("How long that takes."),
    "phase kept": Heading(
        "Whether the two sides of the protection stand to each other as before once it has let go and runs again: yes, "
        "no, or by hand, as they are put. Where it is no, an axis that indexes or positions is to be referenced anew."
    ),
    "expected": Heading("What the situation expects: let go, hold or carry."),
    "met": Heading("Whether that is met, as set and at the end of the band that decides."),
    "asks": Heading("The smallest setting that still meets a situation of ordinary service.", "margin"),
    "holds": Heading("The setting at the low end of its band.", "margin"),
    "margin percent": Heading("The service margin in % of what the situation asks.", "margin"),
    "margin note": Heading("What the search for the smallest setting has to add."),
}
"""Columns of table.csv and names in the answers of --json that are no measure and that no screen shows so."""
WORDS: dict[str, Heading] = HEADINGS | COLUMNS

_TAIL: Final = re.compile(r" +(at ms|ms|k?N\*m|lbf\*\w+|N|\d+)$")


def heading(words: str) -> str:
    """The key of a word as it stands on a screen or in a table, with its unit or number or without; '' if it is none.

    >>> heading("lets go at ms"), heading("peak kN*m"), heading("Warning 2"), heading("overshoot")
    ('lets go at', 'peak', 'warning', '')
    """
    plain = re.sub(r"[\s_]+", " ", words.strip().casefold())
    bare = _TAIL.sub("", re.sub(r" +(k?n\*m|lbf\*\w+|n)$", "", plain))
    for key in (plain, bare, f"{bare} at", plain.removesuffix(" ms"), f"{plain.rstrip('s')}s at"):
        if key in WORDS:
            return key
    return ""
