"""Threads for the cases of a run."""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager


@contextmanager
def crew(most: int) -> Iterator[ThreadPoolExecutor]:
    """Threads for the cases; whoever stops the run (Ctrl-C, a fault) does not wait for those that still compile."""
    pool = ThreadPoolExecutor(min(most, os.cpu_count() or 1))
    try:
        yield pool
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        raise
    pool.shutdown()
