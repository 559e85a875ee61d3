"""Why a sweep should stop before its end: a clock time, Ctrl-C, a request to end."""

from __future__ import annotations

import os
import re
import signal
import sys
import threading
from collections.abc import Callable
from datetime import datetime, timedelta
from types import FrameType, TracebackType
from typing import Any, Final

from simcore.errors import InputError
from simcore.sweep.status import duration

BY_HAND = 130
"""Exit code of a process ended by Ctrl-C."""
ASKED: Final[dict[int, str]] = {
    int(signal.SIGINT): "stopped by Ctrl-C",
    int(signal.SIGTERM): "stopped by a request to end (SIGTERM)",
}
"""Reasons to stop that end the command with that code."""


def until(text: str, now: datetime | None = None) -> datetime:
    """The next local time of day ``text`` (HH:MM).  Raises InputError.

    >>> until("06:30", datetime(2024, 5, 6, 22, 0)).isoformat()
    '2024-05-07T06:30:00'
    """
    now = now or datetime.now()
    found = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", text.strip())
    if not found:
        raise InputError(f'--until: must be a time of day such as 06:30, got "{text[:40]}"')
    then = now.replace(hour=int(found[1]), minute=int(found[2]), second=0, microsecond=0)
    return then if then > now else then + timedelta(days=1)


def when(then: datetime, now: datetime | None = None) -> str:
    """In a sentence.

    >>> when(datetime(2024, 5, 7, 6, 30), datetime(2024, 5, 6, 22, 0))
    'It will stop at 06:30 tomorrow, in 8 h 30 min.'
    """
    now = now or datetime.now()
    day = "" if then.date() == now.date() else " tomorrow"
    return f"It will stop at {then:%H:%M}{day}, in {duration((then - now).total_seconds())}."


def _now_and_for_good() -> None:
    os._exit(BY_HAND)


class Stops:
    """Tells when to begin no further block; the first Ctrl-C asks, the second one ends the process at once.

    ``before`` says in a clause what keeps the blocks begun waiting; empty if nothing does.  ``last`` is called before
    the process ends at once.
    """

    def __init__(
        self,
        then: datetime | None = None,
        say: Callable[[str], None] = lambda text: None,
        end: Callable[[], None] = _now_and_for_good,
        before: Callable[[], str] = lambda: "",
    ) -> None:
        self.then, self.say, self.end, self.before = then, say, end, before
        self.last: Callable[[], None] = lambda: None
        self.asked = 0
        """The signal that asked, 0 while none did."""
        self._before: dict[int, Any] = {}

    @property
    def reason(self) -> str:
        """Why to stop, empty while there is no reason."""
        if self.asked:
            return ASKED[self.asked]
        if self.then is not None and datetime.now() >= self.then:
            return f"stopped at {self.then:%H:%M} as asked"
        return ""

    def __enter__(self) -> Stops:
        if threading.current_thread() is threading.main_thread():
            for name in (signal.SIGINT, signal.SIGTERM):
                self._before[name] = signal.signal(name, self._asked)
        return self

    def _asked(self, number: int, frame: FrameType | None) -> None:
        if self.asked:
            self.say("Stopped at once; finished blocks stay.")
            sys.stdout.flush()
            self.last()
            self.end()
        self.asked = number
        first = self.before()
        what = f"{first}, then the blocks begun" if first else "blocks in flight"
        self.say(f"Stopping: {what} are finished; Ctrl-C again stops at once.")

    def __exit__(self, kind: type[BaseException] | None, e: BaseException | None, t: TracebackType | None) -> None:
        for name, handler in self._before.items():
            signal.signal(name, handler)
        self._before.clear()
