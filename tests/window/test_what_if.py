"""What if: the geometry by hand, the session's own numbers, and the page."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from balance.command_line.setting_up import demo_floor
from balance.load_line import FootFrame
from balance.reading import Snapshot
from balance.session import Session
from balance.simulated_person import Scenario, SimulatedPerson
from balance.simulated_person.loads import PersonLoads
from balance.stance import Stance
from balance.what_if import WhatIf, stance_if
from drivers.simulated_board.board import SimulatedBoard
from drivers.simulated_board.source import SimulatedSource
from tests.balance.test_session import a_session
from tests.window.screens import CRUTCHES, SECONDS, state_of

FLOOR = demo_floor()


@given(st.floats(-60, 60), st.floats(-60, 60), st.floats(-30, 30), st.floats(-60, 60))
def test_lines_move_along_the_foot_and_the_rest_stands_still(
    heel: float, rocker: float, band: float, tip: float
) -> None:
    moved = stance_if(FLOOR.stance, WhatIf(heel, rocker, band, tip))
    for side in ("left", "right"):
        old, new = FLOOR.stance.foot(side), moved.foot(side)
        a, b = FootFrame.of(FLOOR.stance, side), FootFrame.of(moved, side)
        assert tuple(b.along) == pytest.approx(tuple(a.along))
        assert [y - x for x, y in zip(a.heel_mm, b.heel_mm, strict=True)] == pytest.approx(
            [heel * c for c in a.along], abs=1e-9
        )
        rocker_moved = (b.heel_mm[0] + new.usable_length_mm * b.along[0]) - (
            a.heel_mm[0] + old.usable_length_mm * a.along[0]
        )
        assert rocker_moved == pytest.approx(rocker * a.along[0], abs=1e-9)
        assert new.ankle_mm is not None
        assert old.ankle_mm is not None
        ankle = (a.heel_mm[0] + old.ankle_mm * a.along[0], b.heel_mm[0] + new.ankle_mm * b.along[0])
        assert ankle[0] == pytest.approx(ankle[1], abs=1e-9)
        tips = FLOOR.stance.crutch(side), moved.crutch(side)
        assert tips[0] is not None
        assert tips[1] is not None
        assert (tips[1].tip_ap_mm or 0) - (tips[0].tip_ap_mm or 0) == pytest.approx(tip)
    assert 0 <= moved.band[0] < moved.band[1] <= 1
    assert moved.band[1] - moved.band[0] == pytest.approx(FLOOR.stance.band[1] - FLOOR.stance.band[0])


def test_the_newest_readings_under_another_stance() -> None:
    session = a_session(None, 6.0)
    assert session.what_if(FLOOR.stance) is None
    session.start()
    assert session.finished.wait(30)
    session.stop()
    now = session.what_if(FLOOR.stance)
    ahead = session.what_if(stance_if(FLOOR.stance, WhatIf(heel_mm=10.0)))
    tips = session.what_if(stance_if(FLOOR.stance, WhatIf(tip_mm=50.0)))
    assert now is not None
    assert ahead is not None
    assert tips is not None
    cosine = math.cos(math.radians(FLOOR.stance.left_foot.toe_out_deg))
    assert now.lines["body_on_left"].mean_mm - ahead.lines["body_on_left"].mean_mm == pytest.approx(
        10.0, abs=1e-6
    )
    by_hand = 50.0 * (now.crutch_pct or 0) / 100 / cosine
    assert tips.lines["body_on_left"].mean_mm - now.lines["body_on_left"].mean_mm == pytest.approx(
        by_hand, rel=0.02
    )


def test_the_page(qtbot: Any) -> None:
    from PySide6.QtCore import Qt

    from balance.window.stand_view import StandView

    view = StandView(FLOOR.stance, {"left"})
    qtbot.addWidget(view)
    view.resize(1920, 1080)
    view.show()
    asked: list[WhatIf] = []
    view.what_if.connect(asked.append)
    qtbot.keyClick(view, Qt.Key.Key_I)
    qtbot.waitUntil(lambda: asked == [WhatIf()])
    page = view.parts.pages.currentWidget()
    page.sliders["rocker_mm"].setValue(-25)
    assert asked[-1] == WhatIf(rocker_mm=-25.0)
    state = state_of(CRUTCHES)
    view.show_state(state)
    before = view.parts.lanes.text_of("line left")
    stance = stance_if(FLOOR.stance, WhatIf(band_pct=-30.0))
    view.show_if(stance, what_if_seen(stance))
    assert before == "in the band"
    qtbot.waitUntil(lambda: view.parts.lanes.text_of("line left") == "65 mm ahead of the band →")
    assert view.parts.lanes.text_of("imagined left") == "what if, not as it stands"
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert view.parts.lanes.text_of("line left") == before


def what_if_seen(stance: Stance) -> Snapshot | None:
    """The newest readings of the same person, with another stance."""
    scenario = Scenario.model_validate(
        {"schema": 1, "mass_kg": 64.0, "seconds": SECONDS + 2, **dict(CRUTCHES)}
    )
    person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 3)
    source = SimulatedSource(SimulatedBoard(PersonLoads(person, FLOOR.calibration)), SECONDS)
    session = Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration)
    session.start()
    assert session.finished.wait(60)
    session.stop()
    return session.what_if(stance)
