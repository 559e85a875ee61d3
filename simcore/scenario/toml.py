"""TOML text to a document, with every failure told in a sentence and a line."""

from __future__ import annotations

import re
import tomllib
from typing import Any, Final

from simcore.errors import Fault, InputError
from simcore.scenario.locate import deepest_key
from simcore.units import shown

_DEEPEST: Final = 40
_PLAIN: Final = (
    ("Cannot overwrite a value", "this name is written twice in the same table"),
    ("Cannot declare", "this table is written twice"),
    ("Cannot mutate immutable namespace", "this table is closed already, it cannot be added to here"),
    ("Duplicate inline table key", "this name is written twice in the same table"),
    ("Expected '=' after a key", "a name must be followed by = and a value"),
    ("Invalid initial character for a key part", "a name is expected here: letters, digits, _ or -"),
    ("Expected ']' at the end of a table declaration", "the table header is not closed by ]"),
    ("Expected ']]' at the end of an array declaration", "the table header is not closed by ]]"),
    ("Expected newline or end of document", "something stands behind the value on the same line"),
    ("Unclosed array", "a list is not closed by ]"),
    ("Unclosed inline table", "a table in braces is not closed by }"),
    ("Unterminated string", "a text is not closed by its quote"),
    ("Illegal character", "a misplaced or invisible character stands here, or a quote is not closed"),
    ("Unescaped '\\\\'", "a backslash in a text must be doubled"),
    ("Unexpected end of file", "the file ends in the middle of a value"),
    ('Expected "', "a text is not closed by its quote"),
    ("Expected", "a sign is missing here"),
)  # fmt: skip


def document(text: str, source: str) -> dict[str, Any]:
    """Parse a TOML text; InputError with the line at fault."""
    if not text.strip():
        raise _broken("the text is empty", None, source, "simcore new makes a starter scenario")
    line, depth = deepest_key(text)
    if depth > _DEEPEST:
        raise _broken("a name has too many dots", line, source, f"at most {_DEEPEST}")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _decoded(error, text, source) from None
    except RecursionError:
        raise _broken("lists or tables are nested too deeply", None, source) from None
    except (ValueError, OverflowError, ArithmeticError) as error:
        raise _value_fault(error, text, source) from None


def _decoded(error: tomllib.TOMLDecodeError, text: str, source: str) -> InputError:
    message = str(error)
    place = re.search(r"\(at line (\d+), column (\d+)\)", message)
    total = text.rstrip().count("\n") + 1
    line = int(place[1]) if place else total
    rule = next((plain for start, plain in _PLAIN if message.startswith(start)), "this value cannot be read")
    written = text.split("\n")[line - 1] if line <= total else ""
    return _broken(f"is not valid TOML: {rule}", line, source, _way_out(message, written))


def _way_out(message: str, written: str) -> str:
    value = re.search(r"=\s*([^#]*)", written)
    if value and re.match(r"[+-]?[0-9][0-9.]*\s*[A-Za-z%°µ]", value[1]):
        return f"a quantity is written in quotes: {shown(value[1].strip(), 40)}"
    if value and re.match(r"[+-]?[0-9]+,[0-9]", value[1]):
        return "a decimal point is needed, not a comma"
    if value and re.match(r"[A-Za-z]", value[1]) and value[1].strip().lower() not in ("true", "false"):
        return f"text is written in quotes: {shown(value[1].strip(), 40)}"
    if message.startswith("Cannot overwrite") and re.search(r"[{,]\s*file\s*=", written):
        return "a list is either written out or a column of a file, not both"
    if message.startswith("Cannot declare") and re.match(r"\s*\[line\]", written):
        return "a station is headed [[line]], with two brackets"
    return ""


def _value_fault(error: Exception, text: str, source: str) -> InputError:
    digits = re.search(r"[0-9_]{4000,}", text)
    if digits:
        line = text.count("\n", 0, digits.start()) + 1
        return _broken("a number has thousands of digits", line, source)
    return _broken(f"is not valid TOML: a value cannot be read ({error})", None, source)


def _broken(rule: str, line: int | None, source: str, hint: str = "") -> InputError:
    return InputError([Fault("", rule, "", hint, line, source)])
