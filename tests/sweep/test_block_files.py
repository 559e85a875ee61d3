"""Block files: what is written is read, and nothing else is believed."""

from __future__ import annotations

import os
import zipfile
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest

from simcore.sweep import atomic
from simcore.sweep.blocks import Block, BlockKey, BlockList, Store, edges, pack, tally, unpack

RNG = np.random.default_rng(3)
KEY = BlockKey("ball detent, Größe 2", (0.8, -0.0, 1e-300), 500, 540)


def block() -> Block:
    values = RNG.normal(size=(3, 40, 2))
    values[1, 3] = [np.nan, np.inf]
    measures = {"peak": values[0], "trigger": values[1], "use": values[2]}
    status = RNG.integers(0, 4, (40, 2))
    made = Block(KEY, status, measures, ((503, 1, "the step shrank"),))
    return replace(made, tally=tally(made, ("let go", "hold")))


def test_round_trip_to_the_last_bit() -> None:
    before = block()
    after = unpack(pack(before))
    assert after is not None
    assert after.key.id("x") == before.key.id("x")  # tells 0.0 and -0.0 apart
    assert after.faults == before.faults
    assert after.tally == before.tally
    assert list(after.measures) == list(before.measures)
    for name, values in before.measures.items():
        assert after.measures[name].tobytes() == values.tobytes()
    assert np.array_equal(after.status, before.status)
    assert pack(before) == pack(after)


def test_zip_readers_open_a_block_file() -> None:
    """The file is an ordinary archive of arrays for the standard library too."""
    with zipfile.ZipFile(BytesIO(pack(block()))) as z:
        assert sorted(z.namelist()) == ["measures.npy", "meta.npy", "status.npy"]
        assert z.testzip() is None


def test_a_block_without_measures() -> None:
    lost = Block(KEY, np.full((40, 2), 99), {}, tuple((d, 0, "x") for d in range(500, 540)))
    after = unpack(pack(lost))
    assert after is not None
    assert not after.measures
    assert (after.status == 99).all()


def test_cut_at_every_97th_byte() -> None:
    data = pack(block())
    assert unpack(data) is not None
    assert [n for n in range(0, len(data), 97) if unpack(data[:n]) is not None] == []
    assert unpack(data[:-1]) is None
    assert unpack(data + b"x") is None


def test_every_flipped_bit_is_noticed() -> None:
    """Every bit of every 13th byte, and of the last 60, which hold the checksum."""
    data = bytearray(pack(block()))
    missed = []
    for n in [*range(0, len(data), 13), *range(len(data) - 60, len(data))]:
        for bit in range(8):
            data[n] ^= 1 << bit
            missed += [(n, bit)] if unpack(bytes(data)) is not None else []
            data[n] ^= 1 << bit
    assert missed == []


@pytest.mark.parametrize("data", [b"", b"\n", os.urandom(500), atomic.sealed(b"something else"), atomic.sealed(b"")])
def test_foreign_bytes_are_no_block(data: bytes) -> None:
    assert unpack(data) is None


def test_a_name_that_does_not_fit_is_not_believed(tmp_path: Path) -> None:
    store = Store(tmp_path, "print")
    store.folder.mkdir()
    store.put(KEY, pack(block()))
    path = store.path(KEY)
    assert store.read(path) is not None
    other = path.with_name("0" * 32 + ".npz")
    other.write_bytes(path.read_bytes())
    assert store.read(other) is None
    assert Store(tmp_path, "another print").read(path) is None
    assert Store(tmp_path, "another print").get(KEY) is None


def test_set_aside_never_writes_over(tmp_path: Path) -> None:
    store = Store(tmp_path, "print")
    store.folder.mkdir()
    names = []
    for text in ("one", "two", "three"):
        path = store.folder / "x.npz"
        path.write_text(text)
        names.append(store.set_aside(path).name)
    assert names == ["x.npz", "x (2).npz", "x (3).npz"]
    assert [(tmp_path / "set_aside" / n).read_text() for n in names] == ["one", "two", "three"]


def test_list_of_blocks_is_a_bijection() -> None:
    blocks = BlockList(["a", "b"], [(0.8,), (1.0,), (1.3,)], edges(1200, 500, [700]))
    assert len(blocks) == 2 * 3 * 4
    assert [blocks.place(k) for k in blocks] == list(range(24))
    assert sorted(map(repr, blocks)) == sorted(repr(k) for _, _, k in blocks.by_cell())
    assert blocks.place(BlockKey("a", (0.8,), 500, 1000)) is None
    assert blocks.place(BlockKey("c", (0.8,), 0, 500)) is None
    covered = np.zeros(1200, dtype=int)
    for k in blocks:
        covered[k.first : k.last] += 1
    assert (covered == 6).all()


def test_tally_counts_damage_and_trips_of_sound_cases() -> None:
    status = np.array([[0, 0], [0, 0], [3, 0], [1, 1]])
    use = np.array([[1.2, 0.1], [0.9, 5.0], [2.0, 0.0], [1.0, 0.0]])
    met = np.array([[1.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]])
    t = tally(Block(KEY, status, {"use": use, "met": met}), ("let go", "carry"))
    assert (t.cases, t.failed, t.damaged, t.tripped) == (4, 1, 1, 1)


def test_put_leaves_nothing_where_writing_fails(tmp_path: Path) -> None:
    def at(step: str) -> None:
        raise OSError(28, "No space left on device")

    (tmp_path / "a").write_text("before")
    with pytest.raises(OSError, match="No space"):
        atomic.put(tmp_path / "a", b"after", at)
    assert [p.name for p in tmp_path.iterdir()] == ["a"]
    assert (tmp_path / "a").read_text() == "before"


def test_sealed_files_and_bytes_agree(tmp_path: Path) -> None:
    path = tmp_path / "big"
    for size in (0, 1, 54, 55, 56, (1 << 20) - 55, 1 << 20, (1 << 20) + 1):
        data = os.urandom(size)
        path.write_bytes(data)
        assert not atomic.is_whole(path)
        atomic.seal(path)
        assert path.read_bytes() == atomic.sealed(data)
        assert atomic.is_whole(path)
        with path.open("r+b") as f:
            f.seek(size // 2)
            old = f.read(1)
            f.seek(size // 2)
            f.write(bytes([old[0] ^ 4]))
        assert not atomic.is_whole(path)
    assert not atomic.is_whole(tmp_path / "absent")
