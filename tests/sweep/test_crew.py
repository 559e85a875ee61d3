"""Threads that compute blocks: who takes which."""

from __future__ import annotations

import threading
import time

import numpy as np
import pytest

from simcore.sweep import crew as crew_module
from simcore.sweep.blocks import Block, BlockKey, tally
from simcore.sweep.crew import Bench, Done, Threads, choice, compute

HERE, THERE, ELSE = ("disc", 0, 5), ("disc", 5, 10), ("pins", 0, 5)


def test_a_thread_stays_with_its_draws() -> None:
    assert choice([THERE, HERE], 1, {1: HERE, 2: THERE}) == 1


def test_a_thread_leaves_the_draws_of_others_alone_while_there_are_any_else() -> None:
    assert choice([THERE, THERE, ELSE], 1, {1: HERE, 2: THERE}) == 2


def test_a_thread_helps_at_the_end() -> None:
    assert choice([THERE, THERE], 1, {1: HERE, 2: THERE}) == 0


class Slow:
    """A trial that notes which thread ran which draws."""

    def __init__(self, name: str, seen: list[tuple[int, int]]) -> None:
        self.name, self.seen = name, seen

    def run(self, cell: tuple[float, ...], first: int, last: int) -> Block:
        self.seen.append((threading.get_ident(), first))
        time.sleep(0.005)
        status = np.zeros((last - first, 1), dtype=np.int16)
        return Block(BlockKey(self.name, cell, first, last), status, {"peak": np.ones((last - first, 1))}, ())


def test_draws_are_assembled_once_but_for_the_last() -> None:
    groups, cells = 6, 5
    seen: list[tuple[int, int]] = []
    crew = Threads(lambda name: Slow(name, seen), ("let go",), {}, 2, cells)
    assert crew.size > 2 * cells
    for g in range(groups):
        for c in range(cells):
            crew.submit(BlockKey("disc", (float(c),), 4 * g, 4 * g + 4))
    done = 0
    while done < groups * cells:
        for key, outcome in crew.collect(5.0):
            assert not isinstance(outcome, BaseException)
            assert outcome.tally == tally(Slow(key.candidate, []).run(key.cell, key.first, key.last), ("let go",))
            done += 1
    crew.close()
    assert len({thread for thread, _ in seen}) == 2
    assert groups <= len(set(seen)) <= groups + 1


def test_what_was_not_begun_comes_back_as_cancelled() -> None:
    seen: list[tuple[int, int]] = []
    crew = Threads(lambda name: Slow(name, seen), ("let go",), {}, 1)
    for g in range(9):
        crew.submit(BlockKey("disc", (1.0,), g, g + 1))
    back = crew.collect(5.0)
    crew.drop()
    while len(back) < 9:
        back += crew.collect(5.0)
    crew.close()
    cancelled = [o for _, o in back if isinstance(o, BaseException)]
    assert len(seen) + len(cancelled) == 9
    assert len(cancelled) >= 6


class Elsewhere:
    """Stands for a process of a thread's own."""

    def __init__(self, seen: list[tuple[int, int]], lives: int) -> None:
        self.trial, self.lives, self.closed = Slow("disc", seen), lives, 0

    def compute(self, key: BlockKey) -> Done:
        self.lives -= 1
        if self.lives < 0:
            raise OSError("ended")
        return compute(Bench(lambda name: self.trial), key, ("let go",), {})

    def close(self) -> None:
        self.closed += 1


@pytest.mark.parametrize("lives", [99, 2])
def test_all_threads_but_one_move_to_a_process_and_go_on_without_it(monkeypatch, lives: int) -> None:
    monkeypatch.setattr(crew_module, "SETTLED", 0.0)
    here: list[tuple[int, int]] = []
    there: list[tuple[int, int]] = []
    begun: list[Elsewhere] = []

    def start() -> Elsewhere:
        begun.append(Elsewhere(there, lives))
        return begun[-1]

    crew = Threads(lambda name: Slow(name, here), ("let go",), {}, 3, 1, start)
    for g in range(30):
        crew.submit(BlockKey("disc", (1.0,), g, g + 1))
    back = []
    while len(back) < 30:
        back += crew.collect(5.0)
    crew.close()
    lost = [o for _, o in back if isinstance(o, BaseException)]
    assert len(begun) == 2
    assert all(p.closed for p in begun)
    assert len(here) + len(there) + len(lost) == 30
    assert len(lost) == (0 if lives == 99 else 2)
    assert len(there) == 4 if lives == 2 else len(there) >= 12
