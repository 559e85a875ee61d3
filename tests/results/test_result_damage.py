"""Damaged, absent and contended files: a plain sentence, or a clean read; never half a file."""

from __future__ import annotations

import errno
import os
import re
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from factory import differences, result

from simcore.errors import ResultError
from simcore.results import files
from simcore.results.read import open_result
from simcore.results.write import write

HERE = Path(__file__).parent


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    path = tmp_path_factory.mktemp("whole") / "r.h5"
    write(result(rows=20), path)
    return path.read_bytes()


def read_all(path):
    r = open_result(path)
    return replace(r, runs=dict(r.runs))


def clean_or_refused(path, expected) -> bool:
    """True for a clean read; anything but that or a ResultError of one line fails the test."""
    try:
        r = read_all(path)
    except ResultError as e:
        told = str(e)
    else:
        assert differences(expected, r) == []
        return True
    assert told.startswith(f"{path}: ")
    assert "\n" not in told
    return False


def test_cut_short_at_many_lengths(whole, tmp_path):
    path, expected = tmp_path / "r.h5", result(rows=20)
    size = len(whole)
    lengths = [*range(0, 600, 7), *np.linspace(600, size - 40, 80).astype(int), *range(size - 40, size, 3)]
    read = [n for n in lengths if (path.write_bytes(whole[:n]), clean_or_refused(path, expected))[1]]
    assert all(n >= size - 30 for n in read)  # only the checksum's own line may be missing
    path.write_bytes(whole + b"more behind it")
    clean_or_refused(path, expected)


def test_flipped_bytes(whole, tmp_path):
    path, expected = tmp_path / "r.h5", result(rows=20)
    rng = np.random.default_rng(7)
    places = [*range(96), *rng.integers(96, len(whole) - 30, 100), *range(len(whole) - 30, len(whole), 3)]
    for place in places:
        data = bytearray(whole)
        data[place] ^= 1 << int(rng.integers(8))
        path.write_bytes(data)
        read = clean_or_refused(path, expected)
        assert not read or place >= len(whole) - 30


def test_damage_without_a_checksum_is_told_plainly(whole, tmp_path):
    """After another program changed the file there is no checksum; damage then shows when a part is read."""
    import h5py

    path = tmp_path / "r.h5"
    path.write_bytes(whole)
    with h5py.File(path, "r+") as f:
        del f["runs/friction disc/laundry jams/torque"], f["runs/friction disc/laundry jams/force"]
        del f["connections/connection"]
    r = open_result(path)
    with pytest.raises(ResultError, match="a part of it cannot be read"):
        r.run("friction disc", "laundry jams")


@pytest.mark.parametrize(("content", "words"), [
    (b"", "is empty"), (b"title = 'x'\n", "no HDF5 file"), (b"\x89HDF\r\n\x1a\n" + b"\0" * 900, "damaged"),
])  # fmt: skip
def test_other_files(content, words, tmp_path):
    (tmp_path / "r.h5").write_bytes(content)
    with pytest.raises(ResultError, match=words):
        open_result(tmp_path / "r.h5")


def test_absent_files_and_folders(tmp_path, whole):
    (tmp_path / "laundry.h5").write_bytes(whole)
    with pytest.raises(ResultError, match=re.escape("no such file (did you mean laundry.h5?)")):
        open_result(tmp_path / "laundri.h5")
    with pytest.raises(ResultError, match="is a folder"):
        open_result(tmp_path)
    with pytest.raises(ResultError, match="is a folder"):
        write(result(rows=20), tmp_path)
    with pytest.raises(ResultError, match="does not exist"):
        write(result(rows=20), tmp_path / "none" / "r.h5")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_no_device_or_pipe_is_replaced(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for use in (lambda p: write(result(rows=20), p), open_result):
        with pytest.raises(ResultError, match="no ordinary file"):
            use(tmp_path / "pipe")


def leftovers(folder):
    return sorted(p.name for p in folder.iterdir())


@pytest.mark.parametrize(("number", "words"), [
    (errno.ENOSPC, "could not be written, no space left"),
    (errno.EACCES, "open in another program or may not be changed"),
])  # fmt: skip
@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_failed_write_leaves_the_old_file(call, number, words, tmp_path, monkeypatch, whole):
    (tmp_path / "r.h5").write_bytes(whole)

    def fail(*_):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(files.os, call, fail)
    with pytest.raises(ResultError, match=words):
        write(replace(result(rows=20), title="new"), tmp_path / "r.h5")
    monkeypatch.undo()
    assert (tmp_path / "r.h5").read_bytes() == whole
    assert leftovers(tmp_path) == ["r.h5"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full device here")
def test_a_full_disk_leaves_the_old_file(tmp_path, monkeypatch, whole):
    (tmp_path / "r.h5").write_bytes(whole)
    real = os.open
    monkeypatch.setattr(
        files.os, "open", lambda p, flags, *mode: real("/dev/full" if str(p).endswith(".part") else p,
                                                       flags & ~os.O_EXCL, *mode)
    )  # fmt: skip
    with pytest.raises(ResultError, match="no space left"):
        write(replace(result(rows=20), title="new"), tmp_path / "r.h5")
    assert (tmp_path / "r.h5").read_bytes() == whole


def test_a_writer_killed_before_the_rename_leaves_the_old_file(tmp_path, whole):
    path = tmp_path / "r.h5"
    path.write_bytes(whole)
    code = (
        "import os, sys\n"
        f"sys.path[:0] = [{str(HERE)!r}, {str(HERE.parents[1])!r}]\n"
        "from factory import result\n"
        "from simcore.results import files\n"
        "from simcore.results.write import write\n"
        "files.os.replace = lambda *_: os._exit(9)\n"
        f"write(result(rows=20), {str(path)!r})\n"
    )
    assert subprocess.run([sys.executable, "-c", code], timeout=120, check=False).returncode == 9
    assert path.read_bytes() == whole
    parts = [p for p in tmp_path.iterdir() if p != path]
    assert len(parts) == 1
    assert parts[0].name.endswith(".part")
    write(replace(result(rows=20), title="new"), path)
    assert open_result(path).title == "new"


def test_two_writers_at_once(tmp_path):
    path = tmp_path / "r.h5"
    versions = {t: replace(result(rows=20), title=t) for t in ("one", "two")}
    write(versions["one"], path)
    problems = []

    def work(title):
        try:
            for _ in range(3):
                write(versions[title], path)
                r = read_all(path)
                problems.extend(differences(versions[r.title], r))
        except Exception as e:
            problems.append(repr(e))

    threads = [threading.Thread(target=work, args=(t,)) for t in versions]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert problems == []
    assert leftovers(tmp_path) == ["r.h5"]


@pytest.mark.skipif(os.name != "posix", reason="links and modes of POSIX")
def test_links_and_modes_are_kept(tmp_path, whole):
    (tmp_path / "there").mkdir()
    real = tmp_path / "there" / "real.h5"
    real.write_bytes(whole)
    real.chmod(0o640)
    (tmp_path / "link.h5").symlink_to(real)
    write(replace(result(rows=20), title="new"), tmp_path / "link.h5")
    assert (tmp_path / "link.h5").is_symlink()
    assert open_result(real).title == "new"
    assert real.stat().st_mode & 0o777 == 0o640


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write anything")
def test_a_protected_file_is_respected(tmp_path, whole):
    path = tmp_path / "r.h5"
    path.write_bytes(whole)
    path.chmod(0o444)
    with pytest.raises(ResultError, match="write-protected"):
        write(result(rows=20), path)
