"""For notebooks and scripts: recordings as tables, findings, measures, uncertainty; the same functions that the commands use.

>>> import balance
>>> recording = balance.read("recordings/R7T/2026-11-25/01-quiet-standing")
>>> balance.frame(recording).columns[:3].tolist()
['time_s', 'measured', 'cell0_n']
>>> found = balance.findings(recording)
>>> round(found["load"]["left_pct"])
54
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy.typing as npt

from balance.analysis import findings
from balance.exporting.signals import Signals, signals_of
from balance.recording import Recording, find_recordings, read_recording

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["analyse", "findings", "frame", "read", "signals", "sway", "uncertainties"]


def read(folder: str | Path) -> Recording:
    """A recording with raw counts, events, rig, stance and calibration. Raises balance.files.FileProblem with every fault found."""
    return read_recording(Path(folder))


def signals(recording: Recording, cutoff_hz: float | None = None) -> Signals:
    """Newtons and millimetres as numpy arrays, (n,) and (n, 2); cutoff_hz: low-passed without delay, None: as recorded."""
    return signals_of(recording, cutoff_hz)


def frame(recording: Recording, cutoff_hz: float | None = None) -> pd.DataFrame:
    """The same as a table, a row a sample; names carry units, AP is forward, ML to the person's right; nan where there is no point."""
    import pandas as pd

    return pd.DataFrame(signals(recording, cutoff_hz).columns())


def sway(
    ap_mm: npt.ArrayLike,
    ml_mm: npt.ArrayLike,
    rate_hz: float,
    *,
    spectrum: Literal["multitaper", "welch"] = "multitaper",
    height_m: float | None = None,
) -> dict[str, dict[str, float | None]]:
    """Every sway measure of points (n,) in mm, evenly sampled: {'ap', 'ml', 'resultant'} → {measure: value, None where the points do
    not give what it needs}. `bandstand measures` says what each is, with its source.

    >>> import numpy as np
    >>> t = np.arange(6000) / 100
    >>> circle = sway(5 * np.cos(np.pi * t), 5 * np.sin(np.pi * t), 100.0)
    >>> round(circle["resultant"]["mean_frequency_hz"], 2)
    0.5
    """
    import numpy as np

    from balance.measures.sway import Known
    from balance.measures.sway import sway as measured

    ap, ml = (np.asarray(values, dtype=np.float64) for values in (ap_mm, ml_mm))
    if ap.ndim != 1 or ap.shape != ml.shape:
        raise ValueError(f"ap_mm and ml_mm must be two series of one length, not {ap.shape} and {ml.shape}")
    if not (np.isfinite(ap).all() and np.isfinite(ml).all() and rate_hz > 0):
        raise ValueError("sway needs points without gaps (no nan) and a rate above 0")
    return measured(ap, ml, rate_hz, spectrum=spectrum, known=Known(height_m))[0]


def uncertainties(recording: Recording) -> pd.DataFrame:
    """What each result's standard uncertainty is made of: columns result, value, unit, uncertainty, and a row a source: source,
    standard_uncertainty, sensitivity, share_pct of the variance.

    >>> made_of = uncertainties(read("recordings/R7T/2026-11-25/01-quiet-standing"))
    >>> round(made_of[made_of.result == "load.total_n"].share_pct.sum())
    100
    """
    import pandas as pd

    rows = []
    for name, made_of in findings(recording, budgets=True)["budget"].items():
        whole = {"result": name, **{key: made_of[key] for key in ("value", "unit", "uncertainty")}}
        rows += [{**whole, **{k: v for k, v in entry.items() if k != "unit"}} for entry in made_of["entries"]]
    return pd.DataFrame(rows)


def analyse(
    paths: str | Path | Iterable[str | Path], *, jobs: int = 1, cutoff_hz: float | None = 10.0
) -> pd.DataFrame:
    """One row a recording below ``paths``, as `bandstand analyse --format csv` gives them; a broken one has its ``error``."""
    from functools import partial

    import pandas as pd

    from balance.study import engines
    from balance.study.journal import InMemory
    from balance.study.rows import row_of
    from balance.study.run import run_study
    from balance.study.settings import Settings

    several = [paths] if isinstance(paths, str | Path) else list(paths)
    folders = [folder for path in several for folder in find_recordings(Path(path))]
    engine = engines.here if jobs == 1 else partial(engines.processes, jobs=jobs)
    done = run_study(folders, Settings(cutoff_hz), engine, InMemory(), lambda _: None)
    return pd.DataFrame([row_of(found) for found in done.found()])
