"""The researcher's bench: measures against a general library, a study on one process and on two, memory of a worker."""

from __future__ import annotations

import resource
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
from joblib import Parallel, delayed

from balance.measures import entropy
from balance.measures.sway import Known, sway
from balance.recording import find_recordings
from balance.study import engines
from balance.study.journal import InMemory
from balance.study.run import run_study
from balance.study.settings import Settings
from tests.benchmarks.__main__ import seconds, show
from tests.benchmarks.make_study import COUNT, make

FEW = 120


def _sway() -> Any:
    from balance.filters import zero_phase

    rng = np.random.default_rng(1)
    return zero_phase(np.cumsum(rng.standard_normal((2, 6000)), axis=1) * 0.1, 10.0, 100.0)


def measures() -> None:
    """Of 60 s at 100 Hz."""
    import nolds

    ap, ml = _sway()
    ours = seconds(lambda: entropy.sample_entropy(ap), 5)
    base = seconds(lambda: nolds.sampen(ap, emb_dim=2, tolerance=0.2 * ap.std()), 1)
    show(
        "sample entropy, 6,000 samples",
        f"{1000 * ours:.0f} ms, {base / ours:.0f} ×",
        "≥ 20 × nolds",
        f"{base:.2f} s nolds 0.6.2",
    )
    known = Known(1.7, edge_mm=np.array([[-100.0, -150], [-100, 150], [150, 150], [150, -150]]))
    whole = seconds(lambda: sway(ap, ml, 100.0, known=known), 5)
    own = seconds(lambda: [entropy.sample_entropy(x) for x in (ap, ml)], 5)
    parts = seconds(lambda: [sway(ap, ml, 100.0, basic=True) for _ in range(3)], 5)
    show("all other measures of a recording (feet, each foot, body line)", f"{1000 * (whole - own + parts):.0f} ms", "≤ 30 ms", f"{1000 * own:.0f} ms both sample entropies")  # fmt: skip


def _most_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def study() -> None:
    """A few recordings of the study of 1,930, on one process and on two."""
    with tempfile.TemporaryDirectory() as scratch:
        make(Path(scratch), FEW)
        folders = find_recordings(Path(scratch))

        def run(engine: Any) -> float:
            start = time.perf_counter()
            run_study(folders, Settings(), engine, InMemory(), lambda _: None)
            return time.perf_counter() - start

        run_study(
            folders[:8], Settings(), lambda t, s: engines.processes(t, s, 2), InMemory(), lambda _: None
        )  # workers start, libraries load
        one, two = run(engines.here), run(lambda t, s: engines.processes(t, s, 2))
    mb = max(Parallel(n_jobs=2)(delayed(_most_mb)() for _ in range(8)))  # the same workers are used again
    show(f"{COUNT} recordings of 60 s at 100 Hz, two processes", f"{two / FEW * COUNT / 60:.1f} min ({1000 * two / FEW:.0f} ms a recording, of {FEW})", "≤ 3 min", f"{one / FEW * COUNT / 60:.1f} min on one")  # fmt: skip
    show("--jobs 2", f"{one / two:.2f} ×", "≥ 1.7 ×", f"{1000 * one / FEW:.0f} ms a recording on one")
    show("memory of a worker", f"{mb:.0f} MB", "≤ 500 MB", "")
