"""One process a sweep folder: a lock of the operating system, with the holder's words in the file.

The system drops the lock when its process dies, however it dies.  The words tell who holds it or held it.
A folder shared between machines may know no locks across them: there a holder on another machine counts
as alive while it keeps touching the file.
"""

from __future__ import annotations

import json
import os
import socket
import time
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any, Final

from simcore.errors import ResultError
from simcore.results.files import why

NAME: Final = "lock"
BEAT: Final = 15.0
"""Seconds between two touches."""
SILENT: Final = 120.0
"""Seconds without a touch after which a holder on another machine counts as gone."""
_TRIES: Final = 5
_BYTE: Final = 1 << 30


def _grab(handle: int, shared: bool = False) -> bool:
    """Whether the system's lock is ours now; a ``shared`` one can be had by who may only read the file."""
    try:
        if os.name == "nt":  # pragma: no cover
            import msvcrt

            os.lseek(handle, _BYTE, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(handle, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def holder(folder: Path) -> dict[str, Any]:
    """Words of the present or last holder: pid, host, began [s since 1970]; empty if it took its leave."""
    try:
        found = json.loads((folder / NAME).read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def is_held(folder: Path) -> bool:
    """Whether a process works in the folder now."""
    path = folder / NAME
    try:
        handle = os.open(path, os.O_RDONLY)
    except OSError:
        return False
    try:
        return not _grab(handle, shared=True) or _elsewhere(path, holder(folder))
    finally:
        os.close(handle)


def _elsewhere(path: Path, words: dict[str, Any]) -> bool:
    """Whether a process of another machine touched the lock a moment ago."""
    if not words or words.get("host") == socket.gethostname():
        return False
    try:
        return time.time() - path.stat().st_mtime < SILENT
    except OSError:
        return False


class Lock:
    """Holds the folder while it is entered; ``stale`` then has the words of a holder that died."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.path = folder, folder / NAME
        self.handle = -1
        self.stale: dict[str, Any] = {}
        self.touched = 0.0

    def __enter__(self) -> Lock:
        """Raises ResultError if another process holds the folder."""
        try:
            self.handle = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o666)
        except OSError as e:
            raise ResultError(f"{self.path}: the lock cannot be made, {why(e)}") from None
        held = self._taken()
        words = holder(self.folder)
        if not held or _elsewhere(self.path, words):
            os.close(self.handle)
            raise ResultError(_refusal(self.folder, words, not held))
        self.stale = words
        try:
            self._write({"pid": os.getpid(), "host": socket.gethostname(), "began": time.time()})
        except OSError as e:
            os.close(self.handle)
            raise ResultError(f"{self.path}: the lock cannot be written, {why(e)}") from None
        return self

    def _taken(self) -> bool:
        for n in range(_TRIES):  # a status command may hold it for a blink
            if _grab(self.handle):
                return True
            if n + 1 < _TRIES:
                time.sleep(0.05)
        return False

    def _write(self, words: dict[str, Any]) -> None:
        data = json.dumps(words).encode() if words else b""
        os.lseek(self.handle, 0, os.SEEK_SET)
        os.write(self.handle, data)
        os.ftruncate(self.handle, len(data))

    def beat(self) -> None:
        """Show that the holder lives, every quarter of a minute at most."""
        now = time.monotonic()
        if now - self.touched >= BEAT:
            self.touched = now
            os.utime(self.path)

    def leave(self) -> None:
        """Take leave, so that the holder is not taken for one that died."""
        with suppress(OSError):
            self._write({})

    def __exit__(self, kind: type[BaseException] | None, e: BaseException | None, t: TracebackType | None) -> None:
        self.leave()
        os.close(self.handle)


def _refusal(folder: Path, words: dict[str, Any], certain: bool) -> str:
    who = f"process {words['pid']} on {words.get('host', '?')}" if "pid" in words else "another process"
    text = f"{folder}: {who} is at work there; wait for it, stop it with Ctrl-C, or give another folder"
    if certain:
        return text
    return f"{text} (if it is surely dead, try again in {SILENT / 60:.0f} minutes)"
