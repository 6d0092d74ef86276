"""The windows beside the main one: the person's view, the first start, a guided job on the screen; tones, and pictures kept."""

from __future__ import annotations

import json
import wave
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from typer.testing import CliRunner

from balance.live_state import LiveState
from tests.command_line.test_guided_commands import KNOWN, RIG, mark_bench
from tests.window.screens import CRUTCHES, FLOOR, TOLD, live, made, scenes, shift, state_of


@pytest.fixture
def person(qtbot: Any) -> Any:
    from balance.window.app import application
    from balance.window.look import Look
    from balance.window.person_view import PersonView

    application()
    view = PersonView(Look())
    qtbot.addWidget(view)
    view.resize(1920, 1080)
    view.show()
    return view


def mark_x(view: Any) -> float:
    """Where the mark is: the only diamond, of four corners in the body line's colour."""
    from balance.window.drawing import Fill

    (mark,) = [one for one in view.picture if isinstance(one, Fill) and one.colour == view.look.palette.line]
    return float(mark.points[0][0])


@pytest.mark.parametrize("protocol", [None, "quiet standing", "crutch load", "free", "noise floor"])
def test_who_is_measured_at_rest_sees_nothing(person: Any, protocol: str | None) -> None:
    person.show_state(replace(live(), protocol=protocol))
    assert person.picture == ()


def test_a_shift_is_one_task_one_mark_and_one_field(person: Any) -> None:
    person.show_state(shift())
    assert person.text_of("task").startswith("Lean your weight to the right")
    assert not any(character.isdigit() for character in person.said())
    right = mark_x(person)
    assert right > 960  # 62 % are on the right
    person.mirrored = True
    person.show_state(shift())
    assert mark_x(person) == pytest.approx(1920 - right)


def test_a_lean_is_told_in_everyday_words(person: Any) -> None:
    state = replace(live(), protocol="lean", asked="lean forward")
    person.show_state(state)
    assert person.text_of("task").startswith("Lean forward, as far as is easy")
    assert 400 < mark_x(person) < 1500
    person.show_state(replace(state, asked="stand as before"))
    assert person.text_of("task") == "Stand as you stand."


def test_a_cell_in_doubt_or_a_lost_link_takes_the_mark_away(person: Any) -> None:
    person.show_state(replace(shift(), troubled=frozenset({"left"})))
    with pytest.raises(ValueError, match="unpack"):
        mark_x(person)
    person.show_state(replace(shift(), link="lost"))
    assert person.picture == ()


def test_over_the_only_screen_it_says_how_to_come_back(person: Any) -> None:
    person.covers = True
    person.show_state(live())
    assert "V" in person.text_of("back")


# --- the first start ---


def first(qtbot: Any, missing: str | None = None, recordings: list[Path] | None = None, answers: bool = True) -> Any:  # fmt: skip
    from balance.window.app import application
    from balance.window.first_view import FirstView, FoundPort
    from balance.window.look import Look

    application()
    found = [FoundPort("COM9", "COM9: board 77", answers), FoundPort("COM3", "COM3: nothing answers", False)]
    view = FirstView(Look(), lambda: found if answers else found[1:], recordings or [], missing)
    qtbot.addWidget(view)
    view.show()
    return view


def test_each_choice_is_one_key_away(qtbot: Any) -> None:
    from PySide6.QtCore import Qt

    view = first(qtbot)
    qtbot.keyClicks(view, "1")
    assert view.chosen.what == "simulated"
    view = first(qtbot)
    qtbot.keyClicks(view, "2")
    qtbot.waitUntil(lambda: view.list.count() == 1)
    assert "COM3: nothing answers" in view.words.text()
    qtbot.keyClick(view.list, Qt.Key.Key_Return)
    assert (view.chosen.what, view.chosen.where) == ("board", "COM9")
    view.end()
    view = first(qtbot, recordings=[Path("a/R7T/2026-01-02/01-quiet-standing")])
    qtbot.keyClicks(view, "3")
    assert view.list.item(0).text() == "R7T/2026-01-02/01-quiet-standing"
    qtbot.keyClick(view.list, Qt.Key.Key_Return)
    assert view.chosen.what == "recording"
    view.end()


def test_a_board_without_a_described_floor_is_told_what_it_needs(qtbot: Any) -> None:
    view = first(qtbot, missing="describe the rig")
    qtbot.keyClicks(view, "2")
    qtbot.waitUntil(lambda: "describe the rig" in view.words.text())
    assert view.list.count() == 0
    view.end()


def test_no_board_and_no_recording_are_said(qtbot: Any) -> None:
    view = first(qtbot, answers=False)
    qtbot.keyClicks(view, "2")
    qtbot.waitUntil(lambda: "nothing answers" in view.words.text())
    qtbot.keyClicks(view, "3")
    assert "no recording in this folder" in view.words.text()
    qtbot.keyClicks(view, "q")
    assert view.chosen is None
    view.end()


# --- a guided job ---


def test_a_rig_is_verified_on_the_screen_as_in_the_terminal(
    qtbot: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from PySide6.QtCore import Qt

    from balance.command_line import guided
    from balance.command_line.app import app
    from balance.window import guided_view

    shown: list[str] = []
    draw = guided_view.GuidedView.draw

    def watched(self: Any, guide: Any, took: bool) -> None:
        draw(self, guide, took)
        if guide.words.endswith("press Enter when it is so"):
            qtbot.keyClick(self, Qt.Key.Key_PageDown)  # as a presenter would
        if took:
            shown.append(self.text_of("title"))

    monkeypatch.setattr(guided_view.GuidedView, "draw", watched)
    monkeypatch.setattr(guided, "board", lambda port: mark_bench().source())
    options = ["--rig", RIG, "--calibration", KNOWN, "--mass-kg", "20", "--format", "json"]
    on_screen = CliRunner().invoke(app, ["verify-rig", *options, "--window"])
    in_terminal = CliRunner().invoke(app, ["verify-rig", *options])
    assert on_screen.exit_code == in_terminal.exit_code == 0
    here, there = json.loads(on_screen.stdout), json.loads(in_terminal.stdout)
    assert (here["agrees"], here["causes"]) == (there["agrees"], there["causes"]) == (True, [])
    for one, other in zip(here["places"], there["places"], strict=True):  # taken at other moments
        assert one["load_error_n"] == pytest.approx(other["load_error_n"], abs=0.3)
    assert len(shown) > 5
    assert "step 2 of" in shown[0]


# --- tones and pictures ---


def test_a_tone_is_a_short_wave_and_where_nothing_plays_it_is_silent(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    from balance.window.tone import RATE_HZ, SECONDS, Tones

    monkeypatch.setattr("balance.window.tone.shutil.which", lambda name: None)
    tones = Tones()
    tones.play("start")
    with wave.open(str(tones._file("start"))) as file:
        assert (file.getframerate(), file.getnframes()) == (RATE_HZ, round(RATE_HZ * SECONDS))
    tones.close()


def test_a_picture_is_kept_as_png_and_svg_or_it_is_said_why_not(qtbot: Any, tmp_path: Path) -> None:
    from balance.window.picture_file import save_picture

    view = made(next(scene for scene in scenes() if scene.name == "live"))
    qtbot.addWidget(view)
    assert "picture-01.png" in save_picture(view, tmp_path)
    assert "picture-02.png" in save_picture(view, tmp_path)
    svg = (tmp_path / "picture-01.svg").read_text(encoding="utf-8")
    for words in ("left shoe", "in the band", "On the crutches", "Not a medical device"):
        assert words in svg
    assert (tmp_path / "picture-01.png").read_bytes().startswith(b"\x89PNG")
    blocked = tmp_path / "a-file"
    blocked.write_text("")
    assert "could not be written" in save_picture(view, blocked)


@pytest.mark.parametrize(
    ("name", "words"),
    [("overlaid", "quiet standing"), ("what-if", "rocker line forward"), ("area", "left crutch"), ("chart", "-10"), ("findings", "body line over the feet")],
)  # fmt: skip
def test_lists_sliders_and_charts_are_in_the_svg(qtbot: Any, tmp_path: Path, name: str, words: str) -> None:
    from balance.window.picture_file import write_svg

    view = made(next(scene for scene in scenes() if scene.name == name))
    qtbot.addWidget(view)
    write_svg(view, tmp_path / "picture.svg")
    drawn = ElementTree.parse(tmp_path / "picture.svg").getroot()
    told = [text.text or "" for text in drawn.iter("{http://www.w3.org/2000/svg}text")]
    beside = [text for text in told if words in text]
    assert beside, told


def test_trials_carry_their_time_and_what_was_adjusted_before_them(qtbot: Any) -> None:
    from balance.window.look import Look
    from balance.window.stand_view import StandView

    view = StandView(FLOOR.stance, {"left"}, Look())
    qtbot.addWidget(view)
    view.list_trial(TOLD[0]._replace(at="10:02"))
    view.list_trial(TOLD[1]._replace(at="10:11", before=("10:06 adjusted: heel wedge",)))
    rows = [view.parts.trials.list.item(row).text() for row in range(view.parts.trials.list.count())]
    assert rows[0].startswith("10:02  01")
    assert rows[1] == "10:06 adjusted: heel wedge"
    view.parts.trials.list.setCurrentRow(1)
    view.parts.trials.list.chosen.emit()
    assert view._overlays == []


def test_what_was_adjusted_between_two_trials_is_read_from_the_day(tmp_path: Path) -> None:
    import datetime

    from balance.day.notes import TO_DESCRIBE, Adjustment, Notes, adjusted_between, write_notes

    def at(minute: int) -> datetime.datetime:
        return datetime.datetime(2026, 3, 2, 10, minute, tzinfo=datetime.UTC)

    noted = [
        Adjustment(when=at(6).isoformat(), what="heel wedge"),
        Adjustment(when=at(8).isoformat(), what="other", note=TO_DESCRIBE, temporary=True),
        Adjustment(when=at(30).isoformat(), what="shoe"),
    ]
    write_notes(tmp_path, Notes(schema=1, adjustments=noted))
    assert adjusted_between(tmp_path, at(2), at(20)) == ("10:06 adjusted: heel wedge", "10:08 tried for a while: not described yet")  # fmt: skip
    assert adjusted_between(tmp_path / "none", None, at(20)) == ()
    (tmp_path / "session.json").write_text("{")
    assert adjusted_between(tmp_path, None, at(20)) == ()


def test_the_state_is_the_same_in_window_and_terminal(qtbot: Any) -> None:
    """What may not be shown is not shown in either."""
    from balance.command_line.terminal_view import picture

    state: LiveState = replace(state_of(CRUTCHES), places_confirmed=False)
    text = picture(state, FLOOR.stance)
    assert "in the band" not in text
    assert "kg" in text


def test_trials_added_at_once_stand_as_those_added_one_by_one(
    qtbot: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from balance.window import pages
    from balance.window.app import application
    from balance.window.look import Look

    application()
    at_once, singly = pages.TrialsPage(Look()), pages.TrialsPage(Look())
    trials = [
        TOLD[0]._replace(at="10:02"),
        TOLD[1]._replace(at="10:11", before=("10:06 adjusted: heel wedge",)),
    ] * 5
    measured: dict[object, list[int]] = {at_once.list: [], singly.list: []}
    measure = pages._List.measure
    monkeypatch.setattr(
        pages._List, "measure", lambda one, rows: (measured[one].extend(rows), measure(one, rows))
    )
    for page in (at_once, singly):
        qtbot.addWidget(page)
        page.resize(500, 300)
    singly.show()
    at_once.add(*trials)
    for told in trials:
        singly.add(told)
    assert measured == {at_once.list: [], singly.list: list(range(15))}  # a hidden one's wait for its width
    at_once.show()
    assert measured[at_once.list] == list(range(15))
    rows = [[(page.list.item(k).text(), page.list.item(k).sizeHint().height()) for k in range(page.list.count())] for page in (at_once, singly)]  # fmt: skip
    assert rows[0] == rows[1]
    assert len(rows[0]) == 15
