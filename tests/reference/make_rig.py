"""Stances, rigs and calibrations drawn at random."""

import numpy as np

from tests.reference.person import SIDES


def perhaps(rng: np.random.Generator, table: dict, key: str, low: float, high: float, *, chance=0.75):
    """An optional entry: there, absent or null."""
    drawn = rng.random()
    if drawn < chance:
        table[key] = round(float(rng.uniform(low, high)), 1)
    elif drawn < chance + 0.1:
        table[key] = None


def make_stance(rng: np.random.Generator) -> dict:
    """Feet, crutches, other support."""
    stance = {"schema": 1, "crutches": str(rng.choice(["none", "left", "right", "two", "two"]))}
    stance["band"] = [0.5, 2 / 3] if rng.random() < 0.7 else [round(rng.uniform(0.3, 0.5), 2), 0.7]
    stagger = rng.choice([0.0, 0.0, 9.0, 30.0])
    for k, side in enumerate(SIDES):
        foot = stance[f"{side}_foot"] = {
            "heel_edge_ap_mm": round(-60.0 + k * stagger + rng.uniform(-1, 1), 1),
            "heel_edge_ml_mm": round((-1 if k == 0 else 1) * rng.uniform(90, 140), 1),
            "toe_out_deg": round(rng.uniform(-3, 14), 1),
            "usable_length_mm": round(rng.uniform(170, 230), 1),
            "heel_width_mm": round(rng.uniform(50, 65), 1),
            "forefoot_width_mm": round(rng.uniform(75, 95), 1),
        }
        for key, low, high in (
            ("toe_out_uncertainty_deg", 1, 4),
            ("placement_uncertainty_mm", 1, 5),
            ("length_uncertainty_mm", 1, 4),
            ("ankle_mm", 45, 65),
            ("knee_mm", 70, 110),
            ("knee_height_mm", 420, 520),
            ("joint_uncertainty_mm", 3, 8),
            ("resisting_moment_nm", 20, 60),
        ):
            perhaps(rng, foot, key, low, high)
        perhaps(rng, foot, "resisting_at_shank_deg", 3, 8, chance=0.4)
    for k, side in enumerate(SIDES):
        if stance["crutches"] in (side, "two") or rng.random() < 0.15:
            stance[f"{side}_crutch"] = make_crutch(rng, k)
    if rng.random() < 0.12:
        stance["other_support"] = {"name": "bar", "ap_mm": 300.0, "ml_mm": round(rng.uniform(-90, 90), 1)}
        stance["other_support"]["uncertainty_mm"] = round(rng.uniform(10, 30), 1)
    return stance


def make_crutch(rng: np.random.Generator, k: int) -> dict:
    """Where the tip is, if that is known, and how the crutch leans."""
    crutch = {"tilt_deg": round(rng.uniform(0, 18), 1)}
    if rng.random() < 0.85:
        crutch["tip_ap_mm"] = round(rng.uniform(200, 300), 1)
        crutch["tip_ml_mm"] = round((-1 if k == 0 else 1) * rng.uniform(260, 380), 1)
    perhaps(rng, crutch, "tip_uncertainty_mm", 5, 25, chance=0.5)
    perhaps(rng, crutch, "tilt_uncertainty_deg", 1, 5, chance=0.5)
    perhaps(rng, crutch, "tilt_ap_deg", 0, 12, chance=0.7)
    perhaps(rng, crutch, "own_weight_n", 3, 9, chance=0.4)
    perhaps(rng, crutch, "tip_height_mm", -60, 10, chance=0.4)
    return crutch


def make_rig(rng: np.random.Generator, stance: dict) -> dict:
    """Two or four cells a foot, crutch cells in shafts or plates, or none; one channel may carry no cell."""
    cells = []
    four = rng.random() < 0.6
    pads = rng.random() < 0.3
    for k, side in enumerate(SIDES):
        middle = -115.0 if k == 0 else 115.0
        for under, ap in ((f"{side} heel", -40.0), (f"{side} forefoot", 130.0)):
            for ml in (middle - 30, middle + 30) if four else (middle,):
                cell = {
                    "under": under,
                    "ap_mm": ap,
                    "ml_mm": ml,
                    "capacity_n": 981.0,
                }
                if pads:
                    cell |= {"pad_length_mm": 30.0, "pad_width_mm": 40.0}
                cells.append(cell)
    kind = str(rng.choice(["none", "shaft", "shaft", "plate", "one shaft", "as used"]))
    for k, side in enumerate(SIDES):
        used = stance["crutches"] in (side, "two")
        if kind == "plate":
            count = int(rng.integers(3, 5))
            for corner in ((150, -50), (150, 50), (250, 50), (250, -50))[:count]:
                ml = corner[1] + (-320.0 if k == 0 else 320.0)
                cells.append(
                    {"under": f"{side} crutch", "ap_mm": corner[0], "ml_mm": ml, "capacity_n": 490.0}
                )
        elif kind == "shaft" or (kind == "one shaft" and k == 0) or (kind == "as used" and used):
            cells.append({"under": f"{side} crutch", "capacity_n": 490.0})
    channels = [int(c) for c in rng.permutation(min(14, len(cells) + 1))[: len(cells)]]
    if len(cells) > 13:
        channels = list(range(len(cells)))
    for cell, channel in zip(cells, channels, strict=True):
        cell["channel"] = channel
        if rng.random() < 0.3:
            cell["position_uncertainty_mm"] = round(rng.uniform(0.5, 3), 1)
    rig = {"schema": 1, "name": "made up", "cell": cells}
    perhaps(rng, rig, "minimum_foot_load_n", 15, 30, chance=0.4)
    perhaps(rng, rig, "zero_drift_n", 0.2, 1.0, chance=0.4)
    return rig


def make_calibration(rng: np.random.Generator, rig: dict) -> dict:
    """One entry a board channel: straight or bent, rising or falling."""
    bent, points = rng.random() < 0.3, rng.random() < 0.8
    capacity = {cell["channel"]: cell["capacity_n"] for cell in rig["cell"]}
    entries = []
    for channel in range(max(capacity) + 1):
        slope = float(rng.uniform(3e-4, 6e-4) * (-1 if rng.random() < 0.25 else 1))
        second = float(rng.normal(0, 4e-12)) if bent else 0.0
        u1, u2 = abs(slope) * 2e-4, 2e-14
        mixed = -0.6 * u1 * u2
        entry = {
            "channel": channel,
            "zero_counts": round(rng.normal(0, 60000), 1),
            "zero_uncertainty_counts": round(rng.uniform(5, 200), 1),
            "newton_per_count": slope,
            "newton_per_count2": second,
            "covariance": [[u1**2, mixed], [mixed, u2**2]] if bent else [[u1**2]],
            "residual_n": round(rng.uniform(0.05, 0.5), 2),
        }
        if rng.random() < 0.7:
            entry["hysteresis_n"] = round(rng.uniform(0.1, 1.0), 2)
        if points:
            largest = rng.choice([0.25, 1.0]) * capacity.get(channel, 981.0)
            entry["points"] = [{"applied_n": float(largest), "counts": 1000000, "direction": "up"}]
        entries.append(entry)
    calibration = {"schema": 1, "rig": "made up", "made": "2026-03-02T09:00:00+01:00", "channels": entries}
    if rng.random() < 0.8:
        calibration["shared_gain_uncertainty"] = round(rng.uniform(0.0003, 0.003), 5)
    if rng.random() < 0.7:
        calibration["creep_pct"] = round(rng.uniform(0.05, 0.4), 2)
    return calibration
