"""The first screen of a sweep: the answer, its odds, the candidates, what to measure, what failed."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite, isinf

from simcore import units
from simcore.screen.first import CAUTION, NARROWEST, WIDEST
from simcore.screen.table import Column, table
from simcore.screen.words import Line, Word, paragraph, wrap
from simcore.sweep import cases, wording
from simcore.sweep.decide import GRID_ENDS, TOO_NARROW, Choice, Decision, decide
from simcore.sweep.result import SweepResult


def sweep_screen(
    result: SweepResult, columns: int = WIDEST, files: Sequence[str] = (), decision: Decision | None = None
) -> list[Line]:
    """Lines of at most ``columns`` (40 to 100) for a sweep; ``files`` says where it was put."""
    wide = min(WIDEST, max(NARROWEST, columns))
    answer = decision or decide(result)
    best = answer.choices[0]
    style = "good" if best.window.sure else "mind" if best.window.likely else "bad"
    out: list[Line] = [[Word(t, "head")] for t in wrap(result.title, wide)]
    out += [[Word(t, style)] for t in wrap(answer.sentence, wide)]
    out += paragraph("Damage", wording.odds(best.damage_odds, wording.crashes(result)), wide)
    out += paragraph("Nuisance", wording.odds(best.nuisance_odds, wording.service(result)), wide)
    out += _opening(best, wide)
    out += [
        [],
        *table(_columns(result, answer), wide),
        [],
        *paragraph("Reading", _reading(result, answer), wide, "quiet"),
    ]
    out += [[], *paragraph("Measure", _measure(answer), wide)]
    grid = _grid(result, answer)
    out += paragraph("Grid", grid, wide, "mind") if grid else []
    out += paragraph("Cases", _cases(result, answer), wide, "mind" if answer.failed else "")
    for n, text in enumerate(answer.cautions):
        out += paragraph("Mind" if n == 0 else "", text, wide, "mind")
    for n, text in enumerate(files):
        out += paragraph("Files" if n == 0 else "", text, wide)
    return [*out, *paragraph("Caution", CAUTION, wide, "mind")]


def _opening(best: Choice, wide: int) -> list[Line]:
    out: list[Line] = []
    for n, text in enumerate(best.opens):
        out += paragraph("To open one" if n == 0 else "", text, wide, "mind")
    return out


def _columns(result: SweepResult, answer: Decision) -> list[Column]:
    choices, unit = answer.choices, result.unit
    regrets = {r.name: r for r in answer.regrets}
    return [
        Column(("", "protection"), [Word(c.name) for c in choices], False, 20),
        Column(("set", unit), [Word(wording.number(c.setting, unit)) for c in choices]),
        Column(("window", unit), [_window(c, unit) for c in choices], False),
        Column(("crashes", "damaged"), [_odds(wording.short_odds(c.damage_odds), c, 0, result) for c in choices]),
        Column(("events", "that trip"), [_odds(wording.short_odds(c.nuisance_odds), c, 1, result) for c in choices]),
        Column(("peak", "95 %"), [Word(_use(c), "bad" if c.use_95 > 1.0 else "") for c in choices]),
        Column(("off at", "ms"), [Word(_time(c.disconnect.value)) for c in choices]),
        Column(("", "regret"), [Word(_share(regrets[c.name].use_95)) for c in choices]),
    ]


def _window(c: Choice, unit: str) -> Word:
    w = c.window
    if not w.likely:
        return Word(c.lacks, "bad")
    if w.sure:
        return Word(wording.span(w.sure_low, w.sure_high, unit).removesuffix(f" {unit}"), "good")
    return Word(f"{wording.span(w.low, w.high, unit).removesuffix(f' {unit}')}?", "mind")


def _odds(text: str, c: Choice, which: int, result: SweepResult) -> Word:
    odds, target = ((c.damage_odds, result.damage_target), (c.nuisance_odds, result.nuisance_target))[which]
    return Word(text, "bad" if odds.share > target else "")


def _use(c: Choice) -> str:
    return _share(c.use_95)


def _share(x: float) -> str:
    return f"{units.plain(100.0 * x)} %" if isfinite(x) else "-"


def _time(seconds: float) -> str:
    return "never" if isinf(seconds) else units.plain(1e3 * seconds) if isfinite(seconds) else "-"


def _reading(result: SweepResult, answer: Decision) -> str:
    told = {c.lacks for c in answer.choices}
    more = "; too narrow: for the tolerance of the setting" if TOO_NARROW in told else ""
    more += "; grid ends: before there is room for that tolerance" if GRID_ENDS in told else ""
    bears = f" ('{result.protect}' bears {wording.effort(result.allowable, result.unit)})"
    damage, nuisance = wording.percent(result.damage_target), wording.percent(result.nuisance_target)
    return (
        f"Window: at most {damage} of crashes damaged and {nuisance} of ordinary events tripping, with 95 % "
        f"confidence each; '?': by the estimates only{more}. Peak: 95 of 100 crashes stay below this share of "
        "what is borne"
        f"{bears if isfinite(result.allowable) else ''}; off at: median disconnect. Regret: 95 % point of the "
        "peak's surplus over the best candidate of the same draw, in % of what is borne."
    )


def _grid(result: SweepResult, answer: Decision) -> str:
    """Whose window is cut off by the end of the grid."""
    found = [(c.name, wording.edges_words(result, c.kept)) for c in answer.choices]
    told = [f"{name} ({words})" for name, words in found if words]
    return f"ends inside the window of {', '.join(told)}: extend it." if told else ""


def _measure(answer: Decision) -> str:
    if not answer.measure:
        return f"nothing; {answer.stands_out}." if answer.stands_out else "no input stands out"
    return f"{'; '.join(answer.measure)}."


def _cases(result: SweepResult, answer: Decision) -> str:
    candidates, cells, draws = cases.count(result)
    own = len(cases.independent(result))
    out = " and left out of all odds" if answer.failed else ""
    counts = (
        (candidates, "candidate"),
        (cells, "cell"),
        (draws, "draw"),
    )
    told = " x ".join(f"{n:,} {word}{'' if n == 1 else 's'}" for n, word in counts)
    each = f"{len(result.situations)} situation{'' if len(result.situations) == 1 else 's'}"
    text = (
        f"{candidates * cells * draws:,}: {told} ({result.design}, seed {result.seed}); each run in {each}: "
        f"{answer.computed:,} runs done, {answer.failed:,} failed{out}"
    )
    return text + (f"; odds from the {own:,} independent draws." if own != draws else ".")
