"""The locator: every place of a document has its line, whatever the spelling."""

from __future__ import annotations

import tomllib

from hypothesis import given
from hypothesis import strategies as st
from samples import GOOD

from simcore.scenario.locate import deepest_key, lines_of, locate

TEXT = '''\
title = "a # b [[line]]"
x.y = 1
story = """
[[line]]
k = 3
"""
[[line]]
name = "m"
"quoted \\"key\\"" = 2
'literal' = 3
inline = { a = 1, b.c = { d = [1,
 2] }, e = "}" }

[[line]]
name = "n"
  [line.sub]
  k = 1
  list = [
    1, # [
    { z = 2 },
    [3,
     4]
  ]
[candidates."ball, \\u00e4"]
setting = "3"
'''


def spots(value, spot=()):
    if spot:
        yield spot
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in pairs:
        yield from spots(inner, (*spot, key))


def test_every_place_is_found():
    for text in (TEXT, GOOD):
        found = lines_of(text)
        missing = [s for s in spots(tomllib.loads(text)) if s not in found]
        assert missing == []


def test_lines():
    found = lines_of(TEXT)
    expected = {
        ("title",): 1,
        ("x", "y"): 2,
        ("story",): 3,
        ("line", 0): 7,
        ("line", 0, 'quoted "key"'): 9,
        ("line", 0, "literal"): 10,
        ("line", 0, "inline", "b", "c", "d", 1): 12,
        ("line", 0, "inline", "e"): 12,
        ("line", 1): 14,
        ("line", 1, "sub", "k"): 17,
        ("line", 1, "sub", "list", 1, "z"): 20,
        ("line", 1, "sub", "list", 2, 1): 22,
        ("candidates", "ball, ä", "setting"): 25,
    }
    assert {s: found[s] for s in expected} == expected


def test_a_missing_key_is_at_its_table():
    found = lines_of(TEXT)
    assert locate(found, ("line", 1, "ratio")) == 14
    assert locate(found, ("situations", "x")) is None


@given(st.text(max_size=300))
def test_never_raises_on_any_text(text):
    locate(lines_of(text), ("a",))


@given(st.integers(0, len(TEXT)), st.text(alphabet="[]{}\"'=.,#\n\\a", max_size=8))
def test_never_raises_on_damaged_text(at, junk):
    lines_of(TEXT[:at] + junk + TEXT[at + 3 :])


def test_names_with_many_dots_are_noticed():
    assert deepest_key('a = "' + "x." * 60 + '"')[1] == 0
    assert deepest_key("t = 1\n" + "a." * 60 + "b = 1") == (2, 60)
