"""A simulated trial recorded as any other: real bytes, decoded, through session and recorder; the truth beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from balance.command_line.setting_up import Floor
    from balance.simulated_person import Scenario, SimulatedPerson
    from drivers.simulated_board.board import SimulatedBoard


def person_of(scenario: Scenario, body_weight_n: float) -> object:
    from balance.session import Described
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
    from balance.protocols import Cue, Protocol
    from balance.recording import read_recording
    from balance.session import Described, Session
    from balance.simulated_person.truth_file import write_truth
    from drivers.simulated_board.source import SimulatedSource

    described = person_of(scenario, person.body_weight_n)
    assert isinstance(described, Described)
    cues = tuple(Cue(max(s.start_s - 0.5, 0.0), f"shift {s.side} {s.share_pct:.0f}") for s in scenario.shifts)
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
        session.trial_over.wait()
    finally:
        session.stop()
    recording = read_recording(folder)
    write_truth(folder, person, recording.samples)
    return folder
