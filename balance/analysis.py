"""The offline chain's findings: one recording to the object that ``bandstand analyse`` prints.

The only maker of findings. Every number is a trial's plain mean over valid samples unless its name says otherwise;
an absent one is None with an entry in ``quality`` that names it.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import numpy.typing as npt

from balance.batches import batch_means
from balance.budget import budget
from balance.calibration import Calibration, check_fits
from balance.chain import Prepared, prepare
from balance.filters import CUTOFF_HZ, SHIFT_CUTOFF_HZ, ImpossibleCutoff, fits
from balance.find_crutch_steps import crutch_steps
from balance.find_imported import without_the_unknown
from balance.find_lean import lean
from balance.find_lines import line_block
from balance.find_loads import load_block
from balance.find_moments import moment_block
from balance.find_support import support_block
from balance.find_sway import sway_bias, sway_blocks
from balance.forces import beyond_calibration, cell_forces
from balance.found import Found
from balance.load_line import Lines, Setup, lines_of
from balance.provenance import provenance
from balance.quality import Quality
from balance.reading import LINES
from balance.rig import SIDES
from balance.self_checks import of_recording
from balance.series import series_of
from balance.stance import Stance
from balance.trial import Trial
from drivers.samples import SampleBlock

if TYPE_CHECKING:
    from balance.measures.noise_bias import Noise
    from balance.recording import Recording

Spectrum = Literal["multitaper", "welch"]
FOOT_OFF_S, LOST_S = 1.0, 0.5  # of one foot below the minimum; of silence: tool default
LOWEST_ALIGNED_HZ = 40.0


def analyse_recording(
    folder: Path,
    *,
    cutoff_hz: float | None = CUTOFF_HZ,
    spectrum: Spectrum = "multitaper",
    stance: Stance | None = None,
    calibration: Calibration | None = None,
    budgets: bool = False,
    basic: bool = False,
    noise: Noise | None = None,
) -> dict[str, Any]:
    """The findings of the recording in ``folder``; another stance or calibration re-analyses it.

    Raises FileProblem where the recording cannot be read, ImpossibleCutoff where the cut-off is at or above half the rate.
    """
    from balance.recording import read_recording

    recording = read_recording(folder)
    if calibration is not None:
        check_fits(folder / "trial.json", recording.trial.rig, calibration)
    return findings(
        recording,
        cutoff_hz=cutoff_hz,
        spectrum=spectrum,
        stance=stance,
        calibration=calibration,
        budgets=budgets,
        basic=basic,
        noise=noise,
    )


def findings(
    recording: Recording,
    *,
    cutoff_hz: float | None = CUTOFF_HZ,
    spectrum: Spectrum = "multitaper",
    stance: Stance | None = None,
    calibration: Calibration | None = None,
    budgets: bool = False,
    batches: bool = False,
    series: bool = False,
    basic: bool = False,
    noise: Noise | None = None,
) -> dict[str, Any]:
    """As ``analyse_recording``, of a recording already read.

    basic: of sway only distances, paths, areas and spectra · batches: also the means of four parts of the trial · series: also loads
    and body line over time, for pictures · noise: the rig's own, then also what it adds to the sway of the feet's point
    """
    trial, block = recording.trial, recording.samples
    stance = stance or trial.stance
    calibration = calibration or trial.calibration
    quality = Quality()
    cells = cell_forces(trial.rig, calibration, trial.zero_after_counts)
    prepared = prepare(block, cells)
    if cutoff_hz is not None and cutoff_hz != CUTOFF_HZ and cutoff_hz >= prepared.rate_hz / 2:
        raise ImpossibleCutoff(cutoff_hz, prepared.rate_hz)
    applied_hz = cutoff_hz if cutoff_hz is not None and fits(cutoff_hz, prepared.rate_hz) else None
    forces = prepared.filtered_n(applied_hz)
    setup, lines = _lines(forces, trial, stance, prepared, quality)
    found = Found(trial, setup, cells, forces, lines, prepared, calibration.gain_error, quality)
    _rig_notes(found, block, cutoff_hz, applied_hz)

    result: dict[str, Any] = {
        "recording": recording.name,
        "subject": trial.subject.code if trial.subject else None,
        "protocol": trial.protocol,
        "state": trial.state,
        "placing": trial.placing,
        "posture": trial.posture.kind if trial.posture else None,
    }
    quality.add_absent("not-noted", {key: result[key] for key in ("subject", "placing", "posture")})
    start, end = found.sway_stretch
    spanned = int(block.sequence[-1] - block.sequence[0]) + 1
    result["time"] = {
        "duration_s": spanned / prepared.rate_hz,
        "rate_hz": prepared.rate_hz,
        "samples": len(block),
        "lost_samples": spanned - len(block),
        "longest_gap_s": float(np.diff(block.board_us).max() * 1e-6),
        "analysed_s": (end - start) / prepared.rate_hz,
        "cutoff_hz": applied_hz,
    }
    if applied_hz is None and cutoff_hz is None:
        quality.add("filter-off", "time.cutoff_hz")
    result["load"] = load_block(found)
    result["load_line"] = {line: line_block(found, line) for line in LINES}
    result["support"] = support_block(found, result["load"])
    for line in ("body", "body_on_left", "body_on_right"):
        if found.body_undecided and result["load_line"][line].get("verdict") is not None:
            result["load_line"][line]["verdict"] = "undecided"
    result["moment"] = {side: moment_block(found, side, result["load"]["crutch_pct"]) for side in SIDES}
    result |= sway_blocks(found, result["load"]["crutch_pct"], spectrum, basic=basic)
    if noise is not None:
        result["sway_bias"] = sway_bias(found, noise, spectrum, result["load"]["crutch_pct"])
    result |= _shifts(found, recording)
    result |= _of_protocol(found, recording)
    result["spectrum"] = spectrum
    if trial.imported is not None:
        without_the_unknown(result, trial.imported, quality)
    if not basic:
        result["provenance"] = provenance(recording, stance, calibration, applied_hz, spectrum)
        quality.add_absent("not-noted", result["provenance"], "provenance.")
    if budgets:
        sources = found.sensitivities.sources
        result["budget"] = {name: budget(of, sources, trial.rig) for name, of in found.budgeted.items()}
    if batches:
        result["batch_means"] = batch_means(found)
    if series:
        result["series"] = series_of(found)
    result["quality"] = quality.entries()
    return result


def _of_protocol(found: Found, recording: Recording) -> dict[str, Any]:
    """Blocks that only one protocol has."""
    if found.trial.protocol == "crutch load":
        return {"crutch_steps": crutch_steps(found, _said(recording, "step"))}
    if found.trial.protocol == "lean":
        return {"lean": lean(found, _said(recording, "cue"))}
    return {}


def _lines(
    forces: npt.NDArray[np.float64], trial: Trial, stance: Stance, prepared: Prepared, quality: Quality
) -> tuple[Setup, Lines]:
    """The lines, with the reference weight: the known one, else this trial's own where all support is measured."""
    weight = trial.body_weight_n
    setup = Setup(trial.rig, stance, weight, weight, trial.is_touched)
    lines = lines_of(forces, setup)
    if weight is None and setup.measures_all_support:
        enough = lines.feet_n >= (trial.rig.minimum_foot_load_n or 20.0)
        enough &= prepared.real
        if enough.any():
            own_n = float(lines.total_n[enough].mean())
            quality.add("weight-from-trial")
            setup = Setup(trial.rig, stance, None, own_n, trial.is_touched)
            lines = lines_of(forces, setup)
    return setup, lines


def _rig_notes(found: Found, block: SampleBlock, wanted_hz: float | None, applied_hz: float | None) -> None:
    quality, trial, prepared = found.quality, found.trial, found.prepared
    if trial.rate_hz is not None and abs(prepared.rate_hz - trial.rate_hz) > 0.02 * trial.rate_hz:
        quality.add("rate-differs", measured=prepared.rate_hz, nominal=trial.rate_hz)
    usual_hz = wanted_hz or CUTOFF_HZ
    if applied_hz is None and not fits(usual_hz, prepared.rate_hz):
        quality.add("no-filter", "time.cutoff_hz", cutoff=usual_hz, rate=prepared.rate_hz)
    if prepared.rate_hz < LOWEST_ALIGNED_HZ and block.dt_us is None:
        quality.add("not-aligned")
    if prepared.left_out:
        quality.add("values-left-out", count=prepared.left_out)
    if not prepared.real.any():
        quality.add("too-few-samples")
    for trouble in of_recording(block, trial.rig, found.cells) if trial.imported is None else ():
        quality.tell(trouble.code, trouble.about, trouble.sentence)
    _broken_rules(found, block)
    beyond = beyond_calibration(found.cells, prepared.largest_n)
    if beyond:
        quality.add("beyond-calibration", channels=", ".join(map(str, beyond)))
    in_line = [
        side for side in SIDES if len({trial.rig.cells[i].ml_mm for i in trial.rig.foot_cells(side)}) == 1
    ]
    if in_line:
        quality.add("ml-not-seen", sides=" and ".join(in_line))
    if trial.is_touched:
        quality.add("touched")
    if found.setup.from_weight:
        quality.add("crutch-from-weight")


def _broken_rules(found: Found, block: SampleBlock) -> None:
    """A foot off its plate in a trial on both feet, a link that was lost: the data are kept, and it is said."""
    gap_s = float(np.diff(block.board_us).max() * 1e-6)
    if gap_s > LOST_S:
        found.quality.add("link-lost", seconds=gap_s)
    if found.trial.protocol == "noise floor":
        return
    rate_hz, feet = found.prepared.rate_hz, found.valid("feet")
    for side in SIDES:
        off = feet & (found.lines.foot_n[side] < found.setup.minimum_n)
        edges = np.diff(np.concatenate(([0], off.astype(np.int8), [0])))
        longest = (
            max((np.flatnonzero(edges == -1) - np.flatnonzero(edges == 1)).tolist(), default=0) / rate_hz
        )
        if longest >= FOOT_OFF_S:
            found.quality.add("foot-off", apart=side, side=side, seconds=longest, limit=found.setup.minimum_n)


def _said(recording: Recording, kind: str) -> list[tuple[float, str]]:
    """(seconds after the first row, words) of the events of one kind."""
    first_us = int(recording.samples.board_us[0])
    return [((e.board_us - first_us) * 1e-6, e.detail) for e in recording.events if e.kind == kind]


def _shifts(found: Found, recording: Recording) -> dict[str, Any]:
    from balance import shifts as ws

    trial, prepared, quality = found.trial, found.prepared, found.quality
    nothing: dict[str, Any] = {"shifts": [], "levels": {"left": None, "right": None}}
    level_keys = ("levels.left", "levels.right")
    if trial.protocol != "weight shift":
        quality.add("no-shift", *level_keys)
        return nothing
    reference = found.setup.reference_n
    if reference is None:
        quality.add("no-body-weight", *level_keys, "shifts.body_weight_pct")
    cues = [cue for cue in _said(recording, "cue") if "left" in cue[1] or "right" in cue[1]]
    course = _course(found, reference)
    baseline = ws.find_baseline(course, min((at for at, _ in cues), default=None))
    if baseline is None:
        quality.add("no-baseline", *level_keys)
        return nothing
    if not baseline.quiet:
        quality.add("no-quiet-baseline")
    aligned = prepared.rate_hz >= LOWEST_ALIGNED_HZ or recording.samples.dt_us is not None
    movements = ws.find_movements(course, baseline)
    shifts = [ws.describe(course, movement, baseline, aligned) for movement in movements]
    if not aligned:
        quality.add("not-aligned", "shifts.start_s", "shifts.reach_s", "shifts.shift_time_s")
    if any(shift["hold_s"] is None for shift in shifts):
        quality.add("no-hold", *(f"shifts.{key}" for key in
                    ("hold_s", "hold_share_pct", "body_weight_pct", "crutch_pct", "in_band_pct_time")))  # fmt: skip
    if course.crutch_pct is None:
        quality.add("crutch-not-measured", "shifts.crutch_pct")
    levels = ws.levels(course, movements, baseline, [detail for _, detail in cues])
    if reference is not None and None in levels.values():
        quality.add("no-shift", *(f"levels.{side}" for side in SIDES if levels[side] is None))
    return {"shifts": shifts, "levels": levels, "shift_sides": _sides(shifts, quality)}


def _sides(shifts: list[dict[str, Any]], quality: Quality) -> dict[str, Any]:
    """What the holds to either side carried, % of body weight, and left less right; its interval from two holds a side on."""
    from balance.statistics import welch

    held = {
        side: [s["body_weight_pct"] for s in shifts if s["side"] == side and s["body_weight_pct"] is not None]
        for side in SIDES
    }
    found: dict[str, Any] = {
        f"{side}_pct": float(np.mean(held[side])) if held[side] else None for side in SIDES
    }
    found |= {"difference_pct": None, "ci95": None}
    if held["left"] and held["right"]:
        d = welch(held["right"], held["left"])
        found |= {"difference_pct": d.difference, "ci95": None if d.low is None else [d.low, d.high]}
        if d.low is None:
            quality.add("few-holds", "shift_sides.ci95")
    absent = [
        f"shift_sides.{key}" for key in ("left_pct", "right_pct", "difference_pct") if found[key] is None
    ]
    if absent:
        quality.add("no-hold", *absent, "shift_sides.ci95")
    return found


def _course(found: Found, reference_n: float | None) -> Any:
    from balance.shifts import Course

    setup, prepared = found.setup, found.prepared
    slow = lines_of(prepared.filtered_n(SHIFT_CUTOFF_HZ), setup)
    band = [100 * part for part in setup.stance.band]
    in_band = {}
    for side in SIDES:
        position = found.lines.position_pct(side)
        inside = (position >= band[0]) & (position <= band[1])
        in_band[side] = np.where(found.valid(side), inside, np.nan)
    crutch = None
    if not setup.crutches_not_measured:
        weight_n = setup.body_weight_n
        whole: Any = weight_n if setup.from_weight else slow.total_n
        with np.errstate(divide="ignore", invalid="ignore"):
            crutch = np.asarray(100 * slow.support_n / whole, dtype=np.float64)
    weight = None
    if reference_n is not None:
        weight = {side: 100 * slow.foot_n[side] / reference_n for side in SIDES}
    return Course(
        time_s=prepared.time_s,
        rate_hz=prepared.rate_hz,
        stretches=found.unbroken(slow.valid["feet"]),
        share_left=100 * slow.share["left"],
        weight_pct=weight,
        crutch_pct=crutch,
        light={side: slow.foot_n[side] < setup.minimum_n for side in SIDES},
        in_band=in_band,
        real=prepared.real,
    )
