"""Every word that heads a column or stands at the left of a screen is known to `simcore explain`."""

from __future__ import annotations

import ast
import csv
import re
from io import StringIO
from pathlib import Path

import pytest
from small import result

import simcore
from simcore.definitions import MEASURES
from simcore.headings import HEADINGS, WORDS, heading
from simcore.output import table
from simcore.screen import verdicts
from simcore.screen.first import screen
from simcore.screen.inside import solver

FOLDER = Path(simcore.__file__).parent
LABELLED = {"Remark", "paragraph", "told"}


def words(label: ast.expr) -> list[str]:
    """Texts a label may be: the constant, either of two, or what stands before a number."""
    if isinstance(label, ast.IfExp):
        return words(label.body) + words(label.orelse)
    if isinstance(label, ast.JoinedStr):
        label = label.values[0]
    return [label.value] if isinstance(label, ast.Constant) and isinstance(label.value, str) else []


def written_labels() -> set[str]:
    """Labels as they stand in the source: first arguments of what makes a labelled paragraph."""
    out: set[str] = set()
    for path in [*FOLDER.glob("screen/*.py"), *FOLDER.glob("measures/*.py"), *FOLDER.glob("cli/*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", getattr(node.func, "attr", "")) in LABELLED:
                out |= set(words(node.args[0]))
    return {label.strip() for label in out if label.strip()}


def written_columns() -> set[str]:
    """Headings of tables as they stand in the source of the first screens, both lines joined."""
    out = set()
    for name in ("verdicts", "sweep"):
        for node in ast.walk(ast.parse((FOLDER / "screen" / f"{name}.py").read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Column":
                two = [n.value if isinstance(n, ast.Constant) else "N*m" for n in node.args[0].elts]  # type: ignore[attr-defined]
                out.add(" ".join(two).strip())
    return out


LABELS, COLUMNS = written_labels(), written_columns()


def test_the_words_are_found() -> None:
    assert {"Reading", "No", "Warning", "Stop", "Runs back", "Lets go too", "Left behind", "Damage", "Check"} <= LABELS
    assert {"triggers at ms", "of what it bears", "peak N*m", "crashes damaged", "set N*m"} <= COLUMNS


@pytest.mark.parametrize("word", sorted(LABELS | COLUMNS))
def test_every_word_of_a_screen_is_explained(word: str) -> None:
    if not heading(word):
        assert word.removesuffix(" N*m") in MEASURES, word
        return
    assert " ".join(HEADINGS[heading(word)].meaning.split()) in " ".join(simcore.explain(word).split())


def test_every_word_that_run_prints_is_explained() -> None:
    """Read off the printed screen: what is styled as a heading, and the heads of the table."""
    shown = result(unit="kN*m")
    lines = [*screen(shown, 100, ["here"]), *solver(shown, 100)]
    labels = {line[0].text.strip() for line in lines[1:] if len(line) > 1 and line[0].style == "head"}
    labels = {w for w in labels if not w.endswith(" ms")}  # an instant in the list of switches
    heads = {" ".join(c.head).strip() for c in verdicts._columns(shown)}
    assert len(labels) >= 12
    assert len(heads) == 9
    for word in sorted(labels | heads):
        assert simcore.explain(word), word


@pytest.mark.parametrize("word", ["rank", "verdict", "margin", "lets go", "Lets go", "triggers", "Warning 3",
                                  "Numerics", "By hand", "not_given", "band", "setting", "breakaway"])  # fmt: skip
def test_words_as_people_type_them(word: str) -> None:
    assert "means" in simcore.explain(word)


def test_a_heading_tells_the_measure_it_shows() -> None:
    text = simcore.explain("lets go at ms")
    assert text.index("on the screen") < text.index("lets_go: ")
    assert all(h.measure in {"", *MEASURES} for h in HEADINGS.values())


def test_the_list_has_all() -> None:
    assert all(f"\n  {n} " in simcore.explain() for n in WORDS)


def test_every_column_of_the_table_is_explained() -> None:
    """Read off the first line of the file, without units and the situation's name."""
    names = {
        re.sub(r" \[.*|, .*", "", c)
        for c in next(csv.reader(StringIO(table(result()).decode("utf-8-sig"), newline="")))
    }
    assert {"phase_kept", "again_seconds", "margin_percent", "use"} <= names
    for name in sorted(names):
        assert "means" in simcore.explain(name), name
