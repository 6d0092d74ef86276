"""The window: what it shows in its states, keys, and that it stays still when nothing happens."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

import numpy as np
import pytest

from balance import demo
from balance.command_line.setting_up import demo_floor
from balance.command_line.simulated_trial import person_of
from balance.live_state import Described, LiveState
from balance.protocols import ALL
from balance.session import Session
from balance.simulated_person import Scenario, SimulatedPerson, read_scenario
from balance.simulated_person.loads import PersonLoads
from balance.words import say
from drivers.samples import LinkEvent
from drivers.simulated_board.board import SimulatedBoard
from drivers.simulated_board.source import SimulatedSource

FLOOR = demo_floor()
PERSON = SimulatedPerson(FLOOR.rig, FLOOR.stance, read_scenario(demo.path("quiet.toml")), 1)


@pytest.fixture(scope="module")
def state() -> LiveState:
    scenario = read_scenario(demo.path("quiet.toml"))
    person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 1)
    described = person_of(scenario, person.body_weight_n)
    assert isinstance(described, Described)
    source = SimulatedSource(SimulatedBoard(PersonLoads(person, FLOOR.calibration)), 22.0)
    session = Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=described)
    session.start()
    assert session.finished.wait(60)
    session.stop()
    return replace(session.latest(), link="ok")


def a_view(qtbot: Any, state: LiveState | None) -> Any:
    from balance.window.stand_view import StandView

    view = StandView(FLOOR.stance, {"left", "right"})
    qtbot.addWidget(view)
    view.resize(1920, 1080)
    view.show()
    if state is not None:
        view.show_state(state)
    return view


def test_facts_in_words(qtbot: Any, state: LiveState) -> None:
    view = a_view(qtbot, state)
    assert "ahead of the band" in view.facts.text_of("line left") or "too close" in view.facts.text_of(
        "line left"
    )
    assert "kg" in view.facts.text_of("leg left")
    assert "%" in view.facts.text_of("leg left")
    assert "over the feet (crutches carry" in view.facts.text_of("stands")
    assert "nothing seen" in view.facts.text_of("elsewhere")
    assert "you entered 42" in view.facts.text_of("ankle left")


def test_a_lost_link_takes_the_numbers_away(qtbot: Any, state: LiveState) -> None:
    view = a_view(qtbot, state)
    view.show_state(replace(state, link="lost"))
    assert view.facts.text_of("leg left") == "–"
    assert "link lost" in view._link.text()


def test_no_data_at_all(qtbot: Any, state: LiveState) -> None:
    empty = replace(state, snapshot=None, tail_s=np.zeros(0), tail_n={}, link="waiting", state="waiting")
    view = a_view(qtbot, empty)
    assert "waiting" in view._trial.text()
    assert view.facts.text_of("crutches") == "–"


def test_keys_change_pictures_and_ask(qtbot: Any, state: LiveState) -> None:
    from PySide6.QtCore import Qt

    view = a_view(qtbot, state)
    asked: list[str] = []
    typed: list[str] = []
    view.asked.connect(asked.append)
    view.typed.connect(typed.append)
    for key, page in ((Qt.Key.Key_F, 1), (Qt.Key.Key_A, 2), (Qt.Key.Key_F1, 3), (Qt.Key.Key_L, 0)):
        qtbot.keyClick(view, key)
        view.show_state(state)
        assert view.pictures.currentIndex() == page
    for key in (Qt.Key.Key_Space, Qt.Key.Key_M, Qt.Key.Key_Z, Qt.Key.Key_Q):
        qtbot.keyClick(view, key)
    assert asked == ["end"]
    assert typed == [" ", "m", "z"]


@pytest.mark.parametrize("size", [(1920, 1080), (1280, 720)])
def test_no_fact_is_cut_off(qtbot: Any, state: LiveState, size: tuple[int, int]) -> None:
    from balance.window.stand_view import StandView

    view = StandView(FLOOR.stance, {"left"}, size[1] / 1080)
    qtbot.addWidget(view)
    view.resize(*size)
    view.show()
    view.show_state(state)
    qtbot.waitExposed(view)
    for name, item in view.facts._labels.items():
        needed = item.heightForWidth(item.width()) if item.hasHeightForWidth() else item.sizeHint().height()
        assert item.height() >= needed - 1, name
        assert item.geometry().bottom() <= view.facts.height(), name
    assert (view.width(), view.height()) == size


def test_idle_means_still(qtbot: Any, state: LiveState) -> None:
    """A known trap of some Qt bindings: endless repaints of an idle window."""
    view = a_view(qtbot, state)
    paints = 0
    original = view.facts.paintEvent

    def counted(event: Any) -> None:
        nonlocal paints
        paints += 1
        original(event)

    view.facts.paintEvent = counted
    qtbot.wait(50)
    before = paints
    for _ in range(20):
        qtbot.wait(5)
    assert paints - before <= 2


def test_numbers_do_not_flicker() -> None:
    from balance.window.steady import Steady

    steady = Steady()
    shown = [steady("kg", 30.5 + 0.15 * (-1) ** i) for i in range(10)]
    assert len(set(shown)) == 1
    assert steady("kg", 32.0) == 32


def test_decimation_keeps_peaks() -> None:
    from balance.window.strip_chart import decimate

    x = np.zeros(20_000)
    x[12_345] = 9.0
    t, y = decimate(np.linspace(-20, 0, 20_000), x)
    assert len(t) == len(y) <= 1200
    assert t[0] < -19.9
    assert y.max() == 9.0
    t, _ = decimate(np.linspace(-20, 0, 1600), np.zeros(1600))
    assert t[0] < -19.9


def test_findings_wait_and_a_trial_brings_its_picture(qtbot: Any, state: LiveState) -> None:
    from balance.window.stand_view import FINDINGS, FRONT, LANES

    view = a_view(qtbot, state)
    view.show_findings(["one", "two"])
    view.show_state(state)
    assert view.pictures.currentIndex() == FINDINGS
    view.show_state(replace(state, protocol="weight shift", planned_s=40.0))
    assert view.pictures.currentIndex() == FRONT
    view.show_state(replace(state, protocol="quiet standing", planned_s=20.0))
    assert view.pictures.currentIndex() == LANES


@pytest.mark.parametrize("kind", ["lost", "fault"])
def test_what_happens_to_the_link_stands_in_window_terminal_and_log(
    qtbot: Any, tmp_path: Path, kind: Literal["lost", "fault"]
) -> None:
    """One event of the link, three places: the window's message, the terminal's, the recording's events."""
    from balance.command_line.terminal_view import picture

    codes = {"lost": "event.silent", "fault": "event.other-board"}
    event = LinkEvent(kind, codes[kind], {"port": "COM9", "board": "77"}, 12_500)
    source = SimulatedSource(SimulatedBoard(PersonLoads(PERSON, FLOOR.calibration)), 2.0)
    session = Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, out=tmp_path)
    session.open()
    folder = session.begin_trial(ALL["free"])
    session._happened(event)
    words = say(event.code, **event.facts)
    view = a_view(qtbot, session.latest())
    assert view._message.text() == words
    assert words[:60] in picture(session.latest(), FLOOR.stance)
    session.stop()
    assert words in (folder / "events.csv").read_text().replace('"', "")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"line_pct": 57.0, "sway_ap_mm": 0.2, "left_crutch_pct": 25.0, "right_crutch_pct": 25.0}, "ahead of the feet: the crutches help to hold it"),
        ({"line_pct": 66.0, "left_crutch_pct": 0.0, "right_crutch_pct": 0.0}, "over the feet"),
        ({"line_pct": 66.5, "left_crutch_pct": 0.0, "right_crutch_pct": 0.0, "sway_ap_mm": 0.2}, "too close to call"),
    ],
)  # fmt: skip
def test_each_finding_in_words(qtbot: Any, changes: dict[str, object], words: str) -> None:
    scenario = Scenario.model_validate({"schema": 1, "mass_kg": 64.0, "seconds": 5.0, **changes})
    person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 1)
    described = person_of(scenario, person.body_weight_n)
    assert isinstance(described, Described)
    source = SimulatedSource(SimulatedBoard(PersonLoads(person, FLOOR.calibration)), 3.0)
    session = Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=described)
    session.start()
    assert session.finished.wait(60)
    session.stop()
    view = a_view(qtbot, replace(session.latest(), link="ok"))
    assert any(words in view.facts.text_of(name) for name in ("stands", "line left", "line right"))
