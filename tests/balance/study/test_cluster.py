"""A study on a cluster of two worker processes, one of which is killed in the middle: nothing is lost, nothing is done twice over."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest

from balance.recording import find_recordings
from balance.study import engines
from balance.study.journal import InMemory
from balance.study.run import run_study
from balance.study.settings import Settings
from tests.balance.day.a_day import AFTER, BEFORE, add
from tests.balance.study.test_study import table_of

distributed = pytest.importorskip("distributed")

# The cluster lives in a process of its own, as a user's does: its threads and sockets are none of this one's.
SERVE = """
import sys
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None, processes=True) as cluster:
        print(cluster.scheduler_address, *(worker.pid for worker in cluster.workers.values()), flush=True)
        sys.stdin.read()
"""


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[tuple[str, list[int]]]:
    """Address and the workers' process ids."""
    script = tmp_path / "serve.py"
    script.write_text(SERVE)
    root = str(Path(__file__).parents[3])
    with subprocess.Popen(
        [sys.executable, str(script)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
        env={**os.environ, "PYTHONPATH": root, "PYTHONWARNINGS": "ignore"}, cwd=tmp_path,
    ) as server:  # fmt: skip
        assert server.stdout is not None
        address, *pids = server.stdout.readline().split()
        yield address, [int(pid) for pid in pids]
        server.communicate("")


@pytest.mark.filterwarnings("ignore")  # what the library says of its own sockets when a worker dies
def test_a_killed_worker_loses_nothing(
    cluster: tuple[str, list[int]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    address, pids = cluster
    monkeypatch.setattr(engines, "AT_ONCE", 1)
    for k in range(6):
        add(tmp_path / "study" / f"A{k}" / "2026-03-02", AFTER, "10:00")
        add(tmp_path / "study" / f"A{k}" / "2026-03-02", BEFORE, "10:10", placing=k + 1)
    folders = find_recordings(tmp_path / "study")
    told: list[int] = []

    def killing(done: int) -> None:
        told.append(done)
        if done == 3:
            os.kill(pids[0], signal.SIGKILL)

    study = run_study(folders, Settings(), partial(engines.cluster, address=address), InMemory(), killing)
    assert told == list(range(13))
    assert table_of(study.found()) == table_of(
        run_study(folders, Settings(), engines.here, InMemory(), lambda _: None).found()
    )
