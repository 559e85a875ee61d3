"""Files that are no scenario: each gets a sentence, none makes the reader wait."""

from __future__ import annotations

import os
import socket
import time

import pytest
from samples import GOOD, REGISTRY

from simcore.errors import InputError
from simcore.scenario.load import decode
from simcore.scenario.read import read, read_text


def sentence(path):
    began = time.process_time()
    with pytest.raises(InputError) as caught:
        read(path, registry=REGISTRY)
    assert time.process_time() - began < 1.0
    assert len(caught.value.faults) == 1
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_a_good_file_with_and_without_byte_order_mark(tmp_path):
    plain, marked = tmp_path / "brötchen line.v2.toml", tmp_path / "b.toml"
    plain.write_text(GOOD, encoding="utf-8")
    marked.write_text(GOOD.replace("\n", "\r\n"), encoding="utf-8-sig", newline="")
    a, b = read(plain, registry=REGISTRY), read(str(marked), registry=REGISTRY)
    assert a.stations == b.stations
    assert a.source == str(plain)
    assert a.text == GOOD
    assert decode(GOOD.encode("utf-8-sig"), "b.toml") == GOOD


def test_absent_file_names_a_near_one(tmp_path):
    (tmp_path / "bakery.toml").write_text(GOOD)
    text = sentence(tmp_path / "bakary.toml")
    assert "there is no such file" in text
    assert "bakery.toml" in text


def test_folder(tmp_path):
    (tmp_path / "bakery.toml").write_text(GOOD)
    text = sentence(tmp_path)
    assert "is a folder" in text
    assert "bakery.toml" in text


def test_path_through_a_file(tmp_path):
    (tmp_path / "a.toml").write_text(GOOD)
    assert "part of the path is a file" in sentence(tmp_path / "a.toml" / "b.toml")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_pipe_never_blocks(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    assert "is a pipe" in sentence(tmp_path / "pipe.toml")


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="no device files here")
def test_device():
    assert "a device or a socket" in sentence("/dev/zero")


@pytest.mark.skipif(not hasattr(socket, "AF_UNIX"), reason="no sockets in folders here")
def test_socket(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with socket.socket(socket.AF_UNIX) as s:
        s.bind("s.toml")
        assert "a device or a socket" in sentence("s.toml")


def test_large_file_is_refused_unread(tmp_path):
    path = tmp_path / "large.toml"
    with open(path, "wb") as file:
        file.truncate(50_000_000)
    assert "50.0 MB, a scenario has at most 1 MB" in sentence(path)


@pytest.mark.parametrize("name", ["a\0b.toml", "x" * 5000 + ".toml", ""])
def test_impossible_names(name):
    assert sentence(name)


def test_loop_of_links(tmp_path):
    (tmp_path / "a.toml").symlink_to(tmp_path / "b.toml")
    (tmp_path / "b.toml").symlink_to(tmp_path / "a.toml")
    assert "cannot be read" in sentence(tmp_path / "a.toml")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b"\xef\xbb\xbf\n \n", "the file is empty"),
        (GOOD.encode("utf-16"), "UTF-16"),
        (GOOD.encode("utf-16-le"), "UTF-16 or UTF-32"),
        (GOOD.encode("utf-32-be"), "UTF-16 or UTF-32"),
        (b"title = 'a'\n# caf\xe9\n", ":2: is not UTF-8 text, got byte 0xe9 (save it as UTF-8)"),
        (b"title = 'a\0b'\n" + b"#" * 80, "zero bytes"),
        (b"# only a remark\n", "is missing"),
    ],
)
def test_bytes(tmp_path, data, words):
    (tmp_path / "f.toml").write_bytes(data)
    with pytest.raises(InputError) as caught:
        read(tmp_path / "f.toml", registry=REGISTRY)
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("title = 'a'\nsetting = 340 N*m\n", 2, 'written in quotes: "340 N*m"'),
        ("title = 'a'\ntitle = 'b'\n", 2, "written twice"),
        ("[line]\n[[line]]\n", 2, ""),
        ("[a]\n[a]\n", 2, "this table is written twice"),
        ("title = motor\n", 1, 'text is written in quotes: "motor"'),
        ("ratio = 0,95\n", 1, "a decimal point is needed"),
        ("title = 'a\n", 1, "not closed"),
        ("a = 1\nb 2\n", 2, "followed by ="),
        ("a = [1,\n2\n", 2, "a list is not closed"),
        ("a = 1 2\n", 1, "something stands behind the value"),
        ("a = {b = 1, b = 2}\n", 1, "written twice"),
        ("a = 1\n\x01 = 2\n", 2, ""),
        ("a = 1\nb = " + "9" * 5000 + "\n", 2, "thousands of digits"),
        ("a = 1\nb = " + "[" * 5000 + "]" * 5000 + "\n", None, "nested too deeply"),
        ("b = " + "{a=" * 5000 + "1" + "}" * 5000 + "\n", None, "nested too deeply"),
        ("x = 1\na" + ".a" * 50000 + " = 1\n", 2, "too many dots"),
        ("[" + "a." * 5000 + "b]\n", 1, "too many dots"),
        ("d = 2024-02-30\n", 1, ""),
        ("\n \n", None, "the text is empty"),
        ("#" * 1_000_001, None, "larger than 1 MB"),
    ],
)
def test_broken_toml(text, line, words):
    began = time.process_time()
    with pytest.raises(InputError) as caught:
        read_text(text, "f.toml", registry=REGISTRY)
    assert time.process_time() - began < 2.0
    (fault,) = caught.value.faults
    assert fault.line == line
    assert words in str(fault)
    assert "\n" not in str(fault)
