"""The window: what it shows in its states, keys, and that it stays still when nothing happens."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

import numpy as np
import pytest

from balance import demo
from balance.findings_words import Told
from balance.live_state import LiveState
from balance.protocols import ALL
from balance.session import Session
from balance.simulated_person import SimulatedPerson, read_scenario
from balance.simulated_person.loads import PersonLoads
from balance.words import say
from drivers.samples import LinkEvent
from drivers.simulated_board.board import SimulatedBoard
from drivers.simulated_board.source import SimulatedSource
from tests.window.screens import CLOSE, CRUTCHES, FLOOR, HANDS_OFF, HELD, TOLD, nothing, state_of

PERSON = SimulatedPerson(FLOOR.rig, FLOOR.stance, read_scenario(demo.path("quiet.toml")), 1)


@pytest.fixture
def state() -> LiveState:
    return state_of(CRUTCHES)


def a_view(qtbot: Any, state: LiveState | None, size: tuple[int, int] = (1920, 1080)) -> Any:
    from balance.window.app import application
    from balance.window.look import Look
    from balance.window.stand_view import StandView

    application()
    view = StandView(FLOOR.stance, {"left", "right"}, Look(*size))
    qtbot.addWidget(view)
    view.resize(*size)
    view.show()
    qtbot.waitExposed(view)
    if state is not None:
        view.show_state(state)
    return view


def everything(view: Any) -> str:
    """All that is told by named words."""
    return "\n".join(part.said() for part in (view.parts.header, view.parts.lanes, view.parts.facts))


def test_facts_in_words(qtbot: Any, state: LiveState) -> None:
    view = a_view(qtbot, state)
    assert view.parts.lanes.text_of("line left") == "in the band"
    assert "kg" in view.parts.lanes.text_of("leg left")
    assert "% of weight" in view.parts.lanes.text_of("leg % left")
    assert view.parts.facts.text_of("stands") == "over the feet"
    assert "mm to the edge of their support" in view.parts.facts.text_of("stands detail")
    assert view.parts.facts.text_of("crutches") == "5 kg   9 %"
    assert "nothing seen" in view.parts.facts.text_of("elsewhere")
    assert "you entered 42" in view.parts.facts.text_of("ankle left")
    assert view.parts.header.text_of("link") == "link ok"
    assert "80 readings a second" in view.parts.header.text_of("link detail")


def test_a_lost_link_takes_the_numbers_away(qtbot: Any, state: LiveState) -> None:
    view = a_view(qtbot, state)
    view.show_state(replace(state, link="lost"))
    assert view.parts.lanes.text_of("leg left") == "–"
    assert view.parts.header.text_of("link") == "link lost"
    assert "check its plug and power" in view.parts.header.text_of("notice 0")
    assert not any(character.isdigit() for character in view.parts.facts.said())


def test_a_cell_in_doubt_takes_away_what_it_enters(qtbot: Any, state: LiveState) -> None:
    view = a_view(qtbot, state)
    view.show_state(replace(state, troubled=frozenset({"left"}), troubles=("Cell 1 is stuck.",)))
    assert view.parts.lanes.text_of("leg left") == "–"
    assert "kg" in view.parts.lanes.text_of("leg right")
    assert view.parts.lanes.text_of("line right") == "in doubt"
    assert "not relied on: left plate" in view.parts.lanes.text_of("line right mm")
    assert view.parts.facts.text_of("crutches") == "5 kg"
    assert view.parts.facts.text_of("ankle left") == "left –"
    assert view.parts.header.text_of("notice 0") == "Cell 1 is stuck."


def test_unconfirmed_places_take_the_lines_away_and_leave_the_loads(qtbot: Any, state: LiveState) -> None:
    view = a_view(qtbot, replace(state, places_confirmed=False))
    assert view.parts.lanes.text_of("line left") == "waits"
    assert "do the feet stand on their marks?" in view.parts.lanes.text_of("line left mm")
    assert "kg" in view.parts.lanes.text_of("leg left")
    assert view.parts.facts.text_of("stands") == "waits"
    assert "o: on the marks" in view.parts.header.text_of("notice 0")


def test_no_data_at_all(qtbot: Any) -> None:
    view = a_view(qtbot, nothing())
    assert "waiting" in view.parts.header.text_of("trial")
    assert view.parts.facts.text_of("crutches") == "–"


def test_keys_change_pictures_and_pages_and_ask(qtbot: Any, state: LiveState) -> None:
    from PySide6.QtCore import Qt

    view = a_view(qtbot, state)
    asked: list[str] = []
    typed: list[str] = []
    view.asked.connect(asked.append)
    view.typed.connect(typed.append)
    for key, picture, page in (
        (Qt.Key.Key_F, "front", "facts"), (Qt.Key.Key_A, "area", "facts"), (Qt.Key.Key_L, "lanes", "facts"), (Qt.Key.Key_R, "lanes", "trials"),
        (Qt.Key.Key_G, "lanes", "chart"), (Qt.Key.Key_I, "lanes", "what-if"), (Qt.Key.Key_Escape, "lanes", "facts"),
    ):  # fmt: skip
        qtbot.keyClick(view, key)
        view.show_state(state)
        assert (view.picture, view.page) == (picture, page)
    for key in (
        Qt.Key.Key_Space,
        Qt.Key.Key_M,
        Qt.Key.Key_Z,
        Qt.Key.Key_Q,
        Qt.Key.Key_PageDown,
        Qt.Key.Key_V,
    ):
        qtbot.keyClick(view, key)
    assert asked == ["end", "start", "person"]
    assert typed == [" ", "m", "z"]


def test_size_colours_and_text_change_and_nothing_told_is_lost(qtbot: Any, state: LiveState) -> None:
    view = a_view(qtbot, state)
    for told in TOLD:
        view.list_trial(told)
    before, parts = everything(view), view.parts
    for what in ("dark", "larger", "larger", "smaller", "smaller", "dark"):
        view.do(what)
    qtbot.waitUntil(lambda: view.parts is not parts and everything(view) == before)
    assert view.listed == [told.line for told in TOLD]
    assert view.parts.trials.list.count() == 2
    view.resize(1280, 720)
    qtbot.waitUntil(lambda: view.parts.lanes.text_of("line left") == "in the band")


@pytest.mark.parametrize("steps", range(8))
def test_the_card_comes_whenever_its_key_is_pressed(qtbot: Any, state: LiveState, steps: int) -> None:
    """Also while another look is made."""
    view = a_view(qtbot, state)
    parts = view.parts
    view.do("dark")
    for _ in range(steps):
        view._take_step()
    view.do("help")
    qtbot.waitUntil(lambda: view.parts is not parts and view.parts.card.isVisible())
    assert "Esc" in view.parts.card.said()


@pytest.mark.parametrize("steps", range(8))
def test_a_trial_that_ends_while_another_look_is_made_is_listed_once_in_order(qtbot: Any, state: LiveState, steps: int) -> None:  # fmt: skip
    view = a_view(qtbot, state)
    view.list_trial(TOLD[0])
    parts = view.parts
    view.do("dark")
    for _ in range(steps):
        view._take_step()
    view.list_trial(TOLD[1])
    qtbot.waitUntil(lambda: view.parts is not parts and view.parts.isVisible())
    assert view.parts.trials.told == list(TOLD)


def test_every_control_has_a_name_and_tab_reaches_it_visibly(qtbot: Any, state: LiveState) -> None:
    from PySide6.QtWidgets import QAbstractButton, QSlider

    view = a_view(qtbot, state)
    view.do("what-if")
    controls = [*view.findChildren(QAbstractButton), *view.findChildren(QSlider)]
    named = [one for one in controls if one.isVisible()]
    assert len(named) >= 12
    assert all(one.accessibleName() for one in named)
    view.activateWindow()
    qtbot.waitUntil(view.isActiveWindow)
    button = view.findChildren(QAbstractButton)[0]
    plain = button.grab().toImage()
    button.setFocus()
    assert button.grab().toImage() != plain


def test_a_screen_reader_hears_the_facts(qtbot: Any, state: LiveState) -> None:
    view = a_view(qtbot, state)
    assert "in the band" in view.parts.lanes.accessibleDescription()
    assert "over the feet" in view.parts.facts.accessibleDescription()
    view.show_state(state_of(HELD))
    assert "ahead of the band" in view.parts.lanes.accessibleDescription()


def test_idle_means_still(qtbot: Any, state: LiveState) -> None:
    """A known trap of some Qt bindings: endless repaints of an idle window."""
    view = a_view(qtbot, state)
    paints = 0
    original = view.parts.facts.paintEvent

    def counted(event: Any) -> None:
        nonlocal paints
        paints += 1
        original(event)

    view.parts.facts.paintEvent = counted
    qtbot.wait(50)
    before = paints
    for _ in range(20):
        view.show_state(state)
        qtbot.wait(5)
    assert paints - before <= 2


def test_only_what_changed_is_painted_again(qtbot: Any, state: LiveState) -> None:
    from PySide6.QtGui import QRegion

    view = a_view(qtbot, state)
    asked: list[QRegion] = []
    view.parts.lanes.update = asked.append
    assert state.snapshot is not None
    ap, ml = state.point_mm["body"]
    view.show_state(replace(state, point_mm={**state.point_mm, "body": (ap + 1.0, ml)}))
    (region,) = asked
    area = sum(one.width() * one.height() for one in region)
    assert 0 < area < 0.2 * view.parts.lanes.width() * view.parts.lanes.height()


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
    view = a_view(qtbot, state)
    view.show_findings(Told("01 quiet standing", ["one", "two"], {}))
    view.show_state(state)
    assert (view.picture, view.page) == ("lanes", "findings")
    assert view.parts.findings.text == "01 quiet standing\n\ntwo"
    view.show_state(replace(state, protocol="weight shift", planned_s=40.0))
    assert (view.picture, view.page) == ("front", "facts")
    view.show_state(replace(state, protocol="quiet standing", planned_s=20.0))
    assert (view.picture, view.page) == ("lanes", "facts")


def test_two_trials_are_laid_on_the_soles_and_a_third_takes_the_place_of_the_first(qtbot: Any, state: LiveState) -> None:  # fmt: skip
    from PySide6.QtCore import Qt

    view = a_view(qtbot, state)
    for number, told in enumerate((*TOLD, TOLD[0]), 1):
        view.list_trial(told._replace(line=f"{number:02d}{told.line[2:]}"))
    qtbot.keyClick(view, Qt.Key.Key_R)
    for row in range(3):
        view.parts.trials.list.setCurrentRow(row)
        qtbot.keyClick(view.parts.trials.list, Qt.Key.Key_Return)
    assert [view.parts.lanes.text_of(f"earlier {k} left") for k in (0, 1)] == ["2", "3"]
    assert view.parts.trials.list.item(1).text().startswith("▸")
    qtbot.keyClick(view.parts.trials.list, Qt.Key.Key_Return)
    assert view.parts.lanes.text_of("earlier 1 left") == ""


def test_another_look_keeps_the_row_and_what_is_laid(qtbot: Any, state: LiveState) -> None:
    from PySide6.QtCore import Qt

    view = a_view(qtbot, state)
    for told in TOLD:
        view.list_trial(told)
    view.do("trials")
    view.parts.trials.list.setCurrentRow(0)
    qtbot.keyClick(view.parts.trials.list, Qt.Key.Key_Return)
    parts = view.parts
    view.do("dark")
    qtbot.waitUntil(lambda: view.parts is not parts and view.parts.trials.list.isVisible())
    rows = view.parts.trials.list
    assert rows.currentRow() == 0
    assert [rows.item(row).text()[0] for row in range(2)] == ["▸", "0"]
    qtbot.keyClick(rows, Qt.Key.Key_Return)  # takes it away again
    assert view.parts.lanes.text_of("earlier 0 left") == ""


@pytest.mark.parametrize("amid", [False, True])  # while another look is made
@pytest.mark.parametrize("how", ["stand", "a trial begins"])
def test_what_is_no_longer_laid_has_no_mark_in_the_list(qtbot: Any, state: LiveState, how: str, amid: bool) -> None:  # fmt: skip
    from PySide6.QtCore import Qt

    view = a_view(qtbot, state)
    view.list_trial(TOLD[0])
    view.do("trials")
    qtbot.keyClick(view.parts.trials.list, Qt.Key.Key_Return)
    assert view.parts.trials.list.item(0).text().startswith("▸")
    if amid:
        view.do("dark")
        view._take_step()
    if how == "stand":
        view.do("stand")
    else:
        view.show_state(replace(state, protocol="quiet standing", planned_s=20.0))
    qtbot.waitUntil(lambda: view._before is None)
    assert view.parts.lanes.text_of("earlier 0 left") == ""
    assert view.parts.trials.list.item(0).text().startswith("01")


@pytest.mark.parametrize("steps", range(1, 7))
def test_readings_are_shown_while_another_look_is_made(qtbot: Any, state: LiveState, steps: int) -> None:
    view = a_view(qtbot, state)
    shown = view.parts
    view.do("dark")
    for _ in range(steps):
        view._take_step()
    held = state_of(HELD)
    view.show_state(held)
    on_screen = view.parts if steps == 6 else shown
    assert on_screen.isVisible()
    assert on_screen.lanes.text_of("line left").endswith("ahead of the band →")
    qtbot.waitUntil(lambda: view._before is None)
    assert view.parts.lanes.text_of("line left").endswith("ahead of the band →")


@pytest.mark.parametrize("again", [False, True])  # another look in the middle of it
@pytest.mark.parametrize("name", ["area", "chart"])
def test_a_chart_stays_until_its_look_comes(qtbot: Any, state: LiveState, name: str, again: bool) -> None:
    from PySide6.QtWidgets import QApplication

    view = a_view(qtbot, state)
    view.do(name)
    view.do("dark")
    before, chart = view.parts, view._charts.made(name)
    for step in range(5):
        if again and step == 3:
            view.do("larger")
        view._take_step()
        assert chart.isVisible()
        assert before.isAncestorOf(chart)
    qtbot.waitUntil(lambda: view.parts is not before and view.parts.isAncestorOf(chart) and chart.isVisible())
    QApplication.processEvents()
    assert chart.look is view.look


@pytest.mark.parametrize("trials", [2, 60])  # without and with a bar beside them
def test_rows_are_as_high_as_their_words_and_measured_once_for_a_look(qtbot: Any, state: LiveState, trials: int, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    from PySide6.QtCore import Qt

    from balance.window import pages

    view = a_view(qtbot, state)
    view.do("trials")
    for number in range(trials):
        view.list_trial(TOLD[number % 2]._replace(line=f"{number:02d} " + "some words · and more of them" * (1 + number % 3)))  # fmt: skip
    measured: list[int] = []
    measure = pages._List.measure
    monkeypatch.setattr(pages._List, "measure", lambda one, rows: (measured.extend(rows), measure(one, rows)))
    parts = view.parts
    view.do("larger")
    qtbot.waitUntil(lambda: view.parts is not parts and view.parts.trials.list.isVisible())
    assert measured == list(range(trials))
    view.do("stand")
    view.do("trials")
    assert len(measured) == trials
    rows = view.parts.trials.list
    assert (rows.verticalScrollBar().maximum() > 0) == (trials == 60)
    assert rows.font().pixelSize() == view.look.font(23)
    for row in range(rows.count()):
        wanted = rows.fontMetrics().boundingRect(0, 0, rows.viewport().width() - 2 * rows._inset_px, 10_000, int(Qt.TextFlag.TextWordWrap), rows.item(row).text())  # fmt: skip
        assert wanted.height() <= rows.visualItemRect(rows.item(row)).height() - 2 * rows._inset_px


def test_a_line_beyond_the_picture_is_an_arrow_at_its_edge(qtbot: Any, state: LiveState) -> None:
    view = a_view(qtbot, state)
    far = {**state.point_mm, "body": (700.0, 0.0)}
    view.show_state(replace(state, point_mm=far))
    assert view.parts.lanes.text_of("scale") == "700 mm"


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
    assert words in view.parts.header.said().splitlines()
    assert words[:60] in picture(session.latest(), FLOOR.stance)
    session.stop()
    assert words in (folder / "events.csv").read_text().replace('"', "")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (HELD, "ahead of the feet: the crutches help to hold it"),
        (HANDS_OFF, "over the feet"),
        (CLOSE, "too close to call"),
    ],
)
def test_each_finding_in_words(qtbot: Any, changes: tuple[tuple[str, Any], ...], words: str) -> None:
    assert words in everything(a_view(qtbot, state_of(changes)))


def test_asked_to_end_in_the_middle_of_a_trial_it_asks_again(qtbot: Any, tmp_path: Path) -> None:
    from PySide6.QtCore import Qt

    from balance.window.app import Controller

    source = SimulatedSource(SimulatedBoard(PersonLoads(PERSON, FLOOR.calibration)), 2.0)
    controller = Controller(
        lambda on_news: Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, out=tmp_path, on_news=on_news),
        lambda _: TOLD[0], [], tones=False,
    )  # fmt: skip
    qtbot.addWidget(controller.view)
    controller.session.open()
    controller.session.begin_trial(ALL["free"])
    qtbot.keyClick(controller.view, Qt.Key.Key_Q)
    controller._draw()
    assert "Press q once more" in controller.view.parts.header.text_of("notice 0")
    controller.stop()


def test_the_set_up_says_what_is_known_and_what_is_not(qtbot: Any, tmp_path: Path) -> None:
    from PySide6.QtCore import Qt

    from balance.window.app import Controller

    source = SimulatedSource(SimulatedBoard(PersonLoads(PERSON, FLOOR.calibration)), 6.0)
    controller = Controller(
        lambda on_news: Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, out=tmp_path, on_news=on_news),
        lambda _: TOLD[0], [], tones=False,
    )  # fmt: skip
    view = controller.view
    qtbot.addWidget(view)
    view.resize(1920, 1080)
    view.show()
    controller.start()
    assert controller.session.finished.wait(60)
    controller._draw()
    qtbot.keyClick(view, Qt.Key.Key_N)
    assert view.parts.set_up.text_of("body weight") == "not known"
    assert "not taken yet" in view.parts.set_up.text_of("zero")
    assert "band 50 to 67 %" in view.parts.set_up.text_of("shoes and band")
    qtbot.keyClicks(view, "wu")
    controller._draw()
    assert view.parts.set_up.text_of("body weight").startswith("64")
    cells = [view.parts.set_up.text_of(f"kg by channel, {side}") for side in ("left", "right")]
    assert [[one.split(":")[0] for one in text.split("   ")] for text in cells] == [
        list("01238"),
        list("45679"),
    ]
    shown = [float(one.split(": ")[1]) for text in cells for one in text.split("   ")]
    assert sum(shown) == pytest.approx(64.0, abs=1.5)
    assert view.parts.set_up.text_of("posture of the next trials") == "knees flexed"
    controller.stop()


def test_another_look_asked_for_in_the_middle_of_another(qtbot: Any, state: LiveState) -> None:
    """A look is made in steps; what is asked for between them is what stands there at the end."""
    from PySide6.QtWidgets import QApplication

    from balance.window.palette import PALETTES

    view = a_view(qtbot, state)
    view.prepare()
    for steps, what in enumerate(("area", "dark", "chart", "larger", "dark", "smaller", "dark")):
        view.do(what)
        for _ in range(steps % 3):
            QApplication.processEvents()
    view.resize(1280, 720)
    qtbot.waitUntil(lambda: view.parts.pages.currentWidget() is view._charts.chart)
    qtbot.waitUntil(lambda: view.parts.pictures.currentWidget() is view._charts.area)
    assert {view._charts.area.look, view._charts.chart.look} == {view.look}
    assert (view.look.width, view.look.text, view.look.palette) == (1280, 1.0, PALETTES["dark"])
    view.do("stand")
    qtbot.waitUntil(lambda: view.parts.lanes.text_of("line left") == "in the band")


@pytest.mark.parametrize("name", ["area", "chart"])
def test_a_click_in_a_chart_takes_no_key_from_the_window(qtbot: Any, name: str) -> None:
    from PySide6.QtCore import Qt

    from balance.window.plot import Plot

    view = a_view(qtbot, state_of(CRUTCHES))
    view.setFocus()
    view.turn_to(name)
    plot = next(one for one in view.findChildren(Plot) if one.isVisible())
    qtbot.mouseClick(plot.viewport(), Qt.MouseButton.LeftButton)
    assert view.focusWidget() is view
    qtbot.keyClick(view.focusWidget(), Qt.Key.Key_F1)
    assert view.parts.on_card
