"""Two thousand damaged files: a scenario or an InputError with sentences, never anything else."""

from __future__ import annotations

import random

import pytest
from samples import GOOD, REGISTRY

from simcore.errors import InputError
from simcore.scenario.load import decode
from simcore.scenario.read import read_text

DATA = GOOD.encode()
SIGNS = b"\"'[]{}=.,#\n\\0123456789eE+-_ \xff\xc3\x00*/%"


def _flip(data: bytearray, r: random.Random) -> None:
    data[r.randrange(len(data))] ^= 1 << r.randrange(8)


def _cut(data: bytearray, r: random.Random) -> None:
    at = r.randrange(len(data))
    del data[at : at + r.choice((1, 3, 20, 100000))]


def _put(data: bytearray, r: random.Random) -> None:
    at = r.randrange(len(data))
    data[at:at] = bytes(r.choices(SIGNS, k=r.randrange(1, 6)))


def _lose_line(data: bytearray, r: random.Random) -> None:
    lines = data.split(b"\n")
    del lines[r.randrange(len(lines))]
    data[:] = b"\n".join(lines)


def _swap_lines(data: bytearray, r: random.Random) -> None:
    lines = data.split(b"\n")
    a, b = r.randrange(len(lines)), r.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    data[:] = b"\n".join(lines)


def _copy(data: bytearray, r: random.Random) -> None:
    at, to = r.randrange(len(data)), r.randrange(len(data))
    data[to:to] = data[at : at + r.randrange(1, 60)]


DAMAGE = (_flip, _cut, _put, _lose_line, _swap_lines, _copy)


def faults_of(data: bytes):
    try:
        read_text(decode(data, "f.toml"), "f.toml", registry=REGISTRY)
    except InputError as error:
        return error.faults
    return ()


@pytest.mark.parametrize("block", range(4))
def test_damaged_files(block):
    outcomes = {"read": 0, "refused": 0}
    for seed in range(500 * block, 500 * (block + 1)):
        r = random.Random(seed)
        data = bytearray(DATA)
        for _ in range(r.randrange(1, 4)):
            if data:
                r.choice(DAMAGE)(data, r)
        faults = faults_of(bytes(data))
        outcomes["refused" if faults else "read"] += 1
        for fault in faults:
            assert fault.rule
            assert str(fault).isprintable()
    assert outcomes["read"] > 5
    assert outcomes["refused"] > 200
