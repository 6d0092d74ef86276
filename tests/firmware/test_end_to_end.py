"""Person → newtons → bridge → converters → firmware → line → driver → monitor → recording: nothing between is ours alone."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from balance import demo
from balance.analysis import findings
from balance.command_line.app import app
from balance.live_state import Described
from balance.monitor import Monitor
from balance.protocols import Protocol
from balance.recording import read_recording
from balance.session import Session
from balance.simulated_person import SimulatedPerson, read_scenario
from balance.simulated_person.loads import PersonLoads
from balance.trial import Subject
from drivers.samples import COUNTS_MAX, COUNTS_MIN, SampleBlock
from drivers.simulated_board.lines import serve_tcp
from drivers.simulated_board.source import SimulatedSource
from tests.balance.test_session import FLOOR
from tests.firmware.microcontroller import Microcontroller

SECONDS = 20.0


def a_person(name: str = "quiet.toml") -> SimulatedPerson:
    return SimulatedPerson(FLOOR.rig, FLOOR.stance, read_scenario(demo.path(name)), 4)


def board_under(person: SimulatedPerson, seconds: float = SECONDS, seed: int = 2) -> Microcontroller:
    """The larger board with a cell's converter on each channel; each converts the true force at its own times, with a few counts
    of noise: without any a still crutch's cell would rightly be called stuck."""
    loads = PersonLoads(person, FLOOR.calibration)
    rng = np.random.default_rng(seed)
    rates = 80 * (1 + rng.uniform(-0.14, 0.16, 10))
    phases = [float(rng.uniform(0, 1 / rate)) for rate in rates]
    counts = []
    for c in range(10):
        t_s = phases[c] + np.arange(int((seconds + 1) * rates[c])) / rates[c]
        whole = np.rint(loads.newtons(t_s, c) * loads.counts_per_newton[c] + loads.zero_counts[c])
        whole += rng.integers(-3, 4, len(whole))
        counts.append(np.clip(whole, COUNTS_MIN, COUNTS_MAX))
    return Microcontroller("large", counts, rates.tolist(), phases)


def test_the_points_are_the_persons_own() -> None:
    """RMS within 1 mm at 80 a second, against the truth as late as converters (on average half a conversion) and filter (22 ms) are."""
    person = a_person()
    board = board_under(person)
    source = SimulatedSource(board, SECONDS)
    info = source.open()
    monitor = Monitor(
        FLOOR.rig, FLOOR.stance, FLOOR.calibration, rate_hz=info.rate_hz, body_weight_n=person.body_weight_n
    )
    times, points = [], {"feet": [], "body": []}
    while board.now_s < SECONDS:
        for item in source.read():
            if isinstance(item, SampleBlock):
                reading = monitor.feed(item)
                times.append(reading.board_us * 1e-6)
                for name, found in points.items():
                    found.append(reading.point_mm[name])
    board.close()
    at_s = np.concatenate(times)[80:]
    late = person.truth(at_s - 0.028)
    for name, found in points.items():
        error = np.concatenate(found)[80:] - late.cop_mm[name]
        assert len(error) > 1400
        assert np.sqrt(np.mean(error**2, axis=0)).max() < 1.0, name


def test_a_trial_through_the_firmware_finds_what_the_person_does(tmp_path: Path) -> None:
    person = a_person("shift.toml")
    board = board_under(person, 41.0)
    described = Described(
        subject=Subject(code="F1", body_weight_n=person.body_weight_n, body_weight_from="measured")
    )
    session = Session(
        SimulatedSource(board, 41.0),
        FLOOR.rig,
        FLOOR.stance,
        FLOOR.calibration,
        described=described,
        out=tmp_path,
    )
    session.open()
    folder = session.begin_trial(Protocol("weight shift", 40.0), 40.0)
    session.start()
    assert session.finished.wait(120)
    session.stop()
    board.close()
    recording = read_recording(folder)
    assert recording.trial.state == "complete"
    assert (np.diff(recording.samples.sequence) == 1).all()
    found = findings(recording)
    assert [shift["side"] for shift in found["shifts"]] == ["left", "right", "left"]
    t_s = recording.samples.board_us * 1e-6
    truth = person.truth(t_s).cop_mm["body"].mean(axis=0)
    foot = FLOOR.stance.left_foot
    mean_ap = foot.heel_edge_ap_mm + found["load_line"]["body_on_left"]["mean_mm"] * np.cos(
        np.radians(foot.toe_out_deg)
    )
    assert mean_ap == pytest.approx(truth[0], abs=1.0)
    assert not [entry for entry in found["quality"] if entry["level"] == "error"]


@pytest.mark.real_time
def test_record_on_a_socket_in_real_time(tmp_path: Path) -> None:
    """`bandstand record` finds the firmware behind a socket, in real time."""
    person = a_person()
    board = board_under(person)
    with serve_tcp(board, 60.0) as server:  # it has the same methods
        files = [f"--{name}={demo.path(f'{name}.toml')}" for name in ("rig", "stance")]
        done = CliRunner().invoke(
            app,
            [
                "record",
                "--port",
                server.address,
                *files,
                f"--calibration={demo.path('calibration.json')}",
                "--seconds",
                "3",
                "--out",
                str(tmp_path),
            ],
        )
    board.close()
    assert done.exit_code == 0, done.stderr
    folder = Path(done.stdout.strip().splitlines()[-1])
    trial = json.loads((folder / "trial.json").read_text())
    assert trial["board"]["firmware"] == "1.0.0"
    recording = read_recording(folder)
    assert len(recording.samples) == pytest.approx(240, abs=2)
    assert findings(recording)["load"]["total_n"] == pytest.approx(person.body_weight_n, rel=0.01)
