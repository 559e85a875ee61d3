"""A result set in one line, and as HTML for notebooks."""

from __future__ import annotations

from html import escape

from simcore.results.model import ResultSet
from simcore.screen.first import screen
from simcore.screen.words import plain


def brief(result: ResultSet) -> str:
    """One line: title, how many candidates pass in how many situations, the best one.

    >>> # <ResultSet 'Bakery tray conveyor': 3 of 4 candidates pass 4 situations; best: friction disc>
    """
    passed = [a for a in result.answers if a.passed]
    best = f"; best: {min(passed, key=lambda a: a.rank).name}" if passed else ""
    count = f"{len(passed)} of {len(result.answers)} candidates pass {len(result.situations)} situations"
    return f"<ResultSet '{result.title}': {count}{best}>"


def notebook(result: ResultSet) -> str:
    """The first screen as preformatted HTML."""
    text = escape(plain(screen(result)))
    return f'<pre style="line-height:1.25">{text}</pre>'
