"""Files that appear whole or not at all, with named steps at which a test may cut the power."""

from __future__ import annotations

import hashlib
import os
import re
import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from simcore.errors import ResultError
from simcore.results.files import sync_folder, why

At = Callable[[str], None]
"""Called with the name of the step just done; the default does nothing."""

PART: Final = ".part"
_TRAILER: Final = re.compile(rb"\nsimcore check blake2 ([0-9a-f]{32})\n\Z")
_LENGTH: Final = 55
_PIECE: Final = 1 << 20


def nothing(step: str) -> None:
    """The hook of an undisturbed run."""


def digest(data: bytes) -> str:
    """Checksum as 32 hexadecimal digits."""
    return hashlib.blake2b(data, digest_size=16).hexdigest()


def sealed(data: bytes) -> bytes:
    """The bytes with a line behind them that holds their checksum."""
    return data + _line(digest(data))


def _line(check: str) -> bytes:
    return b"\nsimcore check blake2 " + check.encode() + b"\n"


def unsealed(data: bytes) -> bytes | None:
    """What :func:`sealed` was given, None if a bit of it or of its checksum is not as written."""
    found = _TRAILER.search(data[-_LENGTH:])
    body = data[:-_LENGTH]
    return body if found and found[1].decode() == digest(body) else None


def put(path: Path, data: bytes, at: At = nothing, name: str = "file") -> None:
    """Put ``data`` at ``path``: temporary name, disk, rename, disk.  Raises OSError; no half file stays."""
    with beside(path, at, name) as part, part.open("xb") as f:
        f.write(data)


@contextmanager
def beside(path: Path, at: At = nothing, name: str = "file") -> Iterator[Path]:
    """A temporary name beside ``path`` to write under; renamed to ``path`` if the body came through."""
    part = path.with_name(f".{path.name}.{os.getpid()}-{secrets.token_hex(4)}{PART}")
    try:
        yield part
        _sync(part)
        at(f"{name} written")
        os.replace(part, path)
        sync_folder(path.parent)
        at(f"{name} renamed")
    finally:
        with suppress(OSError):
            part.unlink()


def _sync(path: Path) -> None:
    with path.open("rb+") as f:
        os.fsync(f.fileno())


def seal(path: Path) -> None:
    """Put the checksum behind a file that is too large to hold in memory.  Raises OSError."""
    check = hashlib.blake2b(digest_size=16)
    with path.open("rb+") as f:
        for piece in iter(lambda: f.read(_PIECE), b""):
            check.update(piece)
        f.write(_line(check.hexdigest()))


def is_whole(path: Path) -> bool:
    """Whether the file is there and its checksum matches; read piece by piece."""
    check = hashlib.blake2b(digest_size=16)
    try:
        with path.open("rb") as f:
            left = path.stat().st_size - _LENGTH
            while left > 0 and (piece := f.read(min(_PIECE, left))):
                check.update(piece)
                left -= len(piece)
            found = _TRAILER.search(f.read())
    except OSError:
        return False
    return bool(found) and found is not None and found[1].decode() == check.hexdigest()


def clear_parts(folder: Path) -> int:
    """Take away what killed processes left half written; how many there were."""
    left = [p for p in folder.glob(f".*{PART}") if p.is_file()]
    for p in left:
        with suppress(OSError):
            p.unlink()
    return len(left)


def failed(path: Path, what: str, error: OSError | RuntimeError) -> ResultError:
    """The sentence for a file that could not be written; h5py raises RuntimeError where it cannot close one."""
    reason = why(error) if isinstance(error, OSError) else str(error)[:200]
    return ResultError(f"{path}: the {what} could not be written, {reason}")
