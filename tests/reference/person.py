"""A standing person for made-up recordings: loads and points, and cell forces from them by the lever rule."""

import math
from dataclasses import dataclass

import numpy as np

SIDES = ("left", "right")


@dataclass
class Standing:
    """True loads (N) and points (mm, AP and ML) for each row; crutches and feet: left, right."""

    load: np.ndarray  # (2, n)
    point: np.ndarray  # (2, n, 2)
    crutch: np.ndarray  # (2, n) what the hands put on
    other: np.ndarray  # (n,) support that no cell sees, a bar or a hand
    cues: list[tuple[float, str]]


def wander(rng: np.random.Generator, n: int, rate: float, size: float) -> np.ndarray:
    """A smooth random course of about this size: a few slow sine waves."""
    t = np.arange(n) / rate
    hertz = rng.uniform(0.05, 1.5, 6)
    phase = rng.uniform(0, 2 * math.pi, 6)
    parts = np.sin(2 * math.pi * hertz[:, None] * t + phase[:, None]) / (1 + 2 * hertz[:, None])
    return size * parts.sum(axis=0) / 2


def shares(rng: np.random.Generator, n: int, rate: float) -> tuple[np.ndarray, list[tuple[float, str]]]:
    """Left share of both feet's load (0–1) with two to four shifts in it, and the cues before them."""
    base = rng.uniform(0.45, 0.55)
    t = np.arange(n) / rate
    share = np.full(n, base)
    cues = []
    now = rng.uniform(4.5, 6)
    level = base
    while now + 5 < t[-1]:
        side = int(rng.integers(2))
        top = rng.choice([rng.uniform(0.03, 0.12), rng.uniform(0.12, 0.3), rng.uniform(0.2, 0.48), 0.5])
        new = float(np.clip(base + (top if side == 0 else -top), 0.002, 0.998))
        cues.append((now, f"shift {SIDES[side]} {rng.choice([50, 80])}"))
        start, rise, stay = now + rng.uniform(0.3, 0.9), rng.uniform(0.4, 1.2), rng.uniform(0.3, 4)
        share += (new - level) * ramp(t, start, rise)
        level, now = new, start + rise + stay
        if rng.random() < 0.7:
            back = base + (rng.uniform(-0.02, 0.02) if rng.random() < 0.7 else rng.uniform(-0.1, 0.1))
            share += (back - level) * ramp(t, now, rise)
            level, now = back, now + rise + rng.uniform(1, 3)
    wobble = 4 if rng.random() < 0.2 else 0.25
    return np.clip(share + wander(rng, n, rate, wobble / 100), 0.001, 0.999), cues


def ramp(t: np.ndarray, start: float, rise: float) -> np.ndarray:
    """From 0 to 1 in `rise` seconds, without corners."""
    x = np.clip((t - start) / rise, 0, 1)
    return x * x * (3 - 2 * x)


def stand(rng: np.random.Generator, n: int, rate: float, trial: dict, weight_n: float) -> Standing:
    """Loads and points of a person who stands in this stance."""
    stance = trial["stance"]
    used = [stance["crutches"] in (side, "two") for side in SIDES]
    leaning = [rng.choice([0.0, 0.004, 0.03, 0.08, 0.2]) * weight_n if u else 0.0 for u in used]
    crutch = np.stack([lean * (1 + wander(rng, n, rate, 0.15)) for lean in leaning])
    other = np.zeros(n)
    if "other_support" in stance or rng.random() < 0.15:
        other = rng.choice([0.01, 0.06]) * weight_n * (1 + wander(rng, n, rate, 0.2))
    left, cues = np.clip(rng.uniform(0.4, 0.6) + wander(rng, n, rate, 0.02), 0, 1), []
    if trial["protocol"] == "weight shift":
        left, cues = shares(rng, n, rate)
    feet = weight_n - crutch.sum(axis=0) - other + wander(rng, n, rate, 2.0)
    point = np.zeros((2, n, 2))
    forward = 0.3 if sum(leaning) > 0.15 * weight_n else 0.0
    for k, side in enumerate(SIDES):
        foot = stance[f"{side}_foot"]
        theta = math.radians(foot["toe_out_deg"]) * (-1 if side == "left" else 1)
        along = np.array([math.cos(theta), math.sin(theta)])
        at = foot["usable_length_mm"] * (rng.uniform(0.35, 0.75) + forward + wander(rng, n, rate, 0.03))
        across = wander(rng, n, rate, 4.0)
        heel = np.array([foot["heel_edge_ap_mm"], foot["heel_edge_ml_mm"]])
        point[k] = heel + at[:, None] * along + across[:, None] * np.array([-along[1], along[0]])
    return Standing(np.stack([left * feet, (1 - left) * feet]), point, crutch, other, cues)


def cell_forces(rng: np.random.Generator, standing: Standing, rig: dict, stance: dict) -> np.ndarray:
    """(n, cells): what each cell of the rig carries, by the lever rule."""
    n = standing.load.shape[1]
    forces = np.zeros((n, len(rig["cell"])))
    for k, side in enumerate(SIDES):
        own = [i for i, c in enumerate(rig["cell"]) if c["under"] in (f"{side} heel", f"{side} forefoot")]
        forces[:, own] = feet_forces(standing.load[k], standing.point[k], [rig["cell"][i] for i in own])
        own = [i for i, c in enumerate(rig["cell"]) if c["under"] == f"{side} crutch"]
        crutch = stance.get(f"{side}_crutch") or {}
        on = standing.crutch[k] + (crutch.get("own_weight_n") or 0.0)
        if len(own) == 1:
            tilt = math.radians(crutch.get("tilt_deg") or 0.0)
            forces[:, own[0]] = on / ((math.cos(tilt) + 1 / math.cos(tilt)) / 2)
        elif own:
            forces[:, own] = on[:, None] * rng.dirichlet(np.full(len(own), 3.0))
    return forces


def feet_forces(load: np.ndarray, point: np.ndarray, cells: list[dict]) -> np.ndarray:
    """(n, 2 or 4): heel and forefoot, or heel at two ML then forefoot at the same two."""
    ap = np.array([c["ap_mm"] for c in cells])
    ml = np.array([c["ml_mm"] for c in cells])
    front = (point[:, 0] - ap[0]) / (ap[-1] - ap[0])
    if len(cells) == 2:
        return np.stack([load * (1 - front), load * front], axis=1)
    second = (point[:, 1] - ml[0]) / (ml[1] - ml[0])
    parts = [(1 - front) * (1 - second), (1 - front) * second, front * (1 - second), front * second]
    return np.stack([load * part for part in parts], axis=1)
