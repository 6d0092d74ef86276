"""What one recording says of its rig, stance and person, with the values that stand where it says nothing."""

import math
from dataclasses import dataclass, field

import numpy as np

from tests.reference.reading import Recording

SIDES = ("left", "right")
FEET = {side: (f"{side} heel", f"{side} forefoot") for side in SIDES}


def or_else(table: dict | None, key: str, value):
    """The entry, or `value` where it is absent or null."""
    found = (table or {}).get(key)
    return value if found is None else found


@dataclass
class World:
    """Every quantity that carries an error, at its best value. Errors are tried by moving one of them."""

    a1: np.ndarray
    a2: np.ndarray
    zero: np.ndarray
    offset_n: np.ndarray  # a force error of its own for each cell
    gain: np.ndarray  # (1,) relative, shared by all cells
    common: np.ndarray  # (1,) in units of each cell's hysteresis error
    place: np.ndarray  # (cells, 2) AP, ML; nan for a cell in a crutch
    foot_ml: np.ndarray  # (2,) left, right: where a foot's cells cannot see ML
    tip: np.ndarray  # (2, 2) left, right; nan without one
    tilt: np.ndarray  # (2,) error of v as a part of the cell's force
    height: np.ndarray  # (2,) AP, ML: horizontal force at tips that stand lower
    weight_n: np.ndarray  # (1,), nan if not known
    other_place: np.ndarray  # (2,) where the support that is not measured acts; nan if not known
    heel: np.ndarray  # (2, 2)
    length: np.ndarray  # (2,)
    toe_out: np.ndarray  # (2,) rad
    ankle: np.ndarray  # (2,)
    knee: np.ndarray  # (2,)


@dataclass
class Facts:
    """What has no error, or is only asked."""

    cells: list[dict]
    channels: list[dict]  # calibration, one a cell
    zero_drift_n: np.ndarray  # (cells,) nan where the zero was taken again afterwards
    zero_drift_counts: np.ndarray
    parts: dict[str, list[int]]  # cell indices under each foot and crutch
    plate: list[bool]  # left, right: the crutch stands on a plate
    measured: list[bool]  # left, right: cells under this crutch
    in_use: list[bool]
    other: dict | None
    foot: list[dict]
    crutch: list[dict]
    weight_n: float | None
    weight_u: float
    touched: str | None
    rig: dict
    calibration: dict
    trial: dict
    band: tuple[float, float] = (0.5, 2 / 3)
    corners: list[np.ndarray] = field(default_factory=list)  # of the support that is not measured
    other_u: np.ndarray = field(default_factory=lambda: np.full(2, np.nan))

    @property
    def all_measured(self) -> bool:
        """Cells under everything that the stance says carries load."""
        return self.other is None and all(m or not u for m, u in zip(self.measured, self.in_use, strict=True))

    @property
    def handled(self) -> bool:
        """Somebody's hand was on the person."""
        return self.touched in ("steadied", "held")

    @property
    def from_weight(self) -> bool:
        """The rest of the body weight is taken as the support without cells."""
        return not self.all_measured and self.weight_n is not None and not self.handled


def gather(recording: Recording) -> tuple[Facts, World]:
    """Facts and world of a recording."""
    trial = recording.trial
    rig, stance, calibration = trial["rig"], trial["stance"], trial["calibration"]
    cells = rig["cell"]
    by_channel = {entry["channel"]: entry for entry in calibration["channels"]}
    channels = [by_channel[cell["channel"]] for cell in cells]
    zero = np.array([channel["zero_counts"] for channel in channels], float)
    drift_n = np.full(len(cells), float(or_else(rig, "zero_drift_n", 0.5)))
    drift_counts = np.zeros(len(cells))
    zero_after = trial.get("zero_after_counts")
    for i, cell in enumerate(cells):
        after = None if zero_after is None else zero_after[cell["channel"]]
        if after is not None:
            drift_counts[i] = abs(after - zero[i]) / math.sqrt(12)
            zero[i] = (zero[i] + after) / 2
            drift_n[i] = 0.0
    parts = {f"{side} foot": [i for i, c in enumerate(cells) if c["under"] in FEET[side]] for side in SIDES}
    for side in SIDES:
        parts[f"{side} crutch"] = [i for i, c in enumerate(cells) if c["under"] == f"{side} crutch"]
    place = np.array([[or_else(c, "ap_mm", np.nan), or_else(c, "ml_mm", np.nan)] for c in cells], float)
    measured = [bool(parts[f"{side} crutch"]) for side in SIDES]
    foot = [stance[f"{side}_foot"] for side in SIDES]
    crutch = [stance.get(f"{side}_crutch") or {} for side in SIDES]
    subject = trial.get("subject") or {}
    weight = subject.get("body_weight_n")
    used = or_else(stance, "crutches", "none")
    facts = Facts(
        cells=cells,
        channels=channels,
        zero_drift_n=drift_n,
        zero_drift_counts=drift_counts,
        parts=parts,
        plate=[
            m and not np.isnan(place[parts[f"{s} crutch"]]).any()
            for m, s in zip(measured, SIDES, strict=True)
        ],
        measured=measured,
        in_use=[used in (side, "two") for side in SIDES],
        other=stance.get("other_support"),
        foot=foot,
        crutch=crutch,
        weight_n=weight,
        weight_u=or_else(
            subject,
            "body_weight_uncertainty_n",
            3.0 if subject.get("body_weight_from") == "measured" else 10.0,
        ),
        touched=trial.get("touched"),
        rig=rig,
        calibration=calibration,
        trial=trial,
        band=tuple(or_else(stance, "band", (0.5, 2 / 3))),
    )
    tips = np.array(
        [[or_else(c, "tip_ap_mm", np.nan), or_else(c, "tip_ml_mm", np.nan)] for c in crutch], float
    )
    world = World(
        a1=np.array([c["newton_per_count"] for c in channels], float),
        a2=np.array([or_else(c, "newton_per_count2", 0.0) for c in channels], float),
        zero=zero,
        offset_n=np.zeros(len(cells)),
        gain=np.zeros(1),
        common=np.zeros(1),
        place=place,
        foot_ml=np.zeros(2),
        tip=tips,
        tilt=np.zeros(2),
        height=np.zeros(2),
        weight_n=np.array([np.nan if weight is None else float(weight)]),
        other_place=_other_place(facts, tips),
        heel=np.array([[f["heel_edge_ap_mm"], f["heel_edge_ml_mm"]] for f in foot], float),
        length=np.array([f["usable_length_mm"] for f in foot], float),
        toe_out=np.radians([or_else(f, "toe_out_deg", 0.0) for f in foot]),
        ankle=np.array([or_else(f, "ankle_mm", np.nan) for f in foot], float),
        knee=np.array([or_else(f, "knee_mm", np.nan) for f in foot], float),
    )
    return facts, world


def _other_place(facts: Facts, tips: np.ndarray) -> np.ndarray:
    """Where the support without cells acts; its corners and uncertainty go into the facts."""
    if facts.other is not None:
        place = np.array([facts.other["ap_mm"], facts.other["ml_mm"]], float)
        facts.corners = [place]
        facts.other_u = np.full(2, float(or_else(facts.other, "uncertainty_mm", 20.0)))
        return place
    without = [j for j in (0, 1) if facts.in_use[j] and not facts.measured[j]]
    if not without:
        return np.full(2, np.nan)
    u2 = np.mean([or_else(facts.crutch[j], "tip_uncertainty_mm", 15.0) ** 2 for j in without])
    apart = tips[without].max(axis=0) - tips[without].min(axis=0)
    facts.corners = [tips[j] for j in without]
    facts.other_u = np.sqrt(u2 + apart**2 / 12)
    return tips[without].mean(axis=0)
