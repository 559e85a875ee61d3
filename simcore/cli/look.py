"""Commands that only tell: check, parts, explain, schema, scenarios."""

from __future__ import annotations

from typing import Annotated

import typer

from simcore.cli import complete, stdio
from simcore.cli.start import FILE, SET, pairs


def check(file: FILE, changes: SET = []) -> None:  # noqa: B006 - typer reads it, nobody changes it
    """Find all faults of a scenario at once, else its warnings, without running it.

    \b
    Example:
      simcore check bakery_tray_conveyor
    """
    from simcore.api import check as cautions
    from simcore.api import read
    from simcore.screen.words import Line, Word, paragraph
    from simcore.shipped import find

    scenario = read(find(file), pairs(changes))
    found = cautions(scenario)
    wide = stdio.columns()
    count = f"{len(scenario.candidates)} candidates in {len(scenario.situations)} situations"
    warned = f"{len(found)} warning{'' if len(found) == 1 else 's'}" if found else "no warnings"
    lines: list[Line] = [[Word(f"{scenario.title}: no faults, {warned}; {count}.", "" if found else "good")]]
    for c in found:
        lines += [[Word(c.name, "mind"), Word(f"  {c.path}", "quiet")], *paragraph("", f"{c.text}.", wide)]
    if found:
        lines.append([Word(f'Next: simcore explain "{found[0].name}" says what to do.', "quiet")])
    stdio.show(lines)


def parts(
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME", help="Kind of part; left out: all.", autocompletion=complete.part, show_default=False
        ),
    ] = "",
) -> None:
    """List the kinds of part, or show one with its inputs, units, defaults, law and sources.

    \b
    Examples:
      simcore parts
      simcore parts "ball detent"
    """
    from simcore.catalogue import part

    stdio.say(part(name, _wide()))


def explain(
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME",
            help="Measure or warning; left out: all.",
            show_default=False,
            autocompletion=complete.explained,
        ),
    ] = "",
) -> None:
    """Say what a measure or a warning means, its formula, and what to do.

    \b
    Examples:
      simcore explain overshoot
      simcore explain "start above setting"
    """
    from simcore.catalogue import explain as explained

    stdio.say(explained(name, _wide()))


def schema() -> None:
    """Print the JSON Schema of scenario files, for editors that complete and check.

    \b
    Example:
      simcore schema > simcore.schema.json
    """
    from simcore.scenario.schema import schema as schema_of

    stdio.say(stdio.json_text(schema_of()).rstrip("\n"))


def scenarios() -> None:
    """List the scenarios that come along, with what each decides.

    \b
    Example:
      simcore scenarios
    """
    from simcore.catalogue import hang
    from simcore.shipped import scenarios as shipped
    from simcore.shipped import title

    found = shipped()
    longest = max((len(n) for n in found), default=0)
    for name, path in found.items():
        stdio.say("\n".join(hang(f"{name:<{longest}}  ", title(path), _wide())))


def _wide() -> int:
    return max(40, min(stdio.columns(), 100))
