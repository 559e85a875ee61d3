"""Ways along the line: which nodes a node reaches, and over which elements."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from simcore.line.graph import GROUND, Element, Graph

Joints = list[list[tuple[int, int]]]


def joints(g: Graph) -> Joints:
    """Of every node what hangs on it: each element, and the node beyond it, in the order of the elements."""
    found = g.joints.get(len(g.elements))
    if found is None:
        found = g.joints[len(g.elements)] = _joints(len(g.nodes), g.elements)
    return found


def _joints(nodes: int, elements: list[Element]) -> Joints:
    out: Joints = [[] for _ in range(nodes)]
    for i, e in enumerate(elements):
        if GROUND not in (e.a, e.b):
            out[e.a].append((i, e.b))
            if e.b != e.a:
                out[e.b].append((i, e.a))
    return out


def loses(e: Element) -> bool:
    """Whether it has the losses of a gear; other kinds have one of these columns for something else."""
    row = e.part.kind.row
    return "up" in row and "back" in row


@dataclass(frozen=True, slots=True)
class Walk:
    """All that is reached from one node without crossing one element."""

    start: int
    came: dict[int, tuple[int, int]]
    """The last element on the way to a node, and the node before it."""
    lossy: dict[int, tuple[int, ...]]
    """The elements with losses on the way to a node, in the order of the way."""

    @property
    def nodes(self) -> Collection[int]:
        return self.lossy.keys()

    def to(self, goal: int) -> list[int]:
        """Elements on the way to the node ``goal``; none if it is not reached."""
        out = []
        while goal in self.came:
            i, goal = self.came[goal]
            out.append(i)
        return out[::-1]


def walk(g: Graph, start: int, cut: int) -> Walk:
    """From the node ``start``, without crossing the element ``cut``."""
    beside = joints(g)
    came: dict[int, tuple[int, int]] = {}
    lossy: dict[int, tuple[int, ...]] = {start: ()}
    stack = [start]
    while stack:
        n = stack.pop()
        for i, other in beside[n]:
            if i != cut and other not in lossy:
                came[other] = i, n
                lossy[other] = (*lossy[n], i) if loses(g.elements[i]) else lossy[n]
                stack.append(other)
    return Walk(start, came, lossy)
