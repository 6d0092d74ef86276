"""The findings' support and moments."""

import numpy as np

from tests.reference.facts import SIDES, or_else
from tests.reference.hull import corners_of_foot, hull, margin, probability_inside
from tests.reference.standing import GRAVITY
from tests.reference.trial import Trial


def support(trial: Trial) -> dict:
    support = dict.fromkeys(
        (
            "body_margin_mm",
            "body_margin_mm_u",
            "support_margin_mm",
            "support_margin_mm_u",
            "stands_on",
            "probability_on_feet",
        )
    )
    counts, feet = trial.masks.line["body"], trial.masks.feet
    facts, s = trial.facts, trial.samples
    w = trial.world
    corners = []
    for k, side in enumerate(SIDES):
        if feet.any() and s.load[k][feet].mean() >= trial.masks.minimum_n:
            corners += corners_of_foot(w.heel[k], w.length[k], w.toe_out[k], side, facts.foot[k])
    if not counts.any() or not corners:
        return support
    more = list(corners)
    for j in (0, 1):
        if facts.measured[j] and s.placed[j] and s.hand[j][feet].mean() >= trial.masks.loaded_n:
            loaded = feet & (s.hand[j] >= trial.masks.loaded_n)
            tip = (s.v_moment[j] / s.v[j][:, None])[loaded].mean(axis=0) if facts.plate[j] else w.tip[j]
            more.append(tip)
    if facts.from_weight and s.other[feet].mean() >= trial.masks.loaded_n:
        more += facts.corners
    share = trial.weights("body")
    u_h = [or_else(f, "placement_uncertainty_mm", 2.0) for f in facts.foot]
    covariance = trial.spread.pair("body.ap", "body.ml") + np.eye(2) * sum(
        share[k] ** 2 * u_h[k] ** 2 for k in (0, 1)
    )
    point = np.array([trial.means["body.ap"], trial.means["body.ml"]])
    on_feet = hull(corners)
    support["body_margin_mm"], support["body_margin_mm_u"] = margin(on_feet, point, covariance)
    support["support_margin_mm"], support["support_margin_mm_u"] = margin(hull(more), point, covariance)
    p = support["probability_on_feet"] = probability_inside(on_feet, point, covariance)
    support["stands_on"] = "feet" if p >= 0.95 else "feet and crutches" if p <= 0.05 else "undecided"
    if trial.uncertain_support:
        support["stands_on"] = "undecided"
    return support


def moment(trial: Trial, k: int) -> dict:
    side, facts, counts = SIDES[k], trial.facts, trial.masks.line[SIDES[k]]
    foot = facts.foot[k]
    found = dict.fromkeys(
        (
            "ankle_mean_nm",
            "ankle_mean_nm_u",
            "ankle_p95_nm",
            "ankle_peak_nm",
            "ankle_mean_nm_per_kg",
            "knee_mean_nm",
            "knee_mean_nm_u",
            "used_pct",
        )
    )
    found["resisting_moment_nm"] = foot.get("resisting_moment_nm")
    if counts.any() and foot.get("ankle_mm") is not None:
        ankle = trial.samples.ankle[k][counts]
        found |= {
            "ankle_mean_nm": float(ankle.mean()),
            "ankle_mean_nm_u": trial.spread.u(f"{side}.ankle"),
            "ankle_p95_nm": float(np.percentile(ankle, 95)),
            "ankle_peak_nm": float(ankle.max()),
        }
        if trial.masks.reference_n is not None:
            found["ankle_mean_nm_per_kg"] = float(ankle.mean() / (trial.masks.reference_n / GRAVITY))
        if foot.get("resisting_moment_nm") is not None and _at_its_angle(trial, k):
            found["used_pct"] = 100 * found["ankle_p95_nm"] / foot["resisting_moment_nm"]
    if counts.any() and foot.get("knee_mm") is not None and _knee_known(trial, k):
        found["knee_mean_nm"] = float(trial.samples.knee[k][counts].mean())
        found["knee_mean_nm_u"] = trial.spread.u(f"{side}.knee")
    return found


def _at_its_angle(trial: Trial, k: int) -> bool:
    asked = trial.facts.foot[k].get("resisting_at_shank_deg")
    noted = (trial.facts.trial.get("posture") or {}).get(f"{SIDES[k]}_shank_deg")
    return asked is None or (noted is not None and abs(noted - asked) <= 3)


def _knee_known(trial: Trial, k: int) -> bool:
    facts = trial.facts
    if not facts.all_measured:
        return False
    missing = facts.foot[k].get("knee_height_mm") is None or any(
        facts.measured[j] and facts.crutch[j].get("tilt_ap_deg") is None for j in (0, 1)
    )
    return not (trial.means["crutch_pct"] > 5 and missing)
