"""The session: trials by the board's clock, cues, zero, and a reader that dies in sight."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from balance import demo
from balance.analysis import findings
from balance.command_line.setting_up import demo_floor
from balance.controls import Controls
from balance.day.notes import read_notes
from balance.files import FileProblem, as_data
from balance.live_state import Described
from balance.person_says import Saying
from balance.protocols import ALL, by_name
from balance.protocols.protocol import TRANSITIONS, Cue, Protocol, after, diagram
from balance.recording import read_recording
from balance.rig import Rig
from balance.session import CalibrationRefused, Session
from balance.simulated_person import SimulatedPerson, read_scenario
from balance.simulated_person.loads import PersonLoads
from balance.trial import Subject
from drivers.recorded_board import RecordedBoard
from drivers.samples import BoardInfo, LinkEvent, SampleBlock, concatenate
from drivers.simulated_board.board import LinkFaults, SimulatedBoard
from drivers.simulated_board.electronics import Electronics
from drivers.simulated_board.source import SimulatedSource
from tests.drivers.test_sources import INFO, a_board, drain

FLOOR = demo_floor()


def a_session(out: Path | None, seconds: float = 6.0, faults: LinkFaults | None = None) -> Session:
    described = Described(subject=Subject(code="R7T", body_weight_n=627.6))
    source = SimulatedSource(a_board(faults=faults), seconds)
    return Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=described, out=out)


def test_a_trial_has_its_length_and_its_cues(tmp_path: Path) -> None:
    session = a_session(tmp_path)
    session.open()
    folder = session.begin_trial(Protocol("weight shift", 3.0, (Cue(1.0, "shift left 50"),)))
    session.start()
    assert session.finished.wait(30)
    session.stop()
    read = read_recording(folder)
    assert len(read.samples) == 240
    assert read.trial.protocol == "weight shift"
    (cue,) = read.events
    assert cue.kind == "cue"
    assert cue.board_us - int(read.samples.board_us[0]) == 1_000_000
    assert session.latest().recorded == folder


def test_an_end_of_the_source_closes_the_recording(tmp_path: Path) -> None:
    session = a_session(tmp_path, 2.0)
    session.open()
    folder = session.begin_trial(ALL["free"])
    session.start()
    assert session.trial_over.wait(30)
    session.stop()
    assert json.loads((folder / "trial.json").read_text())["state"] == "complete"
    assert session.latest().link == "ended"


def test_damaged_bytes_become_events(tmp_path: Path) -> None:
    session = a_session(tmp_path, 8.0, LinkFaults(corrupted_bytes=0.001))
    session.open()
    folder = session.begin_trial(ALL["free"])
    session.start()
    assert session.finished.wait(30)
    session.stop()
    read = read_recording(folder)
    assert any(e.kind == "fault" and "damaged" in e.detail for e in read.events)
    assert (read.samples.sequence[1:] - read.samples.sequence[:-1]).max() > 1


class OneBadRead:
    def open(self) -> BoardInfo:
        return BoardInfo("", "1.0", "", 1, 0, 10, 1, 128, 80.0, 0)

    def read(self) -> list[SampleBlock | LinkEvent]:
        raise ZeroDivisionError("made up")

    def stop(self) -> None: ...

    def close(self) -> None: ...


def test_a_dead_reader_is_seen() -> None:
    session = Session(OneBadRead(), FLOOR.rig, FLOOR.stance, FLOOR.calibration)
    session.start()
    assert session.finished.wait(30)
    problem = session.latest().problem
    session.stop()
    assert problem is not None
    assert "made up" in problem


def test_zero_is_refused_with_somebody_on() -> None:
    session = a_session(None, 5.0)
    session.start()
    assert session.finished.wait(30)
    refusal = session.zero()
    session.stop()
    assert refusal is not None
    assert "No zero" in refusal


def test_nowhere_to_record(tmp_path: Path) -> None:
    session = a_session(None)
    session.open()
    with pytest.raises(RuntimeError):
        session.begin_trial(ALL["free"])
    named = Session(
        SimulatedSource(a_board(), 1.0), FLOOR.rig, FLOOR.stance, FLOOR.calibration,
        described=Described(subject=Subject(code="../x")), out=tmp_path,
    )  # fmt: skip
    named.open()
    with pytest.raises(FileProblem):
        named.begin_trial(ALL["free"])
    session.stop()
    named.stop()


def test_states() -> None:
    assert after("ready", "begin") == "running"
    assert after("stopped", "begin") == "stopped"
    assert {state for state, _ in TRANSITIONS} | set(TRANSITIONS.values()) == {
        "waiting",
        "ready",
        "running",
        "finished",
        "stopped",
    }
    assert diagram() in (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert by_name("weight-shift") is ALL["weight shift"]
    assert by_name("jumping") is None


def a_replay() -> tuple[Session, RecordedBoard]:
    source = SimulatedSource(a_board(), 20.0)
    source.open()
    samples = concatenate(drain(source)[0])
    board = RecordedBoard(samples, INFO, speed=None, hold=True, wait=lambda _: None)
    return Session(board, FLOOR.rig, FLOOR.stance, FLOOR.calibration), board


def shown(session: Session) -> int:
    snapshot = session.latest().snapshot
    assert snapshot is not None
    return snapshot.sequence


def read_once(session: Session, board: RecordedBoard) -> None:
    """As the reader thread does, without it."""
    for item in board.read():
        if isinstance(item, SampleBlock):
            session._take(item)


def test_a_replay_holds_at_its_end_steps_and_goes_back_to_the_same_numbers() -> None:
    session, board = a_replay()
    session.open()
    for _ in range(400):
        read_once(session, board)
    played = session.latest().playback
    assert played is not None
    assert played.paused
    assert played.position_s == played.duration_s
    first_time = session._readings
    session.play("back")
    read_once(session, board)
    assert session.latest().playback.position_s == pytest.approx(played.duration_s - 5, abs=0.02)
    assert session._readings == first_time + 1
    before = session.latest().playback.position_s
    session.play("step")
    read_once(session, board)
    assert session.latest().playback.position_s == pytest.approx(before + 0.0125, abs=1e-4)
    session.play("pause")  # goes on
    for _ in range(400):
        read_once(session, board)
    assert session.latest().playback == played
    board.seek(-10.0)
    read_once(session, board)
    assert session.latest().playback.position_s == 0.0
    session.stop()


def test_a_live_board_has_no_replay_keys() -> None:
    session = a_session(None)
    session.open()
    session.play("back")
    assert session.latest().playback is None
    session.stop()


# --- zeros before and after ---


class Attended:
    """A source during which somebody does something: ``actions`` by second of the board's clock."""

    def __init__(self, inner: SimulatedSource, actions: dict[float, Callable[[], object]]) -> None:
        self._inner, self._actions = inner, sorted(actions.items())
        self.stop, self.close, self.open = inner.stop, inner.close, inner.open

    def read(self) -> list[SampleBlock | LinkEvent]:
        items = self._inner.read()
        newest = max((int(i.board_us[-1]) for i in items if isinstance(i, SampleBlock)), default=0)
        while self._actions and newest >= self._actions[0][0] * 1e6:
            self._actions.pop(0)[1]()
        return items


@pytest.mark.parametrize("drift_n_in_10_min", [0.3, 60.0])
def test_a_zero_after_the_person_left_goes_into_the_trials_since_the_last_one(tmp_path: Path, drift_n_in_10_min: float) -> None:  # fmt: skip
    scenario = read_scenario(demo.path("quiet.toml")).model_copy(
        update={"seconds": 40.0, "arrives_s": 5.0, "leaves_s": 20.0}
    )
    person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 3)
    electronics = Electronics(
        drift_n_in_10_min=drift_n_in_10_min, creep_pct=0.0, hysteresis_pct_of_capacity=0.0
    )
    board = SimulatedBoard(PersonLoads(person, FLOOR.calibration), 80.0, 3, electronics)
    said: list[str] = []
    session: Session

    source = Attended(
        SimulatedSource(board, 40.0),
        {
            4.0: lambda: said.append(session.zero() or session.latest().messages[-1]),
            10.0: lambda: session.begin_trial(ALL["free"], 8.0),
            19.0: lambda: said.append(session.zero() or session.latest().messages[-1]),
            30.0: lambda: said.append(session.zero() or session.latest().messages[-1]),
        },
    )
    session = Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=Described(subject=Subject(code="T1")), out=tmp_path)  # fmt: skip
    session.start()
    assert session.finished.wait(60)
    session.stop()
    assert session.latest().problem is None
    assert "No zero" in said[1]
    folder = session.latest().recorded
    assert folder is not None
    trial = read_recording(folder).trial
    assert trial.zero_after_counts is not None
    for cell in FLOOR.rig.cells:
        known = trial.calibration.of(cell.channel)
        moved_n = (trial.zero_after_counts[cell.channel] - known.zero_counts) * known.newton_per_count
        assert abs(moved_n) == pytest.approx(drift_n_in_10_min * 26 / 600, abs=0.03)
    assert said[0] == "zero taken"
    assert ("drifted" in said[2]) == (drift_n_in_10_min > 1)
    assert ("trials between know it" in said[2]) == (drift_n_in_10_min < 1)


def test_a_board_at_another_gain_is_refused_and_another_board_is_said() -> None:
    info = a_session(None).open()
    at_gain = FLOOR.calibration.model_copy(update={"gain": 64})
    with pytest.raises(CalibrationRefused, match="gain of 64, and this board runs at 128"):
        Session(SimulatedSource(a_board(), 1.0), FLOOR.rig, FLOOR.stance, at_gain).open()
    elsewhere = FLOOR.calibration.model_copy(update={"gain": 128, "board_id": "00112233aabbccdd"})
    session = Session(SimulatedSource(a_board(), 1.0), FLOOR.rig, FLOOR.stance, elsewhere)
    session.open()
    assert any(
        f"made on board 00112233aabbccdd; this is board {info.board_id}" in m
        for m in session.latest().messages
    )


def test_a_fault_of_a_cell_is_seen_live_and_becomes_an_event_and_a_remark(tmp_path: Path) -> None:
    board = a_board(faults=LinkFaults(stuck_channel=2))
    session = Session(SimulatedSource(board, 9.0), FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=Described(subject=Subject(code="T1")), out=tmp_path)  # fmt: skip
    session.open()
    folder = session.begin_trial(ALL["free"], 8.0)
    session.start()
    assert session.finished.wait(30)
    session.stop()
    assert any("channel 2) repeats one reading" in notice for notice in session.latest().notices)
    recording = read_recording(folder)
    assert [e.kind for e in recording.events if "repeats one reading" in e.detail] == ["fault"]
    assert "cell-stuck" in [entry["code"] for entry in findings(recording)["quality"]]


def test_a_hands_free_session_records_each_stand_up_and_waits_for_the_places(tmp_path: Path) -> None:
    scenario = read_scenario(demo.path("quiet.toml")).model_copy(
        update={"seconds": 60.0, "arrives_s": 3.0, "leaves_s": 22.0}
    )
    person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 3)
    source = Attended(
        SimulatedSource(SimulatedBoard(PersonLoads(person, FLOOR.calibration), 80.0, 3), 30.0), {}
    )
    described = Described(subject=Subject(code="T1", body_weight_n=person.body_weight_n))
    session = Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=described, out=tmp_path)
    courses: list[str | None] = []
    source._actions = [
        (t, lambda: courses.append(session.latest().course)) for t in (2.0, 5.0, 9.0, 19.0, 25.0)
    ]
    session.hands_free(ALL["quiet standing"], 10.0)
    session.start()
    assert session.finished.wait(60)
    session.stop()
    assert courses == ["sitting", "standing up", "recording", "stay", "sitting"]
    folder = session.latest().recorded
    assert folder is not None
    recording = read_recording(folder)
    assert len(recording.samples) == pytest.approx(800, abs=2)
    assert recording.samples.board_us[0] < 12e6  # within five seconds of steadiness
    state = session.latest()
    assert not state.places_confirmed
    assert "until the places are confirmed" in state.notices[0]
    assert state.next_step is not None
    session.confirm_places("by eye")
    assert session.latest().places_confirmed
    assert session.latest().placing == 2
    assert session.stance.left_foot.placement_uncertainty_mm == 8.0


def test_sitting_down_in_a_trial_ends_and_keeps_it(tmp_path: Path) -> None:
    scenario = read_scenario(demo.path("quiet.toml")).model_copy(
        update={"seconds": 60.0, "arrives_s": 2.0, "leaves_s": 14.0}
    )
    person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 3)
    source = SimulatedSource(SimulatedBoard(PersonLoads(person, FLOOR.calibration), 80.0, 3), 20.0)
    session = Session(
        source,
        FLOOR.rig,
        FLOOR.stance,
        FLOOR.calibration,
        described=Described(subject=Subject(code="T1")),
        out=tmp_path,
    )
    session.hands_free(ALL["quiet standing"])
    session.start()
    assert session.finished.wait(60)
    session.stop()
    folder = session.latest().recorded
    assert folder is not None
    recording = read_recording(folder)
    assert recording.trial.state == "complete"
    assert 400 < len(recording.samples) < 900
    assert any("sat down" in m for m in session.latest().messages)


def test_a_person_too_heavy_for_the_plates_gets_no_trial(tmp_path: Path) -> None:
    light = FLOOR.rig.model_copy(update={"max_person_kg": 40.0})
    session = Session(
        SimulatedSource(a_board(), 4.0),
        light,
        FLOOR.stance,
        FLOOR.calibration,
        described=Described(subject=Subject(code="T1")),
        out=tmp_path,
    )
    session.start()
    assert session.finished.wait(30)
    session.try_trial(ALL["free"])
    session.stop()
    assert session.latest().recorded is None
    assert any("built for 40 kg" in m for m in session.latest().messages)


def test_what_the_person_says_and_adjustments_are_noted_beside_the_trial(tmp_path: Path) -> None:
    session = a_session(tmp_path, 4.0)
    session.open()
    session.person_says({"pain": 3})
    session.adjusted()
    assert all("no recorded trial yet" in m for m in session.latest().messages)
    folder = session.begin_trial(ALL["free"], 2.0)
    session.start()
    assert session.finished.wait(30)
    session.stop()
    session.person_says({"feels_steady": 7})
    session.person_says({"pain": 2})
    session.adjusted()
    trial = read_recording(folder).trial
    assert trial.person_says == {"feels_steady": 7, "pain": 2}
    session.confirm_places("on the marks")
    notes = read_notes(folder.parent)
    (entry,) = notes.adjustments
    assert entry.what == "other"
    assert entry.at is not None
    assert [(p.number, p.how) for p in notes.placings] == [(1, "on the marks")]
    (folder.parent / "session.json").write_text("{")
    session.adjusted()
    assert "session.json" in (session.latest().problem or "")


def test_two_programs_on_one_session_lose_nothing(tmp_path: Path) -> None:
    """Each gets its own folder; a note of one does not take away the other's."""
    one, two = a_session(tmp_path, 600.0), a_session(tmp_path, 600.0)
    for session in (one, two):
        session.open()
        session.begin_trial(ALL["free"])
        session.start()
    while min(session.latest().readings for session in (one, two)) < 8:
        pass  # a trial that ends before its first sample is another matter
    one.end_trial()
    one.adjusted()
    two.stop()  # as a closed window does: what was recorded so far is a whole recording
    two.adjusted(temporary=True)
    one.stop()
    folders = [session.latest().recorded for session in (one, two)]
    assert [folder.name for folder in folders if folder] == ["01-free", "02-free"]
    assert all(folder is not None and read_recording(folder).trial.state == "complete" for folder in folders)
    assert folders[0] is not None
    notes = read_notes(folders[0].parent)
    assert [entry.temporary for entry in notes.adjustments] == [None, True]


def test_steps_that_only_the_clinician_begins(tmp_path: Path) -> None:
    session = a_session(tmp_path)
    controls = Controls(session)
    session.open()
    session.step_on_request()
    assert "No such step" in session.latest().messages[-1]
    for key in "3uu":
        controls.key(key)
    assert (session.latest().chosen, session.latest().posture) == ("crutch load", "hips flexed")
    controls.key(" ")
    controls.key("c")
    session.start()
    assert session.finished.wait(30)
    session.stop()
    folder = session.latest().recorded
    assert folder is not None
    recording = read_recording(folder)
    assert recording.trial.protocol == "crutch load"
    assert recording.trial.posture is not None
    assert recording.trial.posture.kind == "hips flexed"
    assert ("step", "tips lifted") in [(event.kind, event.detail) for event in recording.events]


def test_the_same_keys_in_window_and_terminal(tmp_path: Path) -> None:
    session = a_session(tmp_path, 600.0)
    controls = Controls(session)
    session.open()
    assert controls.key("h")
    assert session.is_hands_free
    controls.key("h")
    assert not session.is_hands_free
    controls.key(" ")
    assert session.latest().state == "running"
    controls.key("m")
    controls.key(" ")
    folder = session.latest().recorded
    assert folder is not None
    assert [controls.key(k) for k in "s8"] == [True, True]
    assert json.loads((folder / "trial.json").read_text())["person_says"] == {"feels_steady": 8}
    controls.key("y")
    assert session.stance.left_foot.placement_uncertainty_mm == 8.0
    assert not controls.key("@")
    controls.obey("luck")
    session.stop()


def test_the_keys_of_what_the_person_says() -> None:
    saying = Saying()
    assert [saying.key(k) for k in "s7pt"] == [None, {"feels_steady": 7}, None, {"pain": 10}]
    assert saying.key("k") == {"skin_looked_at": True}
    assert saying.key("s") is None
    assert saying.asked == "feels_steady"
    assert saying.key("x") is None
    assert saying.asked is None
    assert saying.key("7") is None


def test_the_weight_is_measured_from_a_still_stand() -> None:
    session = a_session(None, 6.0)
    session.described.subject = Subject(code="R7T")
    session.open()
    session.weigh()
    assert "No weight" in session.latest().messages[-1]
    session.start()
    assert session.finished.wait(30)
    session.weigh()
    session.stop()
    subject = session.described.subject
    assert subject is not None
    assert subject.body_weight_from == "measured"
    assert subject.body_weight_n == pytest.approx(64.0 * 9.80665, rel=0.005)
    assert "measured" in session.latest().messages[-1]


def test_a_weight_is_not_taken_where_crutches_have_no_cells() -> None:
    session = a_session(None, 6.0)
    data = as_data(FLOOR.rig)
    data["cell"] = [c for c in data["cell"] if not c["under"].endswith("crutch")]
    session.rig = Rig.model_validate(data)
    session.start()
    assert session.finished.wait(30)
    session.weigh()
    session.stop()
    assert "have no cells" in session.latest().messages[-1]


def test_a_trial_that_runs_ends_where_the_plates_are_not_built_for_it(tmp_path: Path) -> None:
    session = a_session(tmp_path, 8.0)
    session.rig = FLOOR.rig.model_copy(update={"max_person_kg": 40.0})
    session.open()
    folder = session.begin_trial(ALL["free"])
    session.start()
    assert session.finished.wait(30)
    session.stop()
    assert len(read_recording(folder).samples) < 80
    assert any("the trial is ended" in m for m in session.latest().messages)


def test_a_foot_off_its_plate_and_a_lost_link_are_said_in_the_findings(tmp_path: Path) -> None:
    session = a_session(tmp_path, 8.0)
    session.open()
    folder = session.begin_trial(ALL["free"])
    session.start()
    assert session.finished.wait(30)
    session.stop()
    recording = read_recording(folder)
    assert not {"foot-off", "link-lost"} & {entry["code"] for entry in findings(recording)["quality"]}
    samples, counts = recording.samples, recording.samples.counts.copy()
    for i in FLOOR.rig.foot_cells("left"):
        channel = FLOOR.rig.cells[i].channel
        counts[80:240, channel] = round(recording.trial.calibration.of(channel).zero_counts)
    rows = [i for i in range(len(samples)) if not 300 <= i < 380]
    cut = SampleBlock(
        samples.sequence[rows],
        samples.board_us[rows],
        samples.status[rows],
        counts[rows],
        None if samples.dt_us is None else samples.dt_us[rows],
    )
    told = {
        entry["code"]: entry["text"]
        for entry in findings(dataclasses.replace(recording, samples=cut))["quality"]
    }
    assert "The left foot carried less than" in told["foot-off"]
    assert "1.0 s are missing" in told["link-lost"]


class Keyed:
    """A source that presses keys at moments of the board's clock: between two blocks, as somebody would."""

    def __init__(self, source: SimulatedSource, keys: dict[float, str]) -> None:
        self._source, self._waiting = source, sorted(keys.items())
        self.press: Callable[[str], object] = lambda _: None
        self._now_s = 0.0

    def open(self) -> BoardInfo:
        return self._source.open()

    def read(self) -> list[SampleBlock | LinkEvent]:
        while self._waiting and self._now_s >= self._waiting[0][0]:
            for key in self._waiting.pop(0)[1]:
                self.press(key)
        items = self._source.read()
        self._now_s = max(
            [
                self._now_s,
                *(float(item.board_us[-1]) / 1e6 for item in items if isinstance(item, SampleBlock)),
            ]
        )
        return items

    def stop(self) -> None:
        self._source.stop()

    def close(self) -> None:
        self._source.close()


def by_keys(out: Path, seconds: float, keys: dict[float, str], **changes: object) -> Session:
    """A session of the demo's person, who arrives at 3 s, with keys at moments, until it is over."""
    scenario = read_scenario(demo.path("quiet.toml")).model_copy(update={"seconds": 60.0, "arrives_s": 3.0, **changes})  # fmt: skip
    person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 3)
    source = Keyed(SimulatedSource(SimulatedBoard(PersonLoads(person, FLOOR.calibration), 80.0, 3), seconds), keys)  # fmt: skip
    described = Described(subject=Subject(code="T1", body_weight_n=person.body_weight_n))
    session = Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=described, out=out)
    source.press = Controls(session).key
    session.start()
    assert session.finished.wait(60)
    session.stop()
    return session


def test_a_trial_begun_by_a_key_waits_for_somebody_and_ends_when_they_sit_down(tmp_path: Path) -> None:
    session = by_keys(tmp_path, 20.0, {2.0: " ", 8.0: " "}, leaves_s=14.0)
    folder = session.latest().recorded
    assert folder is not None
    assert [path.name for path in folder.parent.iterdir()] == ["01-quiet-standing"]
    recording = read_recording(folder)
    assert int(recording.samples.board_us[0]) >= 8_000_000
    assert 14.0 < int(recording.samples.board_us[-1]) / 1e6 < 17.0
    assert any("nobody stands there yet" in m for m in session.latest().messages)
    assert any("sat down" in m for m in session.latest().messages)


def test_asked_twice_a_trial_begins_with_nobody_there(tmp_path: Path) -> None:
    session = by_keys(tmp_path, 8.0, {1.0: " ", 1.5: " "}, arrives_s=6.0)
    folder = session.latest().recorded
    assert folder is not None
    assert int(read_recording(folder).samples.board_us[0]) < 2_500_000


def test_nobody_who_sits_is_told_where_their_body_line_falls(tmp_path: Path) -> None:
    sitting, standing = by_keys(tmp_path, 2.5, {}), by_keys(tmp_path, 9.0, {})
    state = dataclasses.replace(sitting.latest(), link="ok")
    assert state.sits
    assert state.shown is not None
    assert state.shown.lines == {}
    assert "less than a standing person's weight" in (state.why_absent.more if state.why_absent else "")
    assert "Stand up" in (state.next_step or "")
    state = dataclasses.replace(standing.latest(), link="ok")
    assert not state.sits
    assert state.why_absent is None
    assert "body" in state.shown.lines if state.shown else False


def test_an_open_question_stays_until_it_is_answered_or_another_key_closes_it(tmp_path: Path) -> None:
    session = by_keys(tmp_path, 30.0, {7.0: "3 ", 12.0: " ", 14.0: "j"})
    assert "1 alignment angle" in (session.latest().question or "")
    assert session.latest().notices[0] == session.latest().question
    controls = Controls(session)
    controls.key("j")
    controls.key("5")
    assert session.latest().question is None
    folder = session.latest().recorded
    assert folder is not None
    noted = json.loads((folder.parent / "session.json").read_text())["adjustments"]
    assert [one["what"] for one in noted] == ["other", "heel wedge"]
    assert [one.get("note") for one in noted] == ["to be described", None]


def test_what_was_said_is_gone_after_a_while_and_when_a_trial_begins(tmp_path: Path) -> None:
    session = by_keys(tmp_path, 30.0, {7.0: "m"})
    assert "marked" in session.latest().messages
    assert "marked" not in session.latest().fresh
    session = by_keys(tmp_path, 9.0, {7.0: "m", 8.0: " "})
    assert "marked" not in session.latest().fresh


def test_in_a_trial_neither_weight_nor_posture_changes(tmp_path: Path) -> None:
    session = by_keys(tmp_path, 12.0, {7.0: " ", 9.0: "wu"})
    said = session.latest().messages
    assert any("not taken in the middle" in m for m in said)
    assert any("not changed in the middle" in m for m in said)
    assert session.latest().posture == "own"


def test_a_zero_with_a_foot_on_is_refused_however_often_it_is_asked_for(tmp_path: Path) -> None:
    """The plates were empty before: what stands on them now is no plate."""
    session = by_keys(tmp_path, 12.0, {7.0: "z", 9.0: "z", 11.0: "z"})
    assert not any("zero taken" in m for m in session.latest().messages)
    assert session.latest().standing_warning is None


def test_what_is_asked_and_what_comes_is_said_in_words(tmp_path: Path) -> None:
    session = by_keys(tmp_path, 17.0, {7.0: "2 "})
    state = dataclasses.replace(
        session.latest(),
        link="ok",
        protocol="weight shift",
        asked="shift left 50",
        coming=("shift right 50", 6.2),
    )
    assert (
        state.next_step
        == "Now: to the left, 50 % of weight or more. Next: to the right, 50 % of weight or more, in 6 s."
    )
