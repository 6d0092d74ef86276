"""The live chain: causal, pure, one per rig + stance + calibration; the same numbers live and replayed.

Results do not depend on how samples are cut into blocks, to the last bit. Live numbers are a view, never a finding.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from balance.calibration import Calibration
from balance.error_sources import sources_of
from balance.filters import CUTOFF_HZ, CausalLowPass, fits
from balance.forces import ForceTable, beyond_calibration, cell_forces
from balance.load_line import Lines, Setup, lines_of
from balance.moments import ankle_nm
from balance.reading import LINES, POINTS, LinePlace, Reading, Snapshot
from balance.rig import SIDES, Rig, Side
from balance.stance import Stance
from balance.support import feet_hull_mm, loaded_tips_mm, margin, probability_over, stands_on
from balance.uncertainty import Levers, Sensitivities, against_the_feet_mm2, line_uncertainty
from balance.verdict import offset_mm, probability_inside, unmeasured_limit_n, verdict
from drivers.samples import CHANNEL_GOOD, SampleBlock, channel_status

Array = npt.NDArray[np.float64]

SETTLING_CONVERSIONS = 4  # of a bridge converter after a step
LONGEST_GAP_US = 100_000  # after a longer gap the filter starts anew
SNAPSHOTS_PER_S = 10


class Monitor:
    """The live chain of one rig, stance and calibration at a nominal rate."""

    def __init__(
        self,
        rig: Rig,
        stance: Stance,
        calibration: Calibration,
        *,
        rate_hz: float,
        body_weight_n: float | None = None,
        body_weight_u_n: float = 10.0,
        touched: bool = False,
    ) -> None:
        self._calibration = calibration
        self._cells = cell_forces(rig, calibration)
        self._setup = Setup(rig, stance, body_weight_n, body_weight_n, touched)
        self._table = ForceTable.of(self._cells)
        self._sources = sources_of(self._setup, self._cells, calibration.gain_error, body_weight_u_n)
        self._levers = Levers.of(self._setup)
        self._hulls: dict[tuple[bool, bool], Array] = {}
        self._filter = CausalLowPass(CUTOFF_HZ, rate_hz) if fits(CUTOFF_HZ, rate_hz) else None
        self._every = max(1, round(rate_hz / SNAPSHOTS_PER_S))
        self._last: tuple[int, int] | None = None  # sequence and board_us of the last sample
        self.rate_hz = rate_hz

    @property
    def delay_ms(self) -> float:
        """Half the converters' settling time, and the filter's group delay at low frequencies."""
        settling_ms = SETTLING_CONVERSIONS / 2 / self.rate_hz * 1000
        filter_ms = math.sqrt(2) / (2 * math.pi * CUTOFF_HZ) * 1000 if self._filter else 0.0
        return settling_ms + filter_ms

    @property
    def setup(self) -> Setup:
        return self._setup

    def cells_n(self, block: SampleBlock) -> dict[int, float]:
        """Mean newtons of each cell over a block, by channel; a cell whose converter said a fault in it is left out."""
        forces = self._table.newtons(block.counts).mean(axis=0)
        cells = zip(self._table.channels.tolist(), forces.tolist(), strict=True)
        return {c: n for c, n in cells if (channel_status(block.status, c) == CHANNEL_GOOD).all()}

    def feed(self, block: SampleBlock) -> Reading:
        """The block's samples, filtered with what came before."""
        forces = self._table.newtons(block.counts)
        good = self._table.usable(block.status, block.counts, forces)
        sequence, us, forces = block.sequence[good], block.board_us[good], forces[good]
        filtered = np.ascontiguousarray(self._low_pass(forces, sequence, us).T)
        lines = lines_of(filtered, self._setup)
        snapshots = tuple(
            self._snapshot(
                int(sequence[i]), int(us[i]), filtered[:, i : i + 1], np.abs(forces[i]), lines.at(i)
            )
            for i in np.flatnonzero(sequence % self._every == 0).tolist()
        )
        return Reading(
            sequence=sequence,
            board_us=us,
            load_n={
                **{str(side): foot for side, foot in lines.foot_n.items()},
                **{f"{side}_crutch": hand for side, hand in lines.hand_n.items()},
            },
            point_mm={point: np.array(lines.point_mm[point]).T for point in POINTS},
            position_pct={line: lines.position_pct(line) for line in LINES},
            left_out=len(good) - len(sequence),
            snapshots=snapshots,
        )

    def _low_pass(self, forces: Array, sequence: npt.NDArray[np.int64], us: npt.NDArray[np.int64]) -> Array:
        """(n, cells) filtered; anew after each gap longer than 0.1 s."""
        if len(sequence) == 0:
            return forces
        if self._last is None:
            self._last = (int(sequence[0]), int(us[0]))
        steps = sequence - np.concatenate(([self._last[0]], sequence[:-1]))
        waits = us - np.concatenate(([self._last[1]], us[:-1]))
        self._last = (int(sequence[-1]), int(us[-1]))
        if self._filter is None:
            return forces
        parts, start = [], 0
        for i in np.flatnonzero((steps > 1) & (waits > LONGEST_GAP_US)).tolist():
            parts.append(self._filter.run(forces[start:i]))
            self._filter.restart()
            start = i
        parts.append(self._filter.run(forces[start:]))
        return parts[0] if len(parts) == 1 else np.concatenate(parts)

    def _snapshot(self, sequence: int, us: int, force_n: Array, raw_n: Array, lines: Lines) -> Snapshot:
        """One sample in full; computed alone, so that its last bits do not depend on the block. force_n (cells, 1)."""
        setup = self._setup
        sens = Sensitivities(force_n, lines, setup, self._table, self._sources, self._levers)
        absent: dict[str, str] = {}
        valid = {line: bool(lines.valid[line][0]) for line in LINES}
        rows = sens.points([point for point in POINTS if valid[point]])
        covariances = {point: sens.covariance_mm2(row) for point, row in rows.items()}
        points = {p: (float(lines.point_mm[p][0][0]), float(lines.point_mm[p][1][0])) for p in covariances}
        shares: dict[Side, float] = {side: float(lines.share[side][0]) for side in SIDES}
        places: dict[str, LinePlace] = {}
        for line in LINES:
            if not valid[line]:
                absent[line] = "live.not-loaded" if line in ("left", "right", "feet") else "live.no-body-line"
            elif line in ("feet", "body") and setup.heels_staggered:
                absent[line] = "live.heels-staggered"
            else:
                point = line if line in POINTS else "body"
                places[line] = self._place(line, lines, points[point], covariances[point], shares)
        return self._assemble(sequence, us, raw_n, lines, sens, shares, points, covariances, places, absent)

    def _place(
        self,
        line: str,
        lines: Lines,
        point_mm: tuple[float, float],
        covariance: Array,
        shares: dict[Side, float],
    ) -> LinePlace:
        low, high = self._setup.stance.band
        mean_mm = float(lines.along_mm[line][0])
        length = lines.length_mm[line]
        length_mm = float(length[0]) if isinstance(length, np.ndarray) else float(length)
        u_mm = line_uncertainty(line, self._setup, mean_mm, point_mm, covariance, shares).mm
        probability = probability_inside(mean_mm, u_mm, low * length_mm, high * length_mm)
        return LinePlace(
            position_pct=100 * mean_mm / length_mm,
            mean_mm=mean_mm,
            uncertainty_mm=u_mm,
            offset_mm=offset_mm(mean_mm, low * length_mm, high * length_mm),
            probability_inside=probability,
            verdict=verdict(probability),
        )

    def _assemble(
        self,
        sequence: int,
        us: int,
        raw_n: Array,
        lines: Lines,
        sens: Sensitivities,
        shares: dict[Side, float],
        points: dict[str, tuple[float, float]],
        covariances: dict[str, Array],
        places: dict[str, LinePlace],
        absent: dict[str, str],
    ) -> Snapshot:
        setup = self._setup
        total_n, weight = float(lines.total_n[0]), setup.body_weight_n
        feet_valid = bool(lines.valid["feet"][0])
        total_u_n = missing_n = missing_u_n = None
        beyond = False
        if feet_valid:
            total_row = sens.total()
            total_u_n = math.sqrt(sens.u2(total_row))
            if weight is not None and not setup.has_unmeasured_support:
                missing_n = weight - total_n
                missing_u_n = math.sqrt(sens.u2(sens.body_weight() - total_row))
                beyond = missing_n > unmeasured_limit_n(missing_u_n, weight)
        undecided = beyond or setup.touched
        if undecided:
            for line in ("body", "body_on_left", "body_on_right"):
                if line in places:
                    places[line] = replace(places[line], verdict="undecided")
        crutch_pct = None
        if feet_valid and not setup.crutches_not_measured:
            whole = weight if setup.from_weight and weight is not None else total_n
            crutch_pct = 100 * float(lines.support_n[0]) / whole
        hull = self._hull(lines)
        margin_mm = probability = None
        if "body" in points and len(hull) >= 3:
            covariance = against_the_feet_mm2(covariances["body"], setup, shares)
            margin_mm = margin(points["body"], hull).distance_mm
            probability = probability_over(np.array(points["body"]), covariance, hull)
        tips = {f"{s}_crutch": tip for s in SIDES if (tip := self._tip(lines, s)) is not None}
        held = loaded_tips_mm(setup, lines, lines.valid["feet"]) if feet_valid else {}
        ankles = {s: m for s in SIDES if lines.valid[s][0] and (m := ankle_nm(lines, setup, s)) is not None}
        return Snapshot(
            sequence=sequence,
            board_us=us,
            delay_ms=self.delay_ms,
            load_n={
                **{side: float(lines.foot_n[side][0]) for side in SIDES},
                **{f"{side}_crutch": float(hand[0]) for side, hand in lines.hand_n.items()},
            },
            total_n=total_n,
            total_n_u=total_u_n if total_u_n is not None else math.nan,
            body_weight_n=weight,
            left_pct=100 * shares["left"] if feet_valid else None,
            right_pct=100 * shares["right"] if feet_valid else None,
            crutch_pct=crutch_pct,
            crutch_from="weight" if setup.from_weight else "cells" if lines.vertical_n else None,
            unmeasured_n=missing_n,
            unmeasured_n_u=missing_u_n,
            unmeasured_beyond_limit=beyond,
            point_mm=points,
            point_u_mm={p: (math.sqrt(c[0, 0]), math.sqrt(c[1, 1])) for p, c in covariances.items()},
            lines=places,
            support_mm=hull,
            tips_mm={**tips, **{k: v for k, v in held.items() if k.startswith("other")}},
            body_margin_mm=margin_mm,
            probability_on_feet=probability,
            stands_on=None if probability is None else "undecided" if undecided else stands_on(probability),
            ankle_nm={side: float(moment[0]) for side, moment in ankles.items()},
            beyond_calibration=tuple(beyond_calibration(self._cells, raw_n.tolist())),
            absent=absent,
        )

    def _hull(self, lines: Lines) -> Array:
        """The feet's support; of which feet carry there are only four cases."""
        loads = {side: float(lines.foot_n[side][0]) for side in SIDES}
        case = (loads["left"] >= self._setup.minimum_n, loads["right"] >= self._setup.minimum_n)
        if case not in self._hulls:
            self._hulls[case] = feet_hull_mm(self._setup, loads)
        return self._hulls[case]

    def _tip(self, lines: Lines, side: Side) -> tuple[float, float] | None:
        """Where a crutch tip stands: a plate's own reading while it is loaded, else the stance's."""
        if self._setup.rig.is_crutch_plate(side) and side in lines.crutch_mm:
            if float(lines.hand_n[side][0]) < self._setup.loaded_n:
                return None
            ap, ml = lines.crutch_mm[side]
            return float(np.ravel(ap)[0]), float(np.ravel(ml)[0])
        return self._setup.tip_mm(side)
