"""A recording as signals on even times: newtons of each cell and part, points in mm; what every export is made of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from balance.chain import prepare
from balance.forces import cell_forces
from balance.load_line import Setup, lines_of
from balance.reading import POINTS
from balance.rig import SIDES
from balance.trial import Trial

if TYPE_CHECKING:
    from balance.recording import Recording

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Signals:
    """n samples of all unbroken stretches at ``rate_hz``.

    time_s (n,) seconds after the first row · measured (n,) False where a lost sample was filled in · cell_n {channel: (n,)} ·
    load_n 'left', 'right', 'left_crutch', 'right_crutch' → (n,), down positive · point_mm 'left', 'right', 'feet', 'body' → (n, 2) AP
    (forward), ML (to the person's right), nan where there is no point · events (seconds, kind, words) · stretches [start, end)
    """

    name: str
    trial: Trial
    rate_hz: float
    time_s: Array
    measured: Mask
    cell_n: dict[int, Array]
    load_n: dict[str, Array]
    point_mm: dict[str, Array]
    events: list[tuple[float, str, str]]
    stretches: list[tuple[int, int]]

    def columns(self) -> dict[str, npt.NDArray[Any]]:
        """Every signal by a name with its unit, in the order of a table."""
        table: dict[str, npt.NDArray[Any]] = {
            "time_s": self.time_s,
            "measured": self.measured.astype(np.int64),
        }
        table |= {f"cell{channel}_n": force for channel, force in self.cell_n.items()}
        table |= {f"{part}_n": load for part, load in self.load_n.items()}
        for point, at in self.point_mm.items():
            table |= {f"{point}_ap_mm": at[:, 0], f"{point}_ml_mm": at[:, 1]}
        return table


def signals_of(recording: Recording, cutoff_hz: float | None = None) -> Signals:
    """As recorded, or low-passed without delay at ``cutoff_hz``; lost samples of up to 0.1 s filled in and said, longer gaps left out."""
    trial = recording.trial
    prepared = prepare(recording.samples, cell_forces(trial.rig, trial.calibration, trial.zero_after_counts))
    forces = prepared.filtered_n(cutoff_hz)
    weight = trial.body_weight_n
    lines = lines_of(forces, Setup(trial.rig, trial.stance, weight, weight, trial.is_touched))
    load = {str(side): lines.foot_n[side] for side in SIDES}
    load |= {f"{side}_crutch": lines.vertical_n[side] for side in SIDES if side in lines.vertical_n}
    points = {}
    for point in POINTS:
        ap, ml = lines.point_mm[point]
        valid = lines.valid[point]
        points[str(point)] = np.stack([np.where(valid, ap, np.nan), np.where(valid, ml, np.nan)], axis=1)
    first_us = int(recording.samples.board_us[0])
    events = [((e.board_us - first_us) * 1e-6, e.kind, e.detail) for e in recording.events]
    cells = {cell.channel: forces[i] for i, cell in enumerate(trial.rig.cells)}
    return Signals(
        recording.name, trial, prepared.rate_hz, prepared.time_s, prepared.real, cells, load, points, events, prepared.stretches
    )  # fmt: skip


def meanings(signals: Signals) -> dict[str, dict[str, str]]:
    """Of each column its unit and what it is."""
    from balance.words import say

    units = {"time_s": "s", "measured": "1"}
    said = {}
    under = {f"cell{cell.channel}_n": cell.under for cell in signals.trial.rig.cells}
    for column in signals.columns():
        unit = units.get(column) or ("N" if column.endswith("_n") else "mm")
        part = (
            column.removesuffix("_n")
            .removesuffix("_mm")
            .removesuffix("_ap")
            .removesuffix("_ml")
            .replace("_", " ")
        )
        if column in under:
            text = say("signal.cell", under=under[column])
        elif column in units:
            text = say(f"signal.{column}")
        elif unit == "N":
            text = say("signal.load", part=part)
        else:
            text = say("signal.ap" if "_ap_" in column else "signal.ml", part=part)
        said[column] = {"unit": unit, "meaning": text}
    return said


def on_one_grid(signals: Signals) -> tuple[int, dict[str, Array]]:
    """The columns on one unbroken grid of samples at ``rate_hz`` from the first sample on, nan in the gaps: for formats that know
    one beginning and one rate. With them the number of samples in gaps."""
    numbers = np.rint((signals.time_s - signals.time_s[0]) * signals.rate_hz).astype(np.int64)
    count = int(numbers[-1]) + 1
    table = {}
    for column, values in signals.columns().items():
        whole = np.full(count, np.nan)
        whole[numbers] = values
        table[column] = whole
    table["time_s"] = signals.time_s[0] + np.arange(count) / signals.rate_hz
    table["measured"] = np.nan_to_num(table["measured"])
    return count - len(numbers), table
