"""`analyse`: one recording to the object that `bandstand analyse --format json` prints for it."""

import math
from pathlib import Path

import numpy as np

from tests.reference.errors import one_ml
from tests.reference.facts import SIDES, or_else
from tests.reference.lines import load_line, load_shares, staggered
from tests.reference.reading import Recording, read
from tests.reference.shifts import Course, describe, level, movements, quiet_window
from tests.reference.standing import (
    LINES,
    cell_forces,
    crutch_part,
    follow,
)
from tests.reference.support import moment, support
from tests.reference.sway import sway
from tests.reference.trial import Trial, longest_stretch, valid_stretches


def analyse(folder: Path, cutoff: float | None = 10.0, spectrum: str = "multitaper") -> dict:
    """The findings of the recording in `folder`."""
    recording = read(Path(folder))
    trial = Trial(recording, cutoff)
    found = _head(recording)
    found["load"] = load_shares(trial)
    found["load_line"] = {line: load_line(trial, line) for line in LINES}
    found["support"] = support(trial)
    found["moment"] = {side: moment(trial, k) for k, side in enumerate(SIDES)}
    found["sway"] = _sway(trial, spectrum)
    found["time"] = _time(trial)
    found |= _shifts(trial)
    _more_codes(trial)
    found["quality"] = trial.codes
    return found


def _head(recording: Recording) -> dict:
    trial = recording.trial
    head = {key: trial.get(key) for key in ("protocol", "placing")}
    posture = (trial.get("posture") or {}).get("kind")
    return head | {
        "subject": (trial.get("subject") or {}).get("code"),
        "state": recording.state,
        **({} if posture is None else {"posture": posture}),
    }


def _time(trial: Trial) -> dict:
    seq, us = trial.recording.sequence, trial.recording.board_us
    a, b = longest_stretch(trial)
    spanned = int(seq[-1] - seq[0]) + 1
    return {
        "duration_s": spanned / trial.chain.rate_hz,
        "rate_hz": trial.chain.rate_hz,
        "samples": len(seq),
        "lost_samples": spanned - len(seq),
        "longest_gap_s": float(np.diff(us).max() * 1e-6),
        "analysed_s": (b - a) / trial.chain.rate_hz,
        "cutoff_hz": trial.cutoff_hz,
    }


def _sway(trial: Trial, spectrum: str) -> dict:
    a, b = longest_stretch(trial)
    rate = trial.chain.rate_hz
    seconds = (b - a - 1) / rate
    if rate < 40:
        trial.codes.add("rate-too-low")
    if seconds < 20:
        trial.codes.add("too-short")
    elif seconds < 30 and rate >= 40 and spectrum == "multitaper":
        trial.codes.add("spectral-resolution")
    return sway(trial.samples.point["feet"][a:b], rate, spectrum)


def _shifts(trial: Trial) -> dict:
    none = {"shifts": [], "levels": {"left": None, "right": None}}
    if trial.facts.trial.get("protocol") != "weight shift":
        return none
    if trial.masks.reference_n is None:
        trial.codes.add("no-body-weight")
    course = _course(trial)
    cues = [
        ((us - trial.recording.board_us[0]) * 1e-6, detail)
        for us, kind, detail in trial.recording.events
        if kind == "cue" and ("left" in detail or "right" in detail)
    ]
    window = quiet_window(course, cues)
    if window is None:
        trial.codes.add("no-quiet-baseline")
        return none
    if not window[2]:
        trial.codes.add("no-quiet-baseline")
    sd = course.share_left[window[0] : window[1]].std()
    aligned = trial.chain.rate_hz >= 40 or trial.recording.dt_us is not None
    found, _ = movements(course, window)
    cued = [any(side in detail for _, detail in cues) for side in SIDES]
    return {
        "shifts": [describe(course, movement, sd, aligned) for movement in found],
        "levels": {side: level(course, k, found, window, cued[k]) for k, side in enumerate(SIDES)},
    }


def _course(trial: Trial) -> Course:
    facts, chain, world = trial.facts, trial.chain, trial.world
    slow = follow(world, facts, cell_forces(world, facts, chain, 3.0))
    reference = trial.masks.reference_n
    crutch = None
    if facts.all_measured or facts.from_weight:
        hands, whole = crutch_part(facts, world, slow)
        crutch = 100 * hands / whole
    b0, b1 = facts.band
    in_band = np.full(slow.load.shape, np.nan)
    for k, side in enumerate(SIDES):
        p, counts = trial.samples.position[side], trial.masks.line[side]
        in_band[k][counts] = ((p >= 100 * b0) & (p <= 100 * b1))[counts]
    return Course(
        time_s=chain.time_s,
        stretches=valid_stretches(chain, slow.feet >= trial.masks.minimum_n),
        rate_hz=chain.rate_hz,
        share_left=100 * slow.share[0],
        weight_pct=None if reference is None else 100 * slow.load / reference,
        crutch_pct=crutch,
        below_minimum=slow.load < trial.masks.minimum_n,
        in_band=in_band,
        filled=chain.filled,
    )


def _more_codes(trial: Trial) -> None:
    facts, chain = trial.facts, trial.chain
    nominal = facts.trial.get("rate_hz")
    newtons = np.abs(chain.newtons(trial.world.a1, trial.world.a2, trial.world.zero))
    largest = [
        max((p["applied_n"] for p in or_else(c, "points", [])), default=math.inf) for c in facts.channels
    ]
    holds = {
        "heels-staggered": staggered(trial),
        "ml-not-seen": any(one_ml(facts, k) for k in (0, 1)),
        "touched": facts.handled,
        "weight-from-trial": trial.masks.reference_from_trial,
        "values-left-out": chain.left_out > 0,
        "rate-differs": nominal is not None and abs(chain.rate_hz - nominal) > 0.02 * nominal,
        "no-filter": trial.cutoff_hz is None and chain.rate_hz <= 25,
        "not-aligned": chain.rate_hz < 40 and trial.recording.dt_us is None,
        "beyond-calibration": bool((newtons > 1.1 * np.array(largest)).any()),
    }
    trial.codes |= {code for code, is_so in holds.items() if is_so}
