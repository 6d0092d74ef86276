"""C3D: forces as analog channels, points as markers at floor height, events; by the open specification, written with ezc3d."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from balance import __version__
from balance.exporting.signals import Signals, on_one_grid


def write_c3d(signals: Signals, out: Path, stem: str) -> list[Path]:
    """OUT/STEM.c3d. X forward, Y to the person's left, Z up (right-handed), mm and N; values are 32-bit floats there."""
    import ezc3d

    _, table = on_one_grid(signals)
    count = len(table["time_s"])
    points = list(signals.point_mm)
    file: Any = ezc3d.c3d()
    parameters = file["parameters"]
    parameters["POINT"]["RATE"]["value"] = [signals.rate_hz]
    parameters["POINT"]["LABELS"]["value"] = [_label(point) for point in points]
    parameters["POINT"]["DESCRIPTIONS"]["value"] = [
        f"load line through {point}, on the floor" for point in points
    ]
    parameters["POINT"]["UNITS"]["value"] = ["mm"]
    places = np.zeros((4, len(points), count))
    for k, point in enumerate(points):
        places[0, k], places[1, k] = table[f"{point}_ap_mm"], -table[f"{point}_ml_mm"]
        places[:3, k, np.isnan(places[0, k])] = np.nan
        places[3, k] = 1.0
    channels = [column for column in table if column.endswith("_n")]
    parameters["ANALOG"]["RATE"]["value"] = [signals.rate_hz]
    parameters["ANALOG"]["LABELS"]["value"] = channels
    parameters["ANALOG"]["UNITS"]["value"] = ["N"] * len(channels)
    parameters["ANALOG"]["DESCRIPTIONS"]["value"] = ["vertical force, down positive"] * len(channels)
    parameters["ANALOG"]["SCALE"]["value"] = [1.0] * len(channels)
    parameters["ANALOG"]["OFFSET"]["value"] = [0] * len(channels)
    parameters["ANALOG"]["GEN_SCALE"]["value"] = [1.0]
    file["data"]["points"] = places
    file["data"]["analogs"] = np.stack([np.nan_to_num(table[channel]) for channel in channels])[None, :, :]
    start_s = float(table["time_s"][0])
    if signals.events:
        file.add_parameter("EVENT", "USED", [len(signals.events)])
        file.add_parameter("EVENT", "CONTEXTS", ["General"] * len(signals.events))
        file.add_parameter("EVENT", "LABELS", [kind for _, kind, _ in signals.events])
        file.add_parameter(
            "EVENT",
            "DESCRIPTIONS",
            [detail.encode("ascii", "replace").decode()[:80] for _, _, detail in signals.events],
        )
        times = np.array([[0.0] * len(signals.events), [at - start_s for at, _, _ in signals.events]])
        file.add_parameter("EVENT", "TIMES", times)
    file.add_parameter("MANUFACTURER", "SOFTWARE", ["bandstand"])
    file.add_parameter("MANUFACTURER", "VERSION_LABEL", [__version__])
    path = out / f"{stem}.c3d"
    file.write(str(path))
    return [path]


def _label(point: str) -> str:
    return f"{point}_line"
