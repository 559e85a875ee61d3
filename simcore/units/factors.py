"""Factors to SI of every unit in the table, from pint, as exact fractions.

Loading pint takes a quarter of a second, so what it says is kept in the user's cache: under a name that carries a
hash of the table and of pint's version, behind a checksum.  A damaged or missing file is made anew.
"""

from __future__ import annotations

import json
import os
import re
from contextlib import suppress
from fractions import Fraction
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from typing import Any

from simcore.units.table import PINT, TABLE, listed

Factors = dict[str, Fraction]


@cache
def factor(kind: str, name: str) -> Fraction:
    """What one unit ``name`` (canonical spelling) of ``kind`` is in SI."""
    return Fraction(1) if name == listed(kind)[0] else _all()[f"{kind}: {name}"]


def asked_of_pint() -> Factors:
    """The factors of all units of all kinds but the SI ones, from pint."""
    return {f"{kind}: {name}": _asked(TABLE[kind][1], name) for kind in TABLE for name in listed(kind)[1:]}


@cache
def _all() -> Factors:
    folder = _cache_folder()
    file = None if folder is None else folder / f"factors-{_fingerprint()}.json"
    kept = None if file is None else read(file)
    if kept is not None:
        return kept
    found = asked_of_pint()
    if file is not None:
        with suppress(OSError):
            _keep(file, found)
    return found


def read(file: Path) -> Factors | None:
    """The factors in a file; None if there is none or it is not as it was written."""
    with suppress(OSError, ValueError, KeyError, TypeError, ZeroDivisionError, AttributeError):
        told = json.loads(file.read_text(encoding="utf-8"))
        if told["sum"] == _sum(told["factors"]):
            return {name: Fraction(text) for name, text in told["factors"].items()}
    return None


def _keep(file: Path, found: Factors) -> None:
    texts = {name: str(f) for name, f in found.items()}
    beside = file.with_suffix(f".{os.getpid()}.part")
    beside.write_text(json.dumps({"sum": _sum(texts), "factors": texts}), encoding="utf-8")
    beside.replace(file)


def _sum(texts: dict[str, str]) -> str:
    return sha256(repr(sorted(texts.items())).encode()).hexdigest()


def _fingerprint() -> str:
    return sha256(repr((version("pint"), TABLE, PINT)).encode()).hexdigest()[:20]


def _asked(si: str, name: str) -> Fraction:
    ureg = registry()
    text = re.sub(r"\brev\b", "turn", PINT.get(name, name))
    home = ureg.Unit("dimensionless" if si == "1" else si)
    return Fraction(ureg.Quantity(Fraction(1), ureg.Unit(text)).to(home).magnitude)


@cache
def registry() -> Any:
    """The one pint registry, with exact fractions."""
    import pint

    folder = _cache_folder()
    if folder is not None:
        try:
            return pint.UnitRegistry(non_int_type=Fraction, cache_folder=folder)
        except Exception:  # whatever a damaged cache of the library raises, the definitions can be read anew
            pass
    return pint.UnitRegistry(non_int_type=Fraction)


@cache
def _cache_folder() -> Path | None:
    """Where pint and this module keep what they know; None if that cannot be written."""
    from platformdirs import user_cache_path

    folder = user_cache_path("simcore") / "units"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return folder if os.access(folder, os.W_OK) else None
    except OSError:
        return None
