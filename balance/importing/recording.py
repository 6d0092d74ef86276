"""A plate's force and point as the loads of four cells that would show them, and these as a recording."""

from __future__ import annotations

import datetime
import hashlib
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from balance import __version__
from balance.calibration import Calibration
from balance.files import FileProblem, as_data
from balance.importing.mapping import Mapping
from balance.importing.table import Measured, read_table
from balance.recording import Recorder, next_folder
from balance.rig import Rig
from balance.stance import Stance
from balance.trial import Subject, Trial
from drivers.samples import SampleBlock

Array = npt.NDArray[np.float64]

REACH = 8_000_000  # counts either way from the middle of a cell's range: 24 bits, as a converter has
HALF_LENGTH_MM, HALF_WIDTH_MM = 150.0, 50.0  # of the four places a foot's load is laid out on; any would do
FOOT_MM = {
    "usable_length_mm": 230.0,
    "heel_width_mm": 60.0,
    "forefoot_width_mm": 90.0,
}  # where no stance is given


def import_table(table: Path, mapping: Mapping, out: Path, subject: str, stance: Stance | None) -> Path:
    """The new recording's folder. Raises FileProblem."""
    time_s, plates = read_table(table, mapping)
    cells, loads = _cells(mapping, plates)
    counts, channels = _counts(loads)
    rate_hz = (len(time_s) - 1) / float(time_s[-1])
    now = datetime.datetime.now().astimezone()
    name = f"imported: {mapping.name}"[:200]
    rig = Rig.model_validate({"schema": 1, "name": name, "cell": cells})
    imported = {
        "table": table.name, "sha256": hashlib.sha256(table.read_bytes()).hexdigest(), "mapping": as_data(mapping),
        "not_raw_counts": True, "one_plate": mapping.one_plate, "stance_unknown": stance is None,
    }  # fmt: skip
    trial = Trial.model_validate(
        {
            "schema": 1, "software": f"bandstand {__version__}", "state": "recording", "protocol": mapping.protocol, "started": None,
            "subject": Subject(code=subject), "rig": rig, "stance": stance or _stance(plates),
            "calibration": Calibration.model_validate({"schema": 1, "rig": name, "made": now.isoformat(timespec="seconds"), "shared_gain_uncertainty": 0.0, "creep_pct": 0.0, "channels": channels}),
            "rate_hz": rate_hz, "imported": imported,
        }
    )  # fmt: skip
    folder = next_folder(out, subject, now.date().isoformat(), mapping.protocol)
    recorder = Recorder(folder, trial)
    block = SampleBlock(
        np.arange(len(time_s)), np.rint(time_s * 1e6).astype(np.int64), np.zeros(len(time_s), dtype=np.int64), counts, None
    )  # fmt: skip
    recorder.put(block)
    recorder.close()
    if recorder.problem is not None:
        raise FileProblem(folder, recorder.problem)
    return folder


def _cells(mapping: Mapping, plates: dict[str, Measured]) -> tuple[list[dict[str, Any]], Array]:
    """Four places under a foot (of one plate for both feet two under each), and (n, cells) the loads there that give force and point
    back: the lever rule along and across."""
    cells: list[dict[str, Any]] = []
    loads: list[Array] = []
    for foot, plate in plates.items():
        ap0, ml0 = (
            0.0 if np.isnan(x).all() else round(float(np.nanmean(x)), 1) for x in (plate.ap_mm, plate.ml_mm)
        )
        u = np.nan_to_num((plate.ap_mm - ap0) / HALF_LENGTH_MM)
        v = np.nan_to_num((plate.ml_mm - ml0) / HALF_WIDTH_MM)
        for along in (-1, 1):
            for across in (-1, 1):
                side = ("left" if across < 0 else "right") if foot == "both" else foot
                cells.append({"channel": len(cells), "under": f"{side} {'heel' if along < 0 else 'forefoot'}", "ap_mm": ap0 + along * HALF_LENGTH_MM,
                              "ml_mm": ml0 + across * HALF_WIDTH_MM, "capacity_n": 1e5, "position_uncertainty_mm": 0.0})  # fmt: skip
                loads.append(plate.force_n * (1 + along * u) / 2 * (1 + across * v) / 2)
    return cells, np.stack(loads, axis=1)


def _counts(loads: Array) -> tuple[npt.NDArray[np.int64], list[dict[str, Any]]]:
    """(n, cells) counts, each cell's range laid out over 24 bits, and the calibration that undoes it."""
    middle = (loads.max(axis=0) + loads.min(axis=0)) / 2
    per_count = np.maximum(np.ptp(loads, axis=0), 1e-3) / (2 * REACH)
    zero = np.rint(-middle / per_count)
    counts = np.rint(loads / per_count + zero).astype(np.int64)
    fitted = [
        {"channel": c, "zero_counts": float(zero[c]), "zero_uncertainty_counts": 0.0, "newton_per_count": float(per_count[c]), "covariance": [[0.0]], "residual_n": 0.0}
        for c in range(loads.shape[1])
    ]  # fmt: skip
    return counts, fitted


def _stance(plates: dict[str, Measured]) -> Stance:
    """Feet laid around the points, so that there is a picture; nothing is known of shoes, and the findings say so."""
    feet = {}
    for side, shift in (("left", -HALF_WIDTH_MM), ("right", HALF_WIDTH_MM)):
        plate = plates.get(side) or plates["both"]
        ap, ml = (float(np.nanmean(x)) for x in (plate.ap_mm, plate.ml_mm))
        ml += shift if side not in plates else 0.0
        feet[f"{side}_foot"] = {
            **FOOT_MM,
            "heel_edge_ap_mm": round(ap - 0.5 * FOOT_MM["usable_length_mm"], 1),
            "heel_edge_ml_mm": round(ml, 1),
        }
    return Stance.model_validate({"schema": 1, **feet})
