"""Blocks computed by the workers of a dask scheduler (``pip install simcore[cluster]``).

The same blocks, the same ledger; this process writes.  Workers may die and join at any time: a block whose
worker died is computed again elsewhere.
"""

from __future__ import annotations

import pickle
import queue
import threading
import time
from collections.abc import Mapping, Sequence
from hashlib import blake2b
from typing import Any, Final

from simcore.errors import ResultError
from simcore.sweep.blocks import BlockKey
from simcore.sweep.crew import Bench, Done, MakeTrial, compute, drained, outcome

PATIENCE: Final = "30s"
LOOK: Final = 2.0
"""Seconds between two counts of the workers."""

_benches: dict[str, Bench] = {}
_guard = threading.Lock()


def on_worker(maker: bytes, key: BlockKey, expects: Sequence[str], versions: Mapping[str, str]) -> Done:
    """What a worker does; its trials stay for the next block."""
    name = blake2b(maker, digest_size=16).hexdigest()
    with _guard:
        if name not in _benches:
            _benches.clear()
            _benches[name] = Bench(pickle.loads(maker))
        bench = _benches[name]
    own = _versions_here(versions)
    return compute(bench, key, expects, own)


def _versions_here(wanted: Mapping[str, str]) -> dict[str, str]:
    """The worker's versions of what the sweep names."""
    from simcore.sweep.versions import versions

    here = versions()
    return {k: here.get(k, wanted[k]) for k in wanted}


class Cluster:
    """Computes on the workers that a scheduler knows.  Raises ResultError if it cannot be reached."""

    def __init__(
        self, address: str, make_trial: MakeTrial, expects: Sequence[str], versions: Mapping[str, str]
    ) -> None:
        try:
            from distributed import Client
        except ImportError:
            raise ResultError("--scheduler needs dask.distributed: pip install 'simcore[cluster]'") from None
        self.address = address
        self.task = (pickle.dumps(make_trial), tuple(expects), dict(versions))
        try:
            self.client: Any = Client(address, timeout=PATIENCE, set_as_default=False)
        except (OSError, ValueError, TimeoutError) as e:
            raise ResultError(f"{address}: no scheduler answers there, {str(e)[:200] or type(e).__name__}") from None
        self.ready: queue.SimpleQueue[tuple[BlockKey, Any]] = queue.SimpleQueue()
        self.flying: dict[BlockKey, Any] = {}
        self.looked, self.threads = -LOOK, 0

    def _look(self) -> int:
        """Threads of all workers, counted anew every two seconds."""
        now = time.monotonic()
        if now - self.looked >= LOOK:
            self.looked = now
            try:
                self.threads = sum(self.client.nthreads().values())
            except Exception as e:  # the scheduler is gone; many kinds are raised
                raise ResultError(f"{self.address}: the scheduler does not answer any more ({type(e).__name__})") from e
        return self.threads

    @property
    def size(self) -> int:
        return max(2, 2 * self._look())

    @property
    def idle(self) -> bool:
        return self._look() == 0

    def submit(self, key: BlockKey) -> None:
        maker, expects, versions = self.task
        future = self.client.submit(on_worker, maker, key, expects, versions, pure=False)
        self.flying[key] = future
        future.add_done_callback(lambda f: self.ready.put((key, f)))

    def collect(self, timeout: float) -> list[tuple[BlockKey, Done | BaseException]]:
        out: list[tuple[BlockKey, Done | BaseException]] = []
        for key, future in drained(self.ready, timeout):
            out.append((key, outcome(future)))
            self.flying.pop(key, None)
        if self.client.status != "running":
            raise ResultError(f"{self.address}: the scheduler does not answer any more")
        return out

    def drop(self) -> None:
        """Which blocks the workers have begun is not known here: all are waited for."""

    def close(self) -> None:
        try:
            self.client.cancel(list(self.flying.values()), force=True)
            self.client.close(timeout="5s")
        except Exception:  # a scheduler that is gone has nothing left to drop
            return
