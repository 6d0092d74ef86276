"""What noise of a cell and the rate of conversions do to each sway measure: `python -m tests.simulations.noise_and_rate`.

A simulated minute of quiet standing, through board, recording and analysis; the change against the same standing without noise at 80
conversions a second, the mean over some persons, %. '–': absent, as the rate is too low.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np

from balance import demo
from balance.analysis import analyse_recording
from balance.command_line.setting_up import demo_floor
from balance.command_line.simulated_trial import board_of, record_simulated
from balance.simulated_person import SimulatedPerson, read_scenario
from balance.simulated_person.loads import PersonLoads
from balance.simulated_person.scenario import Faults

NOISE_N = (0.1, 0.2, 0.5, 1.0, 2.0)  # SD of a cell's conversion
RATES = (80.0, 40.0, 10.0)
PERSONS = 3
SHOWN = (
    "resultant.rms_distance_mm", "resultant.range_mm", "resultant.ellipse95_area_mm2", "resultant.path_mm", "resultant.mean_frequency_hz",
    "resultant.sway_area_mm2_s", "resultant.total_power_mm2", "resultant.centroid_hz", "resultant.fractal_dimension_cc",
    "resultant.diffusion_short_mm2_s", "resultant.diffusion_short_exponent", "resultant.diffusion_long_mm2_s", "ap.sample_entropy", "ap.dfa_alpha",
    "resultant.com_rms_mm", "resultant.cop_com_rms_mm", "resultant.time_to_boundary_mean_s",
)  # fmt: skip


def measured(seed: int, noise_n: float, rate_hz: float, scratch: Path) -> dict[str, float | None]:
    """The sway of one simulated minute."""
    floor = demo_floor()
    faults = Faults(noise_n=noise_n, creep_pct=0.0, hysteresis_pct_of_capacity=0.0, drift_n_in_10_min=0.0)
    changes = {"seconds": 61.0, "faults": faults, "left_crutch_pct": 0.0, "right_crutch_pct": 0.0}
    scenario = read_scenario(demo.path("quiet.toml")).model_copy(update=changes)
    stance = floor.stance.model_copy(update={"crutches": "none"})
    floor = type(floor)(floor.rig, floor.calibration, stance)
    person = SimulatedPerson(floor.rig, floor.stance, scenario, seed)
    board = board_of(PersonLoads(person, floor.calibration), scenario, rate_hz, seed)
    folder = record_simulated(floor, scenario, person, board, scratch / f"{seed}-{noise_n}-{rate_hz}", 60.0)
    from balance.recording import amend, read_recording

    subject = read_recording(folder).trial.subject
    amend(folder, subject={**(subject.model_dump(exclude_none=True) if subject else {}), "height_m": 1.7})
    sway = analyse_recording(folder)["sway"]
    return {name: sway[name.split(".")[0]][name.split(".")[1]] for name in SHOWN}


def main() -> None:
    """Prints the table."""
    conditions = [(noise, rate) for rate in RATES for noise in NOISE_N]
    with tempfile.TemporaryDirectory() as scratch:
        changes: dict[tuple[float, float], list[dict[str, float]]] = {c: [] for c in conditions}
        for seed in range(1, PERSONS + 1):
            true = measured(seed, 0.0, 80.0, Path(scratch))
            for noise, rate in conditions:
                found = measured(seed, noise, rate, Path(scratch))
                changes[noise, rate].append(
                    {k: 100 * (v / t - 1) for k, v in found.items() if v is not None and (t := true[k])}
                )
    print("| measure | " + " | ".join(f"{noise:g} N, {rate:.0f}/s" for noise, rate in conditions) + " |")
    print("|---|" + "---|" * len(conditions))
    for name in SHOWN:
        cells = []
        for condition in conditions:
            given = [one[name] for one in changes[condition] if name in one]
            cells.append(f"{np.mean(given) + 0.0:+.0f}" if given else "–")
        print(f"| {name} | " + " | ".join(cells) + " |")


if __name__ == "__main__":
    main()
