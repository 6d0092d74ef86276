"""Small recordings of every kind, made from a seed: `make(seed, folder)`; `build(seed)` keeps the truth too."""

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.reference.person import SIDES, Standing, cell_forces, stand
from tests.reference.spoil import Rows, spoil

LOW_RATE_SEEDS = (7, 17, 27, 37)


@dataclass
class Made:
    """A recording before it is written, and the person behind it."""

    trial: dict
    rows: Rows
    events: list[tuple[int, str, str]]
    standing: Standing
    crlf: bool


def make(seed: int, folder: Path) -> Path:
    """Write the recording of this seed into `folder` (made if need be) and return it."""
    made = build(seed)
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    end, mark = ("\r\n", "\ufeff") if made.crlf else ("\n", "")
    rows = made.rows
    columns = [rows.sequence, rows.board_us, rows.status, *rows.counts.T]
    header = ["sequence", "board_us", "status", *(f"ch{c}" for c in range(rows.counts.shape[1]))]
    if rows.dt_us is not None:
        columns += list(rows.dt_us.T)
        header += [f"dt{c}" for c in range(rows.dt_us.shape[1])]
    lines = [",".join(header), *(",".join(map(str, row)) for row in np.stack(columns, axis=1).tolist())]
    text = mark + end.join(lines) + end
    if made.trial["state"] == "interrupted":
        text = text[: -len(end) - seed % 3]
    data = text.encode()
    (folder / "samples.csv").write_bytes(data)
    if made.trial["state"] == "complete":
        made.trial["samples"] |= {"rows": len(rows.sequence), "sha256": hashlib.sha256(data).hexdigest()}
    (folder / "trial.json").write_bytes((mark + json.dumps(made.trial, indent=1)).encode())
    if made.events:
        lines = ["board_us,kind,detail", *(f"{us},{kind},{detail}" for us, kind, detail in made.events)]
        (folder / "events.csv").write_bytes((mark + end.join(lines) + end).encode())
    return folder


def build(seed: int) -> Made:
    """Everything of this seed's recording, drawn at random."""
    rng = np.random.default_rng([seed, 20])
    shifting = rng.random() < 0.45
    rate = 10.0 if seed in LOW_RATE_SEEDS else float(rng.choice([80, 100]))
    n = (
        int(rng.integers(300, 700))
        if rate == 10
        else int(rng.integers(2200, 3000) if shifting else rng.integers(850, 2600))
    )
    weight_n = float(np.round(rng.uniform(550, 950), 1))
    trial = {
        "schema": 1,
        "software": "made up for a test",
        "state": "interrupted" if rng.random() < 0.15 else "complete",
        "protocol": "weight shift" if shifting else "quiet standing",
        "started": "2026-03-02T10:00:00+01:00",
        "subject": subject(rng, weight_n),
        "orthosis": {"side": str(rng.choice(["none", "left", "right", "both"]))},
        "placing": int(rng.integers(1, 4)),
        "touched": rng.choice(["none", "none", "none", "none", "unknown", "steadied", "held", None]),
        "rate_hz": rate,
        "samples": {"file": "samples.csv", "rows": None, "sha256": None},
        "notes": "",
    }
    stance = trial["stance"] = make_stance(rng)
    if rng.random() < 0.6:
        trial["posture"] = posture(rng, stance)
    rig = trial["rig"] = make_rig(rng, stance)
    calibration = trial["calibration"] = make_calibration(rng, rig)
    standing = stand(rng, n, rate, trial, weight_n)
    forces = cell_forces(rng, standing, rig, stance)
    rows = Rows.of(rng, forces, rig, calibration, rate)
    if rng.random() < 0.5:
        trial["zero_after_counts"] = [
            None if rng.random() < 0.2 else round(c["zero_counts"] + rng.normal(0, 2000), 1)
            for c in calibration["channels"]
        ]
    cue_us = [int(rows.board_us[0] + 1e6 * t) for t, _ in standing.cues]
    events = [(us, "cue", text) for us, (_, text) in zip(cue_us, standing.cues, strict=True)]
    if rng.random() < 0.4:
        events = []
    if rng.random() < 0.3:
        events = [(int(rows.board_us[0]), "mark", "start"), *events]
    spoil(rng, rows, rig, calibration)
    return Made(trial, rows, events, standing, bool(rng.random() < 0.3))


def subject(rng: np.random.Generator, weight_n: float) -> dict:
    """Code and, mostly, a body weight, not always the right one."""
    found = {"code": f"P{int(rng.integers(100))}", "body_weight_n": None, "body_weight_from": None}
    if rng.random() < 0.7:
        off = rng.choice([0.0, 0.0, 0.004, -0.06])
        found["body_weight_n"] = round(weight_n * (1 + off), 1)
        found["body_weight_from"] = str(rng.choice(["entered", "measured"]))
        if rng.random() < 0.4:
            found["body_weight_uncertainty_n"] = round(float(rng.uniform(2, 12)), 1)
    return found


def posture(rng: np.random.Generator, stance: dict) -> dict:
    """A posture whose shank angles are sometimes those at which the orthosis resists."""
    found = {"kind": str(rng.choice(["own", "knees flexed"]))}
    for side in SIDES:
        at = stance[f"{side}_foot"].get("resisting_at_shank_deg")
        if rng.random() < 0.7:
            found[f"{side}_shank_deg"] = round((5.0 if at is None else at) + float(rng.uniform(-5, 5)), 1)
    return found


def perhaps(rng: np.random.Generator, table: dict, key: str, low: float, high: float, chance=0.75) -> None:
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
    perhaps(rng, crutch, "tip_uncertainty_mm", 5, 25, 0.5)
    perhaps(rng, crutch, "tilt_uncertainty_deg", 1, 5, 0.5)
    perhaps(rng, crutch, "tilt_ap_deg", 0, 12, 0.7)
    perhaps(rng, crutch, "own_weight_n", 3, 9, 0.4)
    perhaps(rng, crutch, "tip_height_mm", -60, 10, 0.4)
    return crutch


def make_rig(rng: np.random.Generator, stance: dict) -> dict:
    """Two or four cells a foot, crutch cells in the shaft or as a plate, or none; one channel may carry no cell."""
    cells = []
    four = rng.random() < 0.6
    pads = rng.random() < 0.3
    for k, side in enumerate(SIDES):
        middle = -115.0 if k == 0 else 115.0
        for under, ap in ((f"{side} heel", -40.0), (f"{side} forefoot", 130.0)):
            for ml in (middle - 30, middle + 30) if four else (middle,):
                cell = {
                    "under": under,
                    "ap_mm": ap + round(rng.uniform(0, 0), 1),
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
    perhaps(rng, rig, "minimum_foot_load_n", 15, 30, 0.4)
    perhaps(rng, rig, "zero_drift_n", 0.2, 1.0, 0.4)
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
