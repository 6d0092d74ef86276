"""A simulated trial recorded as any other: real bytes, decoded, through session and recorder; the truth beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from balance.command_line.output import wait_with_progress
from balance.words import say

if TYPE_CHECKING:
    from balance.command_line.setting_up import Floor
    from balance.simulated_person import Scenario, SimulatedPerson
    from drivers.simulated_board.board import SimulatedBoard
    from drivers.simulated_board.electronics import Loads


def with_tips(floor: Floor, scenario: Scenario) -> Floor:
    """The floor with the crutch tips as far ahead as the scenario says."""
    from balance.command_line.setting_up import Floor

    if scenario.tips_ahead_mm is None:
        return floor
    moved = {
        name: crutch.model_copy(update={"tip_ap_mm": scenario.tips_ahead_mm})
        for name in ("left_crutch", "right_crutch")
        if (crutch := getattr(floor.stance, name)) is not None and crutch.tip_ap_mm is not None
    }
    return Floor(floor.rig, floor.calibration, floor.stance.model_copy(update=moved))


def board_of(loads: Loads, scenario: Scenario, rate_hz: float, seed: int) -> SimulatedBoard:
    """A simulated board under these loads with the scenario's faults."""
    from drivers.simulated_board.board import LinkFaults, SimulatedBoard
    from drivers.simulated_board.electronics import Electronics

    f = scenario.faults
    given = {
        name: value
        for name in ("noise_n", "creep_pct", "hysteresis_pct_of_capacity", "drift_n_in_10_min")
        if (value := getattr(f, name)) is not None
    }
    faults = LinkFaults(
        f.dead_channel,
        f.stuck_channel,
        f.lost_bytes,
        f.corrupted_bytes,
        tuple((u.start_s, u.end_s) for u in f.unplugged),
    )
    return SimulatedBoard(loads, rate_hz, seed, Electronics(**given), faults)


def person_of(scenario: Scenario, body_weight_n: float) -> object:
    from balance.live_state import Described
    from balance.trial import Orthosis, Posture, Subject

    return Described(
        subject=Subject(
            code=scenario.subject, body_weight_n=round(body_weight_n, 1), body_weight_from="measured"
        ),
        placing=scenario.placing,
        orthosis=Orthosis(side=scenario.orthosis_side),
        posture=Posture(kind=scenario.posture),
        notes="simulated; invented",
    )


def record_simulated(
    floor: Floor,
    scenario: Scenario,
    person: SimulatedPerson,
    board: SimulatedBoard,
    out: Path,
    seconds: float,
) -> Path:
    """Records ``seconds`` unpaced; the recording's folder, with NAME.truth.json beside it."""
    from balance.live_state import Described
    from balance.protocols import ALL, Cue, Protocol
    from balance.recording import read_recording
    from balance.session import Session
    from balance.simulated_person.truth_file import write_truth
    from drivers.simulated_board.source import SimulatedSource

    described = person_of(scenario, person.body_weight_n)
    assert isinstance(described, Described)
    cues = tuple(Cue(max(s.start_s - 0.5, 0.0), f"shift {s.side} {s.share_pct:.0f}") for s in scenario.shifts)
    if scenario.protocol in ("crutch load", "lean"):
        cues = tuple(cue for cue in ALL[scenario.protocol].cues if cue.at_s < seconds)
    session = Session(
        SimulatedSource(board, seconds + 1.0),
        floor.rig,
        floor.stance,
        floor.calibration,
        described=described,
        out=out,
    )
    try:
        session.open()
        folder = session.begin_trial(Protocol(scenario.protocol, seconds, cues), seconds)
        session.start()
        wait_with_progress(
            session.trial_over,
            lambda: session.latest().seconds,
            seconds,
            say("command.recording", folder=folder),
        )
    finally:
        session.stop()
    recording = read_recording(folder)
    write_truth(folder, person, recording.samples)
    return folder
