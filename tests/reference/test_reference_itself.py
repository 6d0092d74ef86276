"""The second program against truths known without it: lever rule, Monte Carlo, sines of known power."""

import copy
import math
from pathlib import Path

import numpy as np
import pytest

from tests.reference.chain import Chain
from tests.reference.errors import sources
from tests.reference.hull import hull, margin, probability_inside
from tests.reference.make_recording import build, make
from tests.reference.reading import read
from tests.reference.reference import analyse
from tests.reference.shifts import longest_run
from tests.reference.standing import cell_forces, follow, means
from tests.reference.sway import moments
from tests.reference.trial import Trial

SIDES = ("left", "right")


def followed(seed: int, folder: Path):
    """A trial without filter and later zeros, and for each of its samples the nearest row of the truth."""
    recording = read(make(seed, folder))
    recording.trial.pop("zero_after_counts", None)  # drawn at random, so they would shift the truth
    trial = Trial(recording, None)
    made = build(seed)
    times = (made.unspoilt_us - made.unspoilt_us[0]) * 1e-6
    nearest = np.abs(trial.chain.time_s[:, None] - times[None, :]).argmin(axis=1)
    return trial, made.standing, nearest


@pytest.mark.parametrize("seed", range(0, 40, 3))
def test_points_are_where_the_lever_rule_put_them(seed: int, tmp_path: Path) -> None:
    trial, truth, rows = followed(seed, tmp_path)
    for k, side in enumerate(SIDES):
        counts = trial.masks.line[side] & (trial.samples.load[k] > 100)
        off = trial.samples.point[side][counts] - truth.point[k][rows[counts]]
        seen = 1 if len(trial.facts.parts[f"{side} foot"]) == 2 else 2  # two cells in line see no ML
        assert np.abs(off.mean(axis=0)[:seen]).max() < 0.1
        assert abs((trial.samples.load[k] - truth.load[k][rows])[counts].mean()) < 0.2


@pytest.mark.parametrize("seed", [5, 8, 10, 23, 25, 28])
def test_body_is_the_balance_of_feet_and_tips(seed: int, tmp_path: Path) -> None:
    trial, truth, rows = followed(seed, tmp_path)
    facts, counts = trial.facts, trial.masks.line["body"]
    own = [c.get("own_weight_n") or 0.0 for c in facts.crutch]
    loads = [truth.load[0], truth.load[1]]
    points = [truth.point[0], truth.point[1]]
    for j in (0, 1):
        if facts.measured[j] and trial.samples.placed[j]:
            loads.append(truth.crutch[j] + own[j])
            tip = (trial.samples.v_moment[j] / trial.samples.v[j][:, None]).mean(axis=0)
            points.append(np.tile(tip if facts.plate[j] else trial.world.tip[j], (len(loads[0]), 1)))
    moment = sum(load[:, None] * point for load, point in zip(loads, points, strict=True))
    true = (moment / sum(loads)[:, None])[rows[counts]].mean(axis=0)
    assert counts.any()
    assert np.abs(trial.samples.point["body"][counts].mean(axis=0) - true)[0] < 0.2


@pytest.mark.parametrize("seed", range(40))
def test_sums_and_verdicts_hang_together(seed: int, tmp_path: Path) -> None:
    found = analyse(make(seed, tmp_path))
    load = found["load"]
    assert load["left_pct"] + load["right_pct"] == pytest.approx(100)
    assert load["left_pct_u"] == pytest.approx(load["right_pct_u"], rel=1e-6)
    for name, line in found["load_line"].items():
        if line is None:
            continue
        assert line["uncertainty_mm"] > 1
        sure = line["probability_inside"] >= 0.95
        assert (line["verdict"] == "inside") <= sure
        assert (line["verdict"] == "inside") <= (line["offset_mm"] == 0), name
    support = found["support"]
    if support["body_margin_mm"] is not None:
        assert support["support_margin_mm"] >= support["body_margin_mm"] - 1e-9
        assert (support["probability_on_feet"] > 0.5) == (support["body_margin_mm"] > 0)


@pytest.mark.parametrize("seed", [5, 10])
def test_uncertainty_is_the_scatter_of_drawn_errors(seed: int, tmp_path: Path) -> None:
    trial = Trial(read(make(seed, tmp_path)), None)
    rng = np.random.default_rng(seed)
    drawn = []
    for _ in range(400):
        world = copy.deepcopy(trial.world)
        for source in sources(trial.facts):
            error = rng.multivariate_normal(np.zeros(len(source.inputs)), source.covariance, method="svd")
            for (field, index), e in zip(source.inputs, error, strict=True):
                getattr(world, field)[index] += e
        forces = cell_forces(world, trial.facts, trial.chain, None)
        drawn.append(means(trial.facts, world, follow(world, trial.facts, forces), trial.masks))
    for name in ("left.pct", "right.ml", "feet.ap", "body.ap", "body_on_left.pct", "total_n", "crutch_pct"):
        scatter = np.std([means_[name] for means_ in drawn])
        assert trial.spread.u(name) == pytest.approx(scatter, rel=0.15), name


def test_probability_is_the_share_of_drawn_points() -> None:
    corners = hull([np.array(p, float) for p in ((0, 0), (100, 5), (90, 60), (40, 2), (-10, 50), (50, 2.5))])
    covariance = np.array([[400.0, 150.0], [150.0, 300.0]])
    rng = np.random.default_rng(5)
    for mean in (np.array([50.0, 20.0]), np.array([120.0, 30.0]), np.array([0.0, 0.0])):
        points = rng.multivariate_normal(mean, covariance, 200_000)
        inside = np.ones(len(points), bool)
        for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            edge = b - a
            inside &= edge[0] * (points[:, 1] - a[1]) - edge[1] * (points[:, 0] - a[0]) >= 0
        assert probability_inside(corners, mean, covariance) == pytest.approx(inside.mean(), abs=0.005)


def test_hull_and_margin_of_a_square() -> None:
    corners = hull([np.array(p, float) for p in ((0, 0), (5, 0), (10, 0), (10, 10), (0, 10), (4, 4))])
    assert len(corners) == 4
    assert margin(corners, np.array([2.0, 5.0]), np.diag([0.25, 9.0])) == (2.0, 0.5)
    assert margin(corners, np.array([5.0, 5.0]), np.eye(2)) == (5.0, None)
    assert margin(corners, np.array([13.0, 5.0]), np.eye(2))[0] == -3.0
    assert margin(corners, np.array([13.0, 14.0]), np.eye(2)) == (-5.0, None)


def test_spectral_moments_of_a_sine() -> None:
    t = np.arange(4000) / 100
    for spectrum in ("multitaper", "welch"):
        power, centroid = moments(3 * np.sin(2 * math.pi * 1.3 * t), 100.0, spectrum)
        assert power == pytest.approx(4.5, rel=0.02)
        assert centroid == pytest.approx(1.3, rel=0.02)


def test_both_passes_together_have_half_power_at_the_cutoff() -> None:
    n = 4000
    chain = Chain(100.0, np.zeros((0, 1)), np.zeros(0), None, 0, stretches=[(0, n)])
    x = np.sin(2 * math.pi * 10 * np.arange(n) / 100)[:, None]
    y = chain.low_passed(x, 10.0)[500:-500, 0]
    assert y.std() == pytest.approx(math.sqrt(0.5) * x[500:-500, 0].std(), rel=1e-6)


def test_runs_over_short_breaks() -> None:
    held = np.array([1, 1, 0, 1, 0, 0, 0, 1, 1, 1], bool)
    assert longest_run(held, 0) == 3
    assert longest_run(held, 1) == 4
    assert longest_run(held, 3) == 10
