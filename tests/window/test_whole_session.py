"""A whole session in the window by keys alone: three stand-ups, an adjustment, three stand-ups, weight shifts, crutch load."""

from __future__ import annotations

import json
import threading
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from balance import demo
from balance.command_line.app import app
from balance.command_line.showing import findings_told
from balance.command_line.simulated_trial import person_of
from balance.recording import find_recordings
from balance.session import Session
from balance.simulated_person import SimulatedPerson, read_scenario
from balance.simulated_person.loads import PersonLoads
from drivers.samples import BoardInfo, LinkEvent, SampleBlock
from drivers.simulated_board.board import SimulatedBoard
from drivers.simulated_board.source import SimulatedSource
from tests.balance.test_session import FLOOR

pytest.importorskip("pytestqt")


class Held:
    """A simulated board that plays up to a time and waits there, so that a key comes at a known moment."""

    def __init__(self, board: SimulatedBoard, seconds: float) -> None:
        self._source, self._now_s, self._until_s = SimulatedSource(board, seconds), 0.0, 0.0
        self._changed = threading.Condition()
        self._stopped = False

    def open(self) -> BoardInfo:
        return self._source.open()

    def read(self) -> list[SampleBlock | LinkEvent]:
        with self._changed:
            self._changed.notify_all()
            self._changed.wait_for(lambda: self._stopped or self._now_s < self._until_s)
            self._now_s += 0.25
        return self._source.read()

    def play_until(self, time_s: float) -> None:
        with self._changed:
            self._until_s = time_s
            self._changed.notify_all()
            assert self._changed.wait_for(lambda: self._now_s >= time_s, timeout=60)

    def stop(self) -> None:
        with self._changed:
            self._stopped = True
            self._changed.notify_all()
        self._source.stop()

    def close(self) -> None:
        self._source.close()


# (second of the scenario, keys pressed then)
KEYS = [
    (2.0, "1h"),
    (34.0, "s7k"), (66.0, "s7"), (98.0, "s6"),
    (100.0, "j"),
    (138.0, "s8"), (170.0, "s8"), (202.0, "s8p1"),
    (204.0, "2"), (256.0, "3"), (310.0, "hr"),
]  # fmt: skip


def test_a_whole_session_by_keys(qtbot: Any, tmp_path: Path) -> None:
    from balance.window.app import Controller
    from balance.window.look import Look

    scenario = read_scenario(demo.path("session.toml"))
    person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 5)
    source = Held(SimulatedBoard(PersonLoads(person, FLOOR.calibration)), 320.0)
    described = person_of(scenario, person.body_weight_n)
    controller = Controller(
        lambda on_news: Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=described, out=tmp_path, on_news=on_news),
        findings_told, [], Look(1280, 720), tones=False,
    )  # fmt: skip
    qtbot.addWidget(controller.view)
    controller.start()
    try:
        for time_s, keys in KEYS:
            source.play_until(time_s)
            qtbot.keyClicks(controller.view, keys)
            qtbot.wait(1)
        qtbot.waitUntil(lambda: len(controller.view.listed) == 8, timeout=120_000)
        assert controller.view.parts.pages.currentWidget().accessibleName() == "Today's trials"
        listed = controller.view.listed
    finally:
        controller.stop()
    (day,) = {path.parent for path in find_recordings(tmp_path)}
    names = [path.name for path in find_recordings(day)]
    assert names == [*(f"{k:02d}-quiet-standing" for k in range(1, 7)), "07-weight-shift", "08-crutch-load"]
    assert "behind the band" in listed[0]
    assert "in the band" in listed[5] or "too close" in listed[5]
    assert "partial load held" in listed[6] or "near-full load held" in listed[6]
    assert "lighter hands" in listed[7]
    (noted,) = json.loads((day / "session.json").read_text())["adjustments"]
    assert noted["note"] == "to be described"
    assert json.loads((day / names[0] / "trial.json").read_text())["person_says"] == {"feels_steady": 7, "skin_looked_at": True}  # fmt: skip
    assert json.loads((day / names[5] / "trial.json").read_text())["person_says"] == {"feels_steady": 8, "pain": 1}  # fmt: skip
    run = CliRunner()
    check = run.invoke(app, ["check", str(day)]).stdout
    assert "body line over the feet: seen" in check
    assert run.invoke(app, ["report", str(day), "--out", str(tmp_path / "page.html")]).exit_code == 0
