"""Where a row of numbers comes from: software, settings, files; enough to make it again."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

from balance import __version__
from balance.files import as_data
from balance.measures.sway import versions

if TYPE_CHECKING:
    from balance.calibration import Calibration
    from balance.recording import Recording
    from balance.stance import Stance


def digest(model: Any) -> str:
    """SHA-256 of a description as sorted JSON: the same contents give the same digest, however the file was written."""
    return hashlib.sha256(json.dumps(as_data(model), sort_keys=True).encode()).hexdigest()


def provenance(
    recording: Recording, stance: Stance, calibration: Calibration, cutoff_hz: float | None, spectrum: str
) -> dict[str, Any]:
    """As it stands in the findings; cutoff_hz: as applied, None for none."""
    trial = recording.trial
    return {
        "software": f"bandstand {__version__}",
        "recorded_with": trial.software,
        "started": trial.started,
        "conditions": trial.conditions or {},
        "filter": "none"
        if cutoff_hz is None
        else f"zero-phase Butterworth of order 2, twice, {cutoff_hz:g} Hz",
        "spectrum": spectrum,
        "samples_sha256": trial.samples.sha256,
        "rig_sha256": digest(trial.rig),
        "stance_sha256": digest(stance),
        "calibration_sha256": digest(calibration),
        "measure_versions": versions(),
    }
