"""The bytes of a scenario file: found, of a fair size, and text."""

from __future__ import annotations

import codecs
import difflib
import os
import stat
from pathlib import Path
from typing import Final

from simcore.errors import Fault, InputError

LARGEST: Final = 1_000_000
"""Bytes of the largest file that is read."""
_FOREIGN: Final = {codecs.BOM_UTF16_LE: "UTF-16", codecs.BOM_UTF16_BE: "UTF-16"}


def load(path: str | os.PathLike[str]) -> str:
    """The text of a scenario file.  Never waits on a pipe; raises InputError in a sentence."""
    name = os.fspath(path)
    try:
        _check_sort(os.stat(name), name)
        data = _bytes(name)
    except (OSError, ValueError) as error:
        raise _refused(name, _why(error, name)) from None
    if len(data) > LARGEST:
        raise _refused(name, _too_large(len(data)))
    return decode(data, name)


def decode(data: bytes, name: str) -> str:
    """UTF-8 text of the bytes, a byte order mark taken off; InputError names the line at fault."""
    for mark, code in _FOREIGN.items():
        if data.startswith(mark):
            raise _refused(name, f"the file is {code} text", "save it as UTF-8")
    if not data.strip(codecs.BOM_UTF8 + b" \t\r\n"):
        raise _refused(name, "the file is empty", "simcore new makes a starter scenario")
    if b"\0" in data:
        wide = data.count(b"\0") > len(data) // 4
        what = "the file is UTF-16 or UTF-32 text" if wide else "the file holds zero bytes, it is not a text"
        raise _refused(name, what, "save it as UTF-8")
    try:
        return data.removeprefix(codecs.BOM_UTF8).decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        got = f"byte 0x{data[error.start]:02x}"
        raise InputError([Fault("", "is not UTF-8 text", got, "save it as UTF-8", line, name)]) from None


def _bytes(name: str) -> bytes:
    handle = os.open(name, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with os.fdopen(handle, "rb") as file:
        _check_sort(os.fstat(file.fileno()), name)
        return file.read(LARGEST + 1)


def _check_sort(status: os.stat_result, name: str) -> None:
    mode = status.st_mode
    if stat.S_ISDIR(mode):
        raise _refused(name, "is a folder, a scenario file is needed", _near_file(Path(name)))
    if not stat.S_ISREG(mode):
        what = "a pipe" if stat.S_ISFIFO(mode) else "a device or a socket"
        raise _refused(name, f"is {what}, a scenario file is needed")
    if status.st_size > LARGEST:
        raise _refused(name, _too_large(status.st_size))


def _too_large(size: int) -> str:
    return f"the file has {size / 1e6:.1f} MB, a scenario has at most {LARGEST / 1e6:.0f} MB"


def _why(error: Exception, name: str) -> tuple[str, str]:
    if isinstance(error, FileNotFoundError):
        return "there is no such file", _near_file(Path(name))
    if isinstance(error, NotADirectoryError):
        return "there is no such file: part of the path is a file, not a folder", ""
    if isinstance(error, PermissionError):
        return "may not be read: permission denied", ""
    if isinstance(error, OSError) and error.strerror:
        return f"cannot be read: {error.strerror.lower()}", ""
    return "is not a name of a file", ""


def _near_file(path: Path) -> str:
    folder = path if path.is_dir() else path.parent
    try:
        names = sorted(p.name for p in folder.iterdir() if p.suffix == ".toml")[:500]
    except OSError:
        return ""
    if path.is_dir():
        return f"in it: {', '.join(names[:5])}" if names else "there is no .toml file in it"
    hit = difflib.get_close_matches(path.name[:100], names, n=1, cutoff=0.5)
    return f"nearest: {folder / hit[0]}" if hit else ""


def _refused(name: str, rule: str | tuple[str, str], hint: str = "") -> InputError:
    rule, hint = rule if isinstance(rule, tuple) else (rule, hint)
    shown = "".join(c if c.isprintable() else "?" for c in name[:200])
    return InputError([Fault("", rule, "", hint, None, shown)])
