"""Do the 95 % intervals cover the truth? Rigs are made from their cells' truth, through masses, `calibrate`, zeros and a trial.

The truth of a trial is its own true mean: what the person really did on the shoes where they really stood. Nothing that the
program assumes enters it. Once with every assumed error drawn from its assumed distribution, once with creep, friction and
drift as cells do them.
"""

from __future__ import annotations

import math
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context

import numpy as np
import pytest

from balance.calibrating.points import AppliedPoint
from balance.calibrating.result import calibrate
from balance.calibration import Calibration
from balance.chain import Prepared
from balance.find_lines import line_block
from balance.find_loads import load_block
from balance.forces import ForceTable, cell_forces
from balance.found import Found
from balance.load_line import Setup, lines_of
from balance.quality import Quality
from balance.rig import SIDES, Rig
from balance.stance import Foot, Stance
from balance.trial import Trial
from balance.verdict import probability_inside, verdict
from drivers.simulated_board.electronics import Electronics
from tests.balance.test_monte_carlo import Draw, a_rig, a_stance, a_stand, drawn_rig, drawn_stance

RIGS = 2000
WEIGHT_N = 700.0
LINES = ("left", "right", "body_on_left", "body_on_right")
SHARES = ("left_pct", "crutch_pct")
MASSES_N = 9.80665 * np.array([5.0, 10.0, 20.0, 30.0, 20.0, 10.0, 5.0])
DIRECTIONS = ("up", "up", "up", "up", "down", "down", "down")
SAMPLES = 8  # of a trial, over its 20 s

Said = dict[str, tuple[float, float, float]]  # what is said, its standard uncertainty, the truth


class World:
    """One rig as it really is, its zeros and gains, and the errors of the masses it was calibrated with."""

    def __init__(self, rig: Rig, stance: Stance, seed: int) -> None:
        self.rng = np.random.default_rng([77, seed])
        self.said_rig, self.said_stance = rig, stance
        draw = Draw(self.rng.normal(size=400))
        self.rig, self.stance = drawn_rig(draw, rig), drawn_stance(draw, stance)
        n = len(rig.cells)
        self.a1 = self.rng.uniform(1e-4, 1e-3, n) * self.rng.choice([-1, 1], n)
        self.zero = self.rng.uniform(-1e5, 1e5, n)
        self.noise_n = self.rng.uniform(0.02, 0.3)  # of one reading against the next
        self.mass_u = self.rng.uniform(2e-4, 3e-3)  # relative, standard, one error for all masses
        self.masses_n = MASSES_N * (1 + self.rng.normal(0, self.mass_u))
        self.forces_n = a_stand(self.rng, self.rig, self.stance)

    def counts(self, shown_n: np.ndarray) -> np.ndarray:
        """(cells, k) from what the cells show."""
        return self.zero[:, None] + shown_n / self.a1[:, None]

    def noisy(self, shown_n: np.ndarray) -> np.ndarray:
        return shown_n + self.rng.normal(0, self.noise_n, shown_n.shape)

    def calibrated(self, zeros: np.ndarray, loaded: np.ndarray) -> Calibration:
        """By the counts (cells, k) of zeros and of the masses."""
        points = []
        for i, cell in enumerate(self.rig.cells):
            points += [AppliedPoint(cell.channel, 0.0, c) for c in zeros[i].tolist()]
            points += [
                AppliedPoint(
                    cell.channel, load, c, "up" if way == "up" else "down", None, None, self.mass_u * load
                )
                for load, way, c in zip(MASSES_N.tolist(), DIRECTIONS, loaded[i].tolist(), strict=True)
            ]
        return calibrate(points, self.said_rig).calibration

    def on_shafts(self, forces_n: np.ndarray) -> np.ndarray:
        """What the cells carry of these vertical forces: a shaft's reaction lies between along the shaft and upright, alike in both."""
        carried = forces_n.copy()
        lean = self.rng.uniform(0, 1)
        for side in SIDES:
            crutch = self.said_stance.crutch(side)
            if self.rig.is_crutch_plate(side) or crutch is None:
                continue
            tilt = math.radians(self.rng.normal(crutch.tilt_deg, crutch.tilt_uncertainty_deg))
            vertical = lean * math.cos(tilt) + (1 - lean) / math.cos(tilt)
            carried[self.rig.crutch_cells(side)] /= vertical
        return carried

    def said(self, known: Calibration, counts: np.ndarray) -> Said:
        """What the program says of the trial, by the rig and stance that it was told, and the truth."""
        cells = cell_forces(self.said_rig, known)
        forces = np.ascontiguousarray(ForceTable.of(cells).newtons(counts.T).T)
        trial = Trial.model_validate(
            {"schema": 1, "state": "complete", "protocol": "free", "rig": self.said_rig, "stance": self.said_stance,
             "calibration": known, "subject": {"body_weight_n": WEIGHT_N}}
        )  # fmt: skip
        setup = Setup(self.said_rig, self.said_stance, WEIGHT_N, WEIGHT_N, False)
        prepared = Prepared(forces, np.ones(SAMPLES, dtype=bool), np.arange(SAMPLES) * 2.5, [(0, SAMPLES)], 0.4, 0, [0.0] * len(forces))  # fmt: skip
        found = Found(
            trial, setup, cells, forces, lines_of(forces, setup), prepared, known.gain_error, Quality()
        )
        load = load_block(found)
        values = {name: (load[name], load[f"{name}_u"]) for name in ("total_n", *SHARES)}
        for line in LINES:
            block = line_block(found, line)
            values[line] = (block["mean_mm"], block["uncertainty_mm"])
        true = Setup(self.rig, self.stance, WEIGHT_N, WEIGHT_N, False)
        lines = lines_of(self.forces_n, true)
        feet, total = lines.feet_n.mean(), lines.total_n.mean()
        truth = {
            "total_n": total,
            "left_pct": 100 * lines.foot_n["left"].mean() / feet,
            "crutch_pct": 100 * lines.hands_n.mean() / total,
        }
        for line in LINES:  # the true part of the true usable length, on the length that is said
            length = self.said_stance.foot("left" if "left" in line else "right").usable_length_mm
            truth[line] = float(lines.position_pct(line).mean()) * length / 100
        return {name: (*values[name], float(truth[name])) for name in values}


def as_assumed(world: World) -> Said:
    """Every error that the program assumes, from the distribution that it assumes."""
    rng, n = world.rng, len(world.rig.cells)
    nothing, masses = np.zeros((n, 6)), np.broadcast_to(world.masses_n, (n, len(MASSES_N)))
    known = world.calibrated(world.counts(world.noisy(nothing)), world.counts(world.noisy(masses)))
    creep = rng.uniform(-1, 1) * known.creep_pct / 100
    friction = rng.uniform(-0.5, 0.5)
    own_n = np.array([friction * (known.of(c.channel).hysteresis_n or 0.0) for c in world.rig.cells])
    own_n += rng.normal(0, world.noise_n, n) + rng.normal(0, world.rig.zero_drift_n, n)
    shown = world.on_shafts(world.forces_n) * (1 + creep) + own_n[:, None]
    return world.said(known, world.counts(shown))


class Cells:
    """Cells with creep, friction and drift of the sizes of the simulated board's converters, all cells side by side: of 50 kg, those
    of a crutch plate of 20 kg.

    With four cells of 50 kg under a crutch plate that carries 4 kg, friction alone makes 4 % of it, and the crutch share's intervals
    hold the truth in 80 of 96 rigs only (tried once with these cells changed): a plate's cells must suit its load.
    """

    def __init__(self, rig: Rig, rng: np.random.Generator) -> None:
        n, sizes = len(rig.cells), Electronics()
        capacity_n = np.array([196.0 if c.is_crutch and c.ap_mm is not None else 490.0 for c in rig.cells])
        self.creep_part, self.tau_s = np.full(n, sizes.creep_pct / 100), sizes.creep_tau_s
        self.play_n = sizes.hysteresis_pct_of_capacity / 100 * capacity_n / 2
        self.drift_n_s = rng.choice([-1, 1], n) * sizes.drift_n_in_10_min / 600
        self.crept, self.held, self.t_s = np.zeros(n), np.zeros(n), 0.0

    def after(self, seconds: float, force_n: np.ndarray) -> np.ndarray:
        """What they show after so long under a force."""
        self.crept += (force_n - self.crept) * (1 - math.exp(-seconds / self.tau_s))
        self.held = np.clip(self.held, force_n - self.play_n, force_n + self.play_n)
        self.t_s += seconds
        return self.held + (self.crept - force_n) * self.creep_part + self.drift_n_s * self.t_s


def as_cells_do(world: World) -> Said:
    """Zero, masses up and down five seconds each, zero; later a zero, the person steps up, five seconds, a trial of 20 s."""
    n = len(world.rig.cells)
    cells = Cells(world.rig, world.rng)
    nothing = np.zeros(n)
    before = [cells.after(1.0, nothing) for _ in range(3)]
    loaded = [cells.after(5.0, np.full(n, load)) for load in world.masses_n.tolist()]
    after = [cells.after(4.0 if k == 0 else 1.0, nothing) for k in range(3)]
    zeros, masses = np.stack(before + after, axis=1), np.stack(loaded, axis=1)
    known = world.calibrated(world.counts(world.noisy(zeros)), world.counts(world.noisy(masses)))
    cells.after(600.0, nothing)
    zeroed = world.counts(world.noisy(np.stack([cells.after(1.0, nothing)], axis=1)))[:, 0]
    u_counts = {c.channel: world.noise_n / abs(world.a1[i]) / 10 for i, c in enumerate(world.rig.cells)}
    known = known.with_zeros({c.channel: zeroed[i] for i, c in enumerate(world.rig.cells)}, u_counts)
    forces = world.on_shafts(world.forces_n)
    cells.after(5.0, forces[:, 0])
    shown = np.stack([cells.after(2.5, forces[:, k]) for k in range(SAMPLES)], axis=1)
    return world.said(known, world.counts(shown))


KINDS = {"as assumed": as_assumed, "as cells do": as_cells_do}


def as_by_default(stance: Stance) -> Stance:
    """The same places, known as well as the stance file's defaults say."""
    names = ("placement_uncertainty_mm", "length_uncertainty_mm", "toe_out_uncertainty_deg")
    update = {name: Foot.model_fields[name].default for name in names}
    return stance.model_copy(update={f"{s}_foot": stance.foot(s).model_copy(update=update) for s in SIDES})


def one_rig(kind: str, seed: int) -> dict[str, bool]:
    """Which 95 % intervals hold the truth; what is said of a band with the left foot's true point on its limit, and in its middle."""
    rng = np.random.default_rng([31, seed])
    rig, stance = a_rig(rng), a_stance(rng)
    world = World(rig, as_by_default(stance) if kind == "as assumed" else stance, seed)
    said = KINDS[kind](world)
    held = {name: abs(value - truth) <= 1.96 * u for name, (value, u, truth) in said.items()}
    value, u, truth = said["left"]
    width = world.said_stance.left_foot.usable_length_mm / 6
    low = truth - width if seed % 2 else truth
    held["limit called inside"] = verdict(probability_inside(value, u, low, low + width)) == "inside"
    low = truth - width / 2
    held["middle called inside"] = verdict(probability_inside(value, u, low, low + width)) == "inside"
    return held


@pytest.fixture(scope="module")
def parts() -> dict[str, dict[str, float]]:
    """By kind and name: in which part of the rigs it is so."""
    found = {}
    with pytest.MonkeyPatch.context() as patch, ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        patch.setenv("OPENBLAS_NUM_THREADS", "1")  # matrices are small, and the processes share the cores
        for kind in KINDS:
            all_rigs = list(pool.map(partial(one_rig, kind), range(RIGS), chunksize=100))
            found[kind] = {name: sum(rig[name] for rig in all_rigs) / RIGS for name in all_rigs[0]}
    return found


@pytest.mark.parametrize("name", [*LINES, *SHARES, "total_n"])
def test_with_errors_as_assumed_95_percent_intervals_hold_the_truth_so_often(
    name: str, parts: dict[str, dict[str, float]]
) -> None:
    assert 0.93 <= parts["as assumed"][name] <= 0.975


def test_on_a_band_s_limit_few_are_called_inside_and_in_its_middle_most_are(
    parts: dict[str, dict[str, float]],
) -> None:
    """Consumer's and producer's risk of the decision rule (JCGM 106). With exact uncertainties 1 in 20 would be called inside on a
    limit; at most 6.6 % of 2,000 are asked for, and at least 95 % in the middle with the default uncertainties."""
    assert parts["as assumed"]["limit called inside"] <= 0.066
    assert parts["as assumed"]["middle called inside"] >= 0.95


@pytest.mark.parametrize("name", [*LINES, *SHARES])
def test_with_creep_friction_and_drift_as_cells_do_them(
    name: str, parts: dict[str, dict[str, float]]
) -> None:
    assert parts["as cells do"][name] >= 0.93
