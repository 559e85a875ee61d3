"""Folders of runs: numbered, never over earlier results, safe for two runs at once."""

from __future__ import annotations

import errno
import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from small import result

from simcore.cli.start import pairs
from simcore.errors import InputError, ResultError
from simcore.output import named_folder, next_folder, result_file, safe_name, save, table, tidy
from simcore.results.export import export


def test_numbers_go_on(tmp_path: Path) -> None:
    assert next_folder("a b.c", tmp_path).name == "a b.c-001"
    (tmp_path / "a b.c-007").mkdir()
    assert next_folder("a b.c", tmp_path).name == "a b.c-008"


def test_many_at_once_get_a_folder_each(tmp_path: Path) -> None:
    with ThreadPoolExecutor(16) as pool:
        folders = list(pool.map(lambda _: next_folder("x", tmp_path / "runs"), range(64)))
    assert len(set(folders)) == 64


def test_names_any_system_takes() -> None:
    assert safe_name('a<b>:"c/d\\e|f?*.') == "a_b___c_d_e_f__"
    assert safe_name("...") == "run"


def test_results_are_not_written_over(tmp_path: Path) -> None:
    (tmp_path / "result.h5").write_bytes(b"old")
    with pytest.raises(InputError, match=r"holds results already \(result.h5\).*--force"):
        named_folder(tmp_path, False)
    assert named_folder(tmp_path, True) == tmp_path
    assert (tmp_path / "result.h5").read_bytes() == b"old"


def test_a_claimed_folder_is_refused_to_a_second_run(tmp_path: Path) -> None:
    folder = named_folder(tmp_path / "new" / "deep", False)
    with pytest.raises(InputError, match="another run is writing there, or was ended half way"):
        named_folder(folder, False)
    tidy(folder)
    assert not folder.exists()


def test_tidy_leaves_results_alone(tmp_path: Path) -> None:
    (tmp_path / "result.h5").write_bytes(b"x")
    tidy(tmp_path)
    assert (tmp_path / "result.h5").exists()


def test_a_file_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "runs").write_text("")
    with pytest.raises(ResultError, match="no folder for the results"):
        next_folder("x", tmp_path / "runs")
    with pytest.raises(InputError, match="needs a folder"):
        named_folder(tmp_path / "runs", False)


def test_table_has_units_and_decimal_points() -> None:
    lines = table(result()).decode("utf-8").splitlines()
    assert len(lines) == 3
    assert "peak [N m]" in lines[0]
    assert "345.678" in lines[1]
    assert ",no," in lines[1]
    assert ",yes," in lines[2]


@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="needs /proc")
def test_a_disk_that_fails_leaves_the_earlier_table_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    save(result(), tmp_path)
    before = (tmp_path / "table.csv").read_bytes()
    real = os.fsync

    def full(handle: int) -> None:
        if ".table.csv." in os.readlink(f"/proc/self/fd/{handle}"):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(handle)

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(ResultError, match="table could not be written, no space left"):
        save(result(title="Another"), tmp_path)
    assert {p.name for p in tmp_path.iterdir()} == {"result.h5", "table.csv"}
    assert (tmp_path / "table.csv").read_bytes() == before


def test_a_name_with_an_equals_sign_can_be_changed() -> None:
    """What stands before the sign is a whole path, in whatever way the name is written."""
    given = {'candidates["pins d=6"].setting': "300 N*m", "line.motor.limit": "1.5", "candidates['a=b=c'].pins": "3",
             "not a path [": "a=b"}  # fmt: skip
    assert pairs([f"{path} = {value}" for path, value in given.items()]) == given


def test_result_by_file_or_folder(tmp_path: Path) -> None:
    assert result_file(tmp_path) == tmp_path / "result.h5"
    assert result_file(tmp_path / "x.h5") == tmp_path / "x.h5"


def test_the_table_of_a_run_is_that_of_the_export(tmp_path: Path) -> None:
    made = result()
    export(made, tmp_path)
    assert table(made) == (tmp_path / "answers.csv").read_bytes()
