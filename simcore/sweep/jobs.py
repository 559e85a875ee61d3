"""Workers started as jobs of a cluster's own queue, through dask-jobqueue (``pip install simcore[cluster]``).

A small TOML file says which queue and what one job takes::

    system = "slurm"        # any queue that dask-jobqueue knows, by its plain name
    jobs = 20               # how many are kept running
    cores = 8               # of one job
    memory = "16 GB"        # of one job
    walltime = "08:00:00"   # of one job; left out: the queue's own

    [more]                  # handed to the queue as it stands
    account = "drives"
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from simcore.errors import Fault, InputError, ResultError
from simcore.results.files import why
from simcore.sweep.cluster import Cluster
from simcore.sweep.crew import MakeTrial

NEEDED: Final = ("system", "jobs", "cores", "memory")
FIELDS: Final = (*NEEDED, "walltime", "more")
MISSING: Final = "--cluster needs dask-jobqueue: pip install 'simcore[cluster]'"
RULES: Final[dict[str, tuple[Callable[[Any], bool], str]]] = {
    "system": (lambda v: isinstance(v, str) and bool(v.strip()), "must be the name of a queue, in quotes"),
    "jobs": (lambda v: _whole(v), "must be a whole number of at least 1"),
    "cores": (lambda v: _whole(v), "must be a whole number of at least 1"),
    "memory": (lambda v: _matches(r"\d+(\.\d+)? ?[kMGT]i?B", v), 'must be a number with kB, MB, GB or TB: "16 GB"'),
    "walltime": (lambda v: _matches(r"(\d+-)?\d+:[0-5]\d(:[0-5]\d)?", v), 'must be hours and minutes: "08:00:00"'),
    "more": (lambda v: isinstance(v, dict), "must be a table, [more]"),
}


@dataclass(frozen=True, slots=True)
class Queue:
    """What a file for --cluster says."""

    system: str
    jobs: int
    cores: int
    memory: str
    walltime: str = ""
    more: Mapping[str, Any] = field(default_factory=dict)
    file: str = ""


def _whole(v: Any) -> bool:
    return isinstance(v, int) and not isinstance(v, bool) and v >= 1


def _matches(pattern: str, v: Any) -> bool:
    return isinstance(v, str) and re.fullmatch(pattern, v.strip()) is not None


def read_queue(path: Path) -> Queue:
    """The checked content of a file for --cluster.  Raises InputError with all that is wrong in it."""
    from simcore.scenario.toml import document
    from simcore.scenario.words import nearest

    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as e:
        reason = why(e) if isinstance(e, OSError) else "is not a text in UTF-8"
        raise InputError([Fault("", f"cannot be read, {reason}", file=str(path))]) from None
    given = document(text, str(path))
    faults = [Fault(name, "is needed", file=str(path)) for name in NEEDED if name not in given]
    for name, value in given.items():
        line = _line(text, name)
        if name not in FIELDS:
            hint = nearest(name, FIELDS) + "; what the queue alone knows stands under [more]"
            faults.append(Fault(name, "is not known here", "", hint, line, str(path)))
        elif not RULES[name][0](value):
            faults.append(Fault(name, RULES[name][1], repr(value), "", line, str(path)))
    twice = sorted(set(FIELDS) & set(given["more"])) if isinstance(given.get("more"), dict) else []
    faults += [Fault(f"more.{n}", "stands at the top of the file, not under [more]", file=str(path))
               for n in twice if n in ("jobs", "cores", "memory", "walltime", "system")]  # fmt: skip
    if faults:
        raise InputError(faults)
    return Queue(**given, file=str(path))


def _line(text: str, name: str) -> int | None:
    found = re.search(rf"^\s*\[?\s*[\"']?{re.escape(name)}\b", text, re.MULTILINE)
    return None if found is None else text.count("\n", 0, found.end()) + 1


def systems() -> dict[str, Any]:
    """Classes of dask-jobqueue by the plain names of their queues.  Raises ResultError where it is not installed."""
    try:
        from dask_jobqueue import JobQueueCluster
        from dask_jobqueue.local import LocalCluster
    except ImportError:
        raise ResultError(MISSING) from None
    found = {LocalCluster, *JobQueueCluster.__subclasses__()}
    return {c.__name__.removesuffix("Cluster").lower(): c for c in found}


def started(queue: Queue) -> Any:
    """The queue's scheduler with its jobs asked for; jobs that end are asked for again.

    Raises InputError, ResultError.
    """
    from simcore.scenario.words import nearest

    known = systems()
    name = queue.system.strip().lower()
    if name not in known:
        hint = nearest(name, sorted(known))
        raise InputError([Fault("system", "is no queue that dask-jobqueue knows", queue.system, hint, file=queue.file)])
    more: dict[str, Any] = {"cores": queue.cores, "memory": queue.memory, **queue.more}
    more["scheduler_options"] = {"dashboard_address": None, **more.get("scheduler_options", {})}
    if queue.walltime:
        if "walltime" not in inspect.signature(known[name].job_cls.__init__).parameters:
            raise InputError([Fault("walltime", f"is nothing that {name} takes", file=queue.file)])
        more["walltime"] = queue.walltime
    try:
        cluster = known[name](**more)
        cluster.adapt(minimum_jobs=queue.jobs, maximum_jobs=queue.jobs, interval="2s")
    except (TypeError, ValueError, KeyError) as e:
        raise InputError([Fault("more", f"{name} does not take this: {_short(e)}", file=queue.file)]) from None
    except Exception as e:  # submitting commands and networks fail in many ways
        raise ResultError(f"{queue.file}: {name} cannot be started, {_short(e)}") from None
    return cluster


def _short(e: BaseException) -> str:
    return " ".join(str(e).split()).split(". Very likely")[0][:200] or type(e).__name__


class Jobs(Cluster):
    """Computes on jobs of a queue: starts them, uses their scheduler, ends them.  Raises InputError, ResultError."""

    def __init__(
        self, queue: Queue, make_trial: MakeTrial, expects: Sequence[str], versions: Mapping[str, str]
    ) -> None:
        self.cluster = started(queue)
        try:
            super().__init__(self.cluster.scheduler_address, make_trial, expects, versions)
        except BaseException:
            self._end()
            raise

    def close(self) -> None:
        super().close()
        self._end()

    def _end(self) -> None:
        try:
            self.cluster.close(timeout=10)
        except Exception:  # a queue that is gone has no jobs left to end
            return
