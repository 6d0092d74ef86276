"""Who does the work: this process, several processes of this computer, or a cluster. All give the same results, in any order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from balance.study.settings import Settings, analyse_one
from balance.words import say

Task = tuple[str, str]  # a result's key, the recording's folder
Done = tuple[str, dict[str, Any]]

AT_ONCE = 8  # recordings handed to a worker together
RETRIES = 3  # of what a worker that died had in hand
CONNECT_S = 10.0


class NoCluster(Exception):
    """No scheduler answers; the message says where."""


def here(tasks: Iterable[Task], settings: Settings) -> Iterator[Done]:
    """One after the other."""
    for key, folder in tasks:
        yield key, analyse_one(folder, settings)


def _some(tasks: list[Task], settings: Settings) -> list[Done]:
    return list(here(tasks, settings))


def _in_batches(tasks: Iterable[Task]) -> Iterator[list[Task]]:
    batch: list[Task] = []
    for task in tasks:
        batch.append(task)
        if len(batch) == AT_ONCE:
            yield batch
            batch = []
    if batch:
        yield batch


def processes(tasks: Iterable[Task], settings: Settings, jobs: int) -> Iterator[Done]:
    """On ``jobs`` processes of this computer."""
    from joblib import Parallel, delayed

    parallel = Parallel(n_jobs=jobs, return_as="generator_unordered", pre_dispatch="2*n_jobs", batch_size=1)
    for batch in parallel(delayed(_some)(some, settings) for some in _in_batches(tasks)):
        yield from batch


def cluster(tasks: Iterable[Task], settings: Settings, address: str) -> Iterator[Done]:
    """On the Dask cluster whose scheduler is at ``address``. Its workers see the recordings under the same paths and have bandstand
    installed. What a worker that dies had in hand is done again by another."""
    import distributed

    dask: Any = distributed

    try:
        client = dask.Client(address, timeout=CONNECT_S)
    except (OSError, ValueError) as error:
        raise NoCluster(say("study.no-cluster", address=address, reason=error)) from None
    with client:
        waiting = _in_batches(tasks)
        at_once = 4 * max(len(client.scheduler_info()["workers"]), 1)
        running = dask.as_completed(with_results=True)
        count = 0
        while True:
            while count < at_once and (batch := next(waiting, None)) is not None:
                running.add(client.submit(_some, batch, settings, retries=RETRIES, pure=False))
                count += 1
            if count == 0:
                return
            _, done = next(running)
            count -= 1
            yield from done
