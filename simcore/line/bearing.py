"""Radial load that a coupling puts on the shaft and the bearing beside it: overhung, or by misalignment."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from simcore.line.assemble import Assembly
from simcore.line.caution import Caution
from simcore.units import show

LOADS: Final = {"overhung load at rated torque", "radial bearing load"}
"""What a coupling's sheet calls it."""


def bearing_loads(a: Assembly) -> Iterator[Caution]:
    """Loads above what is borne, and loads of which nobody has said what is borne."""
    for i, e in enumerate(a.graph.elements):
        if not any(p.name == "allowable_load" for p in e.part.kind.params):
            continue
        sheet = e.part.described("sheet", a.rows[i], a.tab)
        for name in LOADS & sheet.keys():
            load = float(sheet[name][0])
            told = f"'{e.name}' puts {show(load, 'force')} across its shaft ({name})"
            bears = e.raw.get("allowable_load")
            if bears is None:
                yield Caution("bearing load not judged", e.path,
                              f"{told}: see that shaft and bearing bear it, or give allowable_load")  # fmt: skip
            elif load > bears:
                yield Caution("bearing overloaded", f"{e.path}.allowable_load",
                              f"{told}, shaft and bearing bear {show(float(bears), 'force')}")  # fmt: skip
