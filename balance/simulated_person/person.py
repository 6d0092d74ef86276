"""An inverted pendulum that sways, leans, shifts weight and leans on crutches: statics to the cells."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from balance.rig import SIDES, Rig, Side
from balance.simulated_person.scenario import Move, Scenario, Shift
from balance.stance import Stance

Array = npt.NDArray[np.float64]

GRAVITY = 9.80665
PUT_DOWN_S = 0.4  # for putting a mass down
STEP_S = 0.8  # for stepping or standing up, and down
SEATED_PART = 0.15  # of the weight on the feet of somebody who sits
GRID_HZ = 200.0  # sway is made on this grid and read between its points
CENTRE_OF_HEIGHT = {
    "own": 0.57,
    "knees flexed": 0.53,
    "hips flexed": 0.51,
    "other": 0.55,
}  # of stature, common practice


@dataclass(frozen=True)
class Truth:
    """What really stands where: load_n by part (n,), cop_mm 'left', 'right', 'feet', 'body' (n, 2) AP, ML."""

    load_n: dict[str, Array]
    cop_mm: dict[str, Array]


class SimulatedPerson:
    """A person by a scenario on a rig in a stance. The same seed sways the same."""

    def __init__(self, rig: Rig, stance: Stance, scenario: Scenario, seed: int = 1) -> None:
        self.rig, self.stance, self.scenario = rig, stance, scenario
        self._weight_n = scenario.mass_kg * GRAVITY
        self._sway_ap = _sway(scenario, scenario.sway_ap_mm, seed * 2)
        self._sway_ml = _sway(scenario, scenario.sway_ml_mm, seed * 2 + 1)
        self._plates = {part: _plate(rig, part) for part in self._parts()}

    def _parts(self) -> list[str]:
        plates = [f"{s} crutch" for s in SIDES if self.rig.is_crutch_plate(s)]
        return [*SIDES, *plates]

    @property
    def body_weight_n(self) -> float:
        return self._weight_n

    @property
    def shifts(self) -> list[dict[str, float | str]]:
        """The true shifts: side, when the ramp starts and is done, how long it is held, the share aimed at."""
        return [
            {
                "side": s.side, "start_s": s.start_s, "reach_s": s.start_s + s.ramp_s, "hold_s": s.hold_s,
                "share_pct": s.share_pct,
            }
            for s in self.scenario.shifts
        ]  # fmt: skip

    def _value(self, t_s: Array, rest: float, of: Callable[[Move], float | None]) -> Array:
        value = np.full(len(t_s), rest)
        for move in [*self.scenario.moves, *self.scenario.shifts]:
            target = of(move)
            if target is not None:
                up = np.clip((t_s - move.start_s) / move.ramp_s, 0, 1)
                down = np.clip((t_s - move.start_s - move.ramp_s - move.hold_s) / move.ramp_s, 0, 1)
                value += (target - rest) * (_ease(up) - _ease(down))
        return value

    def truth(self, t_s: Array) -> Truth:
        """The true loads and centres of pressure at times t_s (n,)."""
        sc = self.scenario

        def share_aimed(move: Move) -> float | None:
            if isinstance(move, Shift):
                return move.share_pct if move.side == "left" else 100 - move.share_pct
            return move.left_share_pct

        share = self._value(t_s, sc.left_share_pct, share_aimed) / 100
        line = self._value(t_s, sc.line_pct, lambda m: m.line_pct) / 100
        hands: dict[Side, Array] = {
            "left": self._value(t_s, sc.left_crutch_pct, lambda m: m.left_crutch_pct) / 100 * self._weight_n,
            "right": self._value(t_s, sc.right_crutch_pct, lambda m: m.right_crutch_pct)
            / 100
            * self._weight_n,
        }
        hands = {s: v if self.stance.uses_crutch(s) else np.zeros_like(v) for s, v in hands.items()}
        feet_n = self._weight_n - hands["left"] - hands["right"]
        ap_mid = np.zeros(len(t_s))
        for side, part in (("left", share), ("right", 1 - share)):
            foot = self.stance.left_foot if side == "left" else self.stance.right_foot
            cosine = math.cos(math.radians(foot.toe_out_deg))
            ap_mid = ap_mid + part * (foot.heel_edge_ap_mm + line * foot.usable_length_mm * cosine)
        ap = ap_mid + np.interp(t_s, *self._sway_ap)
        middle = {side: self._axis_ml(side, ap) for side in SIDES}
        ml = share * middle["left"] + (1 - share) * middle["right"] + np.interp(t_s, *self._sway_ml)
        left_part = (middle["right"] - ml) / (middle["right"] - middle["left"])
        load = {"left": feet_n * left_part, "right": feet_n * (1 - left_part)}
        cop: dict[str, Array] = {side: np.stack([ap, middle[side]], axis=1) for side in SIDES}
        cop["feet"] = np.stack([ap, ml], axis=1)
        body = cop["feet"] * feet_n[:, None]
        for side in SIDES:
            tip = self._tip(side)
            if tip is not None:
                body = body + hands[side][:, None] * np.array(tip)
        placed = feet_n + sum(hands[s] for s in SIDES if self._tip(s) is not None)
        cop["body"] = body / np.asarray(placed)[:, None]
        parts = {**load, **{f"{side} crutch": hands[side] for side in SIDES}}
        here = self._presence(t_s)
        return Truth({str(k): v * here for k, v in parts.items()}, cop)

    def _presence(self, t_s: Array) -> Array:
        """How much of the weight is on plates and crutches: 0 before they step up, 1 while they stand, little while they sit."""
        here = np.ones(len(t_s))
        if self.scenario.arrives_s is not None:
            here = here * _ease(np.clip((t_s - self.scenario.arrives_s) / STEP_S, 0, 1))
        if self.scenario.leaves_s is not None:
            here = here * (1 - _ease(np.clip((t_s - self.scenario.leaves_s) / STEP_S, 0, 1)))
        for sitting in self.scenario.seated:
            down = _ease(np.clip((t_s - sitting.start_s) / STEP_S + 1, 0, 1))
            up = _ease(np.clip((t_s - sitting.end_s) / STEP_S, 0, 1))
            here = here * (1 - (1 - SEATED_PART) * (down - up))
        return here

    def _axis_ml(self, side: Side, ap_mm: Array) -> Array:
        foot = self.stance.foot(side)
        slope = math.tan(math.radians(foot.toe_out_deg)) * (1 if side == "right" else -1)
        return foot.heel_edge_ml_mm + (ap_mm - foot.heel_edge_ap_mm) * slope

    def _tip(self, side: Side) -> tuple[float, float] | None:
        crutch = self.stance.crutch(side)
        if crutch is None or crutch.tip_ap_mm is None or crutch.tip_ml_mm is None:
            return None
        return crutch.tip_ap_mm, crutch.tip_ml_mm

    def forces_n(self, t_s: Array) -> Array:
        """(n, cells) true force on each cell of the rig at times t_s (n,), down positive."""
        if not self._presence(t_s).any():
            return np.zeros((len(t_s), len(self.rig.cells)))
        truth = self.truth(t_s)
        forces = np.zeros((len(t_s), len(self.rig.cells)))
        for side in SIDES:
            self._spread(forces, side, truth.load_n[side], truth.cop_mm[side])
            cells, load = self.rig.crutch_cells(side), truth.load_n[f"{side} crutch"]
            crutch = self.stance.crutch(side)
            if self.rig.is_crutch_plate(side) and (tip := self._tip(side)) is not None:
                self._spread(forces, f"{side} crutch", load, np.broadcast_to(np.array(tip), (len(t_s), 2)))
            elif (
                cells
            ):  # a shaft cell carries what lies between a reaction along the shaft and a vertical one
                cosine = math.cos(math.radians(crutch.tilt_deg)) if crutch is not None else 1.0
                own = crutch.own_weight_n if crutch is not None else 0.0
                forces[:, cells] = (
                    (load + own * self._presence(t_s)) / ((cosine + 1 / cosine) / 2) / len(cells)
                )[:, None]
        return forces

    def masses_n(self, t_s: Array) -> Array:
        """(n, cells) force of the scenario's masses: on one cell alone, or through the plate that they stand on."""
        forces = np.zeros((len(t_s), len(self.rig.cells)))
        for load in self.scenario.loads:
            if load.end_s <= t_s[0] or load.start_s >= t_s[-1]:
                continue
            there = _ease(np.clip((t_s - load.start_s) / PUT_DOWN_S, 0, 1)) * (t_s < load.end_s)
            weight_n = load.mass_kg * GRAVITY * there
            if load.channel is not None:
                forces[:, [c.channel for c in self.rig.cells].index(load.channel)] += weight_n
            elif load.ap_mm is not None and load.ml_mm is not None:
                at = np.array([load.ap_mm, load.ml_mm])
                self._spread(forces, self._under(at), weight_n, np.broadcast_to(at, (len(t_s), 2)))
        return forces

    def _under(self, at_mm: Array) -> str:
        """The plate whose cells' middle is nearest."""

        def far(part: str) -> float:
            cells = [self.rig.cells[i] for i in self._plates[part][0]]
            middle = np.array([np.mean([c.ap_mm for c in cells]), np.mean([c.ml_mm for c in cells])])
            return float(np.linalg.norm(at_mm - middle))

        return min(self._plates, key=far)

    def _spread(self, forces: Array, part: str, load_n: Array, at_mm: Array) -> None:
        """A load on a rigid plate, spread over its cells so that force and moments balance."""
        cells, inverse, with_ml = self._plates[part]
        columns = [load_n, load_n * at_mm[:, 0]] + ([load_n * at_mm[:, 1]] if with_ml else [])
        forces[:, cells] += np.stack(columns, axis=1) @ inverse.T


def _ease(x: Array) -> Array:
    """A smooth ramp from 0 to 1."""
    return np.asarray(x * x * (3 - 2 * x), dtype=np.float64)


def _plate(rig: Rig, part: str) -> tuple[list[int], Array, bool]:
    side: Side = "left" if part.startswith("left") else "right"
    cells = rig.crutch_cells(side) if part.endswith("crutch") else rig.foot_cells(side)
    ap = [rig.cells[i].ap_mm or 0.0 for i in cells]
    ml = [rig.cells[i].ml_mm or 0.0 for i in cells]
    with_ml = len(set(ml)) > 1
    rows = [np.ones(len(cells)), np.array(ap)] + ([np.array(ml)] if with_ml else [])
    return cells, np.linalg.pinv(np.array(rows)), with_ml


def _sway(scenario: Scenario, rms_mm: float, seed: int) -> tuple[Array, Array]:
    """Times and the pressure point's sway: a smoothly wandering pendulum, x − (h/g)·x'' of its centre of mass."""
    n = int((scenario.seconds + 2) * GRID_HZ) + 2
    times = np.arange(n) / GRID_HZ
    rng = np.random.default_rng(seed)
    keep = math.exp(-1 / (GRID_HZ * scenario.sway_time_s))
    x = rng.normal(0, 1, n + 2000)
    for _ in range(3):  # three lags: smooth enough to be differentiated twice
        state = 0.0
        for i, value in enumerate(x.tolist()):
            state = keep * state + (1 - keep) * value
            x[i] = state
    x = x[2000:]
    height_m = scenario.height_m * CENTRE_OF_HEIGHT[scenario.posture]
    acceleration = np.gradient(np.gradient(x, 1 / GRID_HZ), 1 / GRID_HZ)
    point = x - height_m / GRAVITY * acceleration
    point = point - point.mean()
    return times, point * (rms_mm / float(point.std()))
