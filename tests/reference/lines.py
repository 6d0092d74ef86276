"""The findings' load shares and load lines."""

import math

import numpy as np
from scipy.stats import norm

from tests.reference.facts import SIDES, or_else
from tests.reference.standing import axis, crutch_part
from tests.reference.trial import Trial

WITH_HANDS = ("body", "body_on_left", "body_on_right")


def load_shares(trial: Trial) -> dict:
    facts, mean, u = trial.facts, trial.means, trial.spread.u
    known = facts.all_measured or facts.from_weight
    load = {
        "body_weight_n": facts.weight_n,
        "crutch_from": None,
        "crutch_pct": None,
        "crutch_pct_u": None,
        "crutch_peak_pct": None,
        "left_crutch_pct": None,
        "right_crutch_pct": None,
        "unmeasured_pct": None,
        "unmeasured_pct_u": None,
    }
    for key in ("total_n", "left_pct", "right_pct"):
        load |= {key: mean[key], f"{key}_u": u(key)}
    if known:
        hands, whole = crutch_part(facts, trial.world, trial.samples)
        load |= {"crutch_pct": mean["crutch_pct"], "crutch_pct_u": u("crutch_pct")}
        load["crutch_peak_pct"] = float(100 * (hands / whole)[trial.masks.feet].max())
        for j, side in enumerate(SIDES):
            if facts.measured[j] or not facts.in_use[j]:
                load[f"{side}_crutch_pct"] = mean[f"{side}_crutch_pct"]
        if facts.from_weight:
            load["crutch_from"] = "weight"
            trial.codes.add("crutch-from-weight")
        elif any(facts.measured):
            load["crutch_from"] = "cells"
    if facts.weight_n is not None:
        if not facts.from_weight:
            load |= {"unmeasured_pct": mean["unmeasured_pct"], "unmeasured_pct_u": u("unmeasured_pct")}
        _compare_with_weight(trial, mean["total_n"], u("total_n"))
    return load


def _compare_with_weight(trial: Trial, total_n: float, total_u: float) -> None:
    facts = trial.facts
    limit = max(2 * math.hypot(total_u, facts.weight_u), 0.02 * facts.weight_n, 15.0)
    missing = facts.weight_n - total_n
    if missing > limit and not facts.from_weight:
        trial.codes.add("unmeasured-support")
        trial.uncertain_support = True
    if missing < -limit:
        trial.codes.add("body-weight-too-low")


def staggered(trial: Trial) -> bool:
    return abs(trial.world.heel[0][0] - trial.world.heel[1][0]) > 15


def load_line(trial: Trial, line: str) -> dict | None:
    counts = trial.masks.line[line]
    if not counts.any() or (line in ("feet", "body") and staggered(trial)):
        return None
    x, mm = trial.samples.position[line][counts], trial.samples.distance[line][counts]
    both = line in ("feet", "body")
    length = (
        trial.samples.mean_length[counts].mean()
        if both
        else trial.world.length[0 if line.endswith("left") else 1]
    )
    b0, b1 = trial.facts.band
    mean_mm = mm.mean()
    offset = min(0.0, mean_mm - b0 * length) + max(0.0, mean_mm - b1 * length)
    u = _u_of_mean_line(trial, line, length) if both else trial.spread.u(f"{line}.pct")
    p = x.mean()
    inside = float(norm.cdf((100 * b1 - p) / u) - norm.cdf((100 * b0 - p) / u))
    verdict = "inside" if inside >= 0.95 else "outside" if inside <= 0.05 else "undecided"
    if trial.uncertain_support and line in WITH_HANDS:
        verdict = "undecided"
    if u > 100 * (b1 - b0) / 3.92:
        trial.codes.add("band-too-narrow")
    se, dof = _standard_error(mm)
    return {
        "mean_pct": float(p),
        "sd_pct": float(x.std()),
        "mean_mm": float(mean_mm),
        "offset_mm": float(offset),
        "uncertainty_mm": float(u * length / 100),
        "se_mm": se,
        "se_dof": dof,
        "in_band_pct_time": float(100 * ((x >= 100 * b0) & (x <= 100 * b1)).mean()),
        "on_support_pct_time": float(100 * ((x >= 0) & (x <= 100)).mean()),
        "probability_inside": inside,
        "verdict": verdict,
    }


def _u_of_mean_line(trial: Trial, line: str, length: float) -> float:
    """For feet and body the weights of the two feet are held at the trial's mean."""
    w = trial.weights(line)
    u_w = w @ axis(trial.world.toe_out)
    u_w = u_w / math.hypot(*u_w)
    u_r2 = u_w @ trial.spread.pair(f"{line}.ap", f"{line}.ml") @ u_w
    u_h = [or_else(f, "placement_uncertainty_mm", 2.0) for f in trial.facts.foot]
    u_l = [or_else(f, "length_uncertainty_mm", 2.0) for f in trial.facts.foot]
    u_h2 = sum(w[k] ** 2 * u_h[k] ** 2 for k in (0, 1))
    u_l2 = sum(w[k] ** 2 * u_l[k] ** 2 for k in (0, 1))
    p = trial.means[f"{line}.pct"]
    return math.sqrt((100 / length) ** 2 * (u_r2 + u_h2) + (p / length) ** 2 * u_l2)


def _standard_error(x: np.ndarray) -> tuple[float | None, float | None]:
    """Standard error of the mean of a series that remembers, and its degrees of freedom."""
    n = len(x)
    d = x - x.mean()
    c0 = (d @ d) / n
    if n < 3 or c0 == 0:
        return None, None
    remembered = 0.0
    for k in range(1, n):
        rho = (d[:-k] @ d[k:]) / n / c0
        if rho <= 0:
            break
        remembered += rho
    n_eff = n / (1 + 2 * remembered)
    return float(math.sqrt(c0 / n_eff)), float(n_eff - 1)
