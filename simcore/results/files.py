"""Whole files, or none: safe replacement, and a checksum behind the HDF5 part.

The last 30 bytes of a result are a line with the CRC-32 of all before them.  HDF5 readers ignore it; a
program that changes the file drops it, and the file is then read without the check.
"""

from __future__ import annotations

import errno
import os
import re
import secrets
import stat
import zlib
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from simcore.errors import ResultError

RESULT: Final = "result.h5"
"""Name of the result in the folder of a run."""
_TRAILER: Final = re.compile(rb"\nsimcore check crc32 ([0-9a-f]{8})\n\Z")
_LENGTH: Final = 30
_SIGNATURE: Final = b"\x89HDF\r\n\x1a\n"
_BUSY: Final = (errno.EACCES, errno.EPERM)


def sealed(image: bytes) -> bytes:
    """The bytes with their checksum behind them."""
    return image + b"\nsimcore check crc32 %08x\n" % zlib.crc32(image)


def replace(path: str | os.PathLike[str], data: bytes, what: str = "result") -> Path:
    """Put ``data`` at ``path``: under a temporary name beside it, on disk, then renamed.

    Whatever happens on the way, an existing file stays whole.  Raises ResultError with the reason.
    """
    target = refuse(path, what)
    beside = target.with_name(f".{target.name[:40]}.{os.getpid()}-{secrets.token_hex(4)}.part")
    try:
        _put(beside, target, data)
    except OSError as e:
        reason = "the file is open in another program or may not be changed" if e.errno in _BUSY else why(e)
        raise ResultError(f"{path}: the {what} could not be written, {reason}") from e
    finally:
        with suppress(OSError):
            beside.unlink()
    sync_folder(target.parent)
    return Path(path)


def _put(beside: Path, target: Path, data: bytes) -> None:
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(beside, flags, 0o666), "wb") as f:
        f.write(data)
        f.flush()
        os.fsync(f.fileno())
    if target.exists():
        with suppress(OSError):
            beside.chmod(stat.S_IMODE(target.stat().st_mode))
    os.replace(beside, target)


def refuse(path: str | os.PathLike[str], what: str) -> Path:
    """The file that ``path`` leads to; ResultError with the reason where the ``what`` cannot be written there."""
    target = Path(os.path.realpath(path))
    if target.is_dir():
        raise ResultError(f"{path}: is a folder, the {what} needs a file name")
    if not target.parent.is_dir():
        raise ResultError(f"{path}: the folder {target.parent} does not exist")
    if not target.exists():
        return target
    if not target.is_file():
        raise ResultError(f"{path}: is no ordinary file, the {what} is not written there")
    if not os.access(target, os.W_OK):
        raise ResultError(f"{path}: is write-protected, the {what} is not written over it")
    return target


def sync_folder(folder: Path) -> None:
    """Let the new name reach the disk too, where folders can be opened."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def why(e: OSError) -> str:
    """The system's reason in small letters."""
    text = e.strerror or str(e)
    return text[:1].lower() + text[1:]


def result_file(path: str | os.PathLike[str]) -> Path:
    """The result file at ``path``, or in the folder ``path``."""
    given = Path(path)
    return given / RESULT if given.is_dir() else given


def opened(path: str | os.PathLike[str]) -> Any:
    """The HDF5 file at ``path``, held in memory so that the name is free again; ResultError if damaged."""
    import h5py

    data = _bytes(Path(path))
    trailer = _TRAILER.search(data[-_LENGTH:])
    if trailer:
        data = data[:-_LENGTH]
        if zlib.crc32(data) != int(trailer[1], 16):
            raise ResultError(f"{path}: is damaged, its checksum does not match")
    if not data.startswith(_SIGNATURE):
        raise ResultError(f"{path}: is not a result of simcore, it is no HDF5 file")
    try:
        return h5py.File(h5py.h5f.open_file_image(data))
    except Exception as e:  # h5py raises many kinds for a damaged file
        raise ResultError(f"{path}: is damaged or cut short") from e


def _bytes(path: Path) -> bytes:
    if path.is_dir():
        if not (path / RESULT).exists():
            raise ResultError(f"{path}: is a folder without {RESULT}, a result file or the folder of a run is needed")
        path /= RESULT
    if not path.exists():
        raise ResultError(f"{path}: there is no such file{_near(path)}")
    if not path.is_file():
        raise ResultError(f"{path}: is no ordinary file")
    try:
        data = path.read_bytes()
    except OSError as e:
        raise ResultError(f"{path}: could not be read, {why(e)}") from e
    if not data:
        raise ResultError(f"{path}: is empty")
    return data


def _near(path: Path) -> str:
    """The nearest name of a result in the same folder, as a hint."""
    from difflib import get_close_matches

    try:
        names = [p.name for p in path.parent.glob("*.h5")]
    except OSError:
        return ""
    near = get_close_matches(path.name, names, 1)
    return f" (did you mean {near[0]}?)" if near else ""
