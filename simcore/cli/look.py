"""Commands that only tell: check, parts, explain, schema, scenarios."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from simcore.cli import complete, stdio
from simcore.cli.start import FILE, FORMATS, SET, pairs, refuse_file

if TYPE_CHECKING:
    from simcore.contract import Part


def check(file: FILE, changes: SET = []) -> None:  # noqa: B006 - typer reads it, nobody changes it
    """Find all faults of a scenario at once, else its warnings, without running it.

    \b
    Example:
      simcore check bakery_tray_conveyor
    """
    from simcore.line.cautions import cautions
    from simcore.line.places import inertias_at_slots
    from simcore.measures.foremost import gravest_first
    from simcore.scenario.read import read
    from simcore.screen.words import Line, Word, paragraph
    from simcore.shipped import find

    scenario = read(find(file), pairs(changes))
    found = gravest_first(cautions(scenario), scenario.candidates)
    wide = stdio.columns()
    count = f"{_counted(len(scenario.candidates), 'candidate')} in {_counted(len(scenario.situations), 'situation')}"
    warned = _counted(len(found), "warning") if found else "no warnings"
    lines: list[Line] = [[Word(f"{scenario.title}: no faults, {warned}; {count}.", "" if found else "good")]]
    for c, text in found:
        lines += [[Word(c.name, "mind"), Word(f"  {c.path}", "quiet")], *paragraph("", text, wide)]
    for text in inertias_at_slots(scenario):
        lines += paragraph("Inertias", text, wide)
    if found:
        lines.append([Word(f'Next: simcore explain "{found[0][0].name}" says what to do.', "quiet")])
    stdio.show(lines)


def _counted(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"


def parts(
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME", help="Kind of part; left out: all.", autocompletion=complete.part, show_default=False
        ),
    ] = "",
    file: Annotated[
        Path | None,
        typer.Argument(metavar="FILE", help="File of the chart, .png, .svg or .pdf.  [default: NAME.png]"),
    ] = None,
    chart: Annotated[bool, typer.Option("--chart", help="Draw the part's own chart into FILE.")] = False,
    changes: Annotated[
        list[str],
        typer.Option(
            "--set",
            metavar="INPUT=VALUE",
            help="Input of the part drawn; repeatable.",
            autocompletion=complete.part_input,
        ),
    ] = [],  # noqa: B006
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there.")] = False,
) -> None:
    """List the kinds of part, or show one with its inputs, units, defaults, law and sources, or draw it.

    \b
    Examples:
      simcore parts
      simcore parts "ball detent"
      simcore parts "friction disc" --chart
      simcore parts "friction disc" --chart disc.svg --set "setting=190 N*m"
    """
    from simcore.catalogue import named, part
    from simcore.errors import InputError

    if chart and name:
        stdio.say(str(_draw(named(name), file, pairs(changes), force)))
    elif chart:
        raise InputError('--chart: name the part to draw, for instance simcore parts "friction disc" --chart')
    elif file is not None or changes or force:
        raise InputError("FILE, --set and --force go with --chart, which is missing")
    else:
        stdio.say(part(name, _wide()))


def _draw(part: Part, file: Path | None, changes: dict[str, str], force: bool) -> Path:
    """Draw the part's own chart; where it is.  Raises InputError, ResultError."""
    from simcore.errors import Fault, InputError
    from simcore.specimen import specimen

    path = file or Path(f"{re.sub(r'[^a-z0-9]+', '_', part.kind.name.lower())}.png")
    form = path.suffix[1:].lower()
    if form not in FORMATS:
        raise InputError([Fault(str(path)[:80], f"a chart's file ends with .{', .'.join(FORMATS)}")])
    found = specimen(part, changes)
    refuse_file(path, force)
    import simcore
    from simcore.charts.character import character_page
    from simcore.charts.draw import image
    from simcore.charts.style import read_style
    from simcore.results.files import replace

    version = str(simcore.__version__)
    drawn = character_page(found, "from source" if version.endswith("source") else version)
    return replace(path, image(drawn, form, read_style()), "chart")


def explain(
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME",
            help="Measure, warning, word of the screen or table of the file; left out: all.",
            show_default=False,
            autocompletion=complete.explained,
        ),
    ] = "",
) -> None:
    """Say what a measure, a warning, a word of the screen or a table of the file means, and what to do.

    \b
    Examples:
      simcore explain overshoot
      simcore explain "service margin"
      simcore explain "start above setting"
      simcore explain sweep.factor
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
