"""Small recordings of every kind from a seed: `make(seed, folder)`; `build(seed)` keeps the truth too."""

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.reference.make_rig import make_calibration, make_rig, make_stance
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
    unspoilt_us: np.ndarray  # board_us of every row of `standing`


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
    unspoilt_us = rows.board_us.copy()
    spoil(rng, rows, rig, calibration)
    return Made(trial, rows, events, standing, bool(rng.random() < 0.3), unspoilt_us)


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
