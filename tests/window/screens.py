"""The window's screens in their states as pictures: `python -m tests.window.screens FOLDER` (offscreen); tests look at the same states.

Every state is made from a scenario through board, session and monitor, so that what is drawn is what a user would see.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np

from balance.command_line.setting_up import demo_floor
from balance.command_line.simulated_trial import person_of
from balance.findings_words import Told
from balance.live_state import Described, LiveState
from balance.reading import Played, PlayedMark
from balance.session import Session
from balance.set_up import items
from balance.simulated_person import Scenario, SimulatedPerson
from balance.simulated_person.loads import PersonLoads
from balance.stance import Stance
from balance.words import say, speak
from drivers.samples import SampleBlock
from drivers.simulated_board.board import SimulatedBoard
from drivers.simulated_board.source import SimulatedSource

FLOOR = demo_floor()
SECONDS = 4.0


@cache
def state_of(changes: tuple[tuple[str, Any], ...] = (), known: bool = True) -> LiveState:
    """The newest state after some seconds of a person who stands as ``changes`` of a scenario say. known: their weight is."""
    asked: dict[str, Any] = {"schema": 1, "mass_kg": 64.0, "seconds": SECONDS + 2, **dict(changes)}
    scenario = Scenario.model_validate(asked)
    person = SimulatedPerson(FLOOR.rig, FLOOR.stance, scenario, 3)
    described = person_of(scenario, person.body_weight_n)
    assert isinstance(described, Described)
    if not known:
        described.subject = None
    source = SimulatedSource(SimulatedBoard(PersonLoads(person, FLOOR.calibration)), SECONDS)
    session = Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, described=described)
    session.start()
    assert session.finished.wait(60)
    session.stop()
    latest = session.latest()
    return replace(latest, link="ok", messages=(), subject="R7T")


def nothing() -> LiveState:
    """Before the first reading."""
    return replace(state_of(), snapshot=None, point_mm={}, tail_s=np.zeros(0), tail_n={}, link="waiting", state="waiting", readings=0)  # fmt: skip


OVER = (("line_pct", 50.0), ("sway_ap_mm", 0.3))
HELD = (("line_pct", 118.0), ("left_crutch_pct", 14.0), ("right_crutch_pct", 12.0), ("sway_ap_mm", 0.3))
CLOSE = (("line_pct", 66.5), ("sway_ap_mm", 0.3))
HANDS_OFF = (("line_pct", 58.0), ("left_crutch_pct", 0.0), ("right_crutch_pct", 0.0), ("sway_ap_mm", 0.2))
CRUTCHES = (("left_crutch_pct", 4.0), ("right_crutch_pct", 4.5))
LONG = "Participant-of-the-longest-name-that-fits"
FAULT = "Cell 2 (left forefoot) has repeated one reading for 2 s: is its plug loose?"


def _trial(state: LiveState, protocol: str, seconds: float = 14.0, planned: float | None = 20.0, asked: str | None = None) -> LiveState:  # fmt: skip
    return replace(state, protocol=protocol, seconds=seconds, planned_s=planned, state="running", asked=asked)


def _held(state: LiveState) -> LiveState:
    """As if 4 kg were missing of a known weight."""
    assert state.snapshot is not None
    return replace(state, snapshot=replace(state.snapshot, unmeasured_n=42.0, unmeasured_n_u=6.0, unmeasured_beyond_limit=True))  # fmt: skip


TOLD = (
    Told("01 quiet standing, 20 s · left 9 mm ahead of the band · right in the band · crutches 8 %", ["R7T/2026-03-02/01-quiet-standing: quiet standing, 20 s", "left shoe: 9 mm ahead of the band", "right shoe: in the band", say("caution.not-examined")], {"left": (162.0, 11.0), "right": (140.0, 11.0)}),
    Told("02 quiet standing, 20 s · left in the band · right in the band · crutches 6 %", ["R7T/2026-03-02/02-quiet-standing: quiet standing, 20 s", "left shoe: in the band", "right shoe: in the band", "body line over the feet (crutches carry 6 %)", "on the left leg 31 kg (48 %), on the right leg 29 kg (45 %)", say("caution.not-examined")], {"left": (135.0, 10.0), "right": (131.0, 10.0)}),
)  # fmt: skip

Done = Callable[[Any], None]


@dataclass(frozen=True)
class Scene:
    """One picture: the state, the keys pressed before and what is done to the view; size, language."""

    name: str
    state: Callable[[], LiveState]
    do: tuple[str, ...] = ()
    then: Done | None = None
    size: tuple[int, int] = (1920, 1080)
    px_per_mm: float = 3.6
    language: str = "en"
    stance: Stance = FLOOR.stance


def _with_trials(view: Any) -> None:
    for told in TOLD:
        view.list_trial(told)
    view.show_findings(TOLD[-1])


def _overlaid(view: Any) -> None:
    _with_trials(view)
    view.do("trials")
    for row in (0, 1):
        view.parts.trials.list.setCurrentRow(row)
        view.parts.trials.list.chosen.emit()


def live() -> LiveState:
    """As people usually stand here."""
    return state_of(CRUTCHES)


def shift() -> LiveState:
    """In the middle of a shift to the right."""
    return _trial(state_of((("left_share_pct", 38.0),)), "weight shift", 12.0, 40.0, "shift right 50")


def _set_up(view: Any) -> None:
    """Of the demo's floor, before anything was done."""
    source = SimulatedSource(
        SimulatedBoard(
            PersonLoads(
                SimulatedPerson(
                    FLOOR.rig, FLOOR.stance, Scenario.model_validate({"schema": 1, "mass_kg": 64.0}), 1
                ),
                FLOOR.calibration,
            )
        ),
        1.0,
    )
    session = Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration)
    session.open()
    for item in source.read():
        if isinstance(item, SampleBlock):
            session._take(item)
    view.items_of = lambda state: items(session, state)
    view.do("set-up")


def scenes() -> list[Scene]:
    """Every screen in every state that a test looks at."""
    one = [
        Scene("no-data", nothing),
        Scene("live", live),
        Scene("over-the-feet", lambda: state_of(HANDS_OFF)),
        Scene("crutches-hold", lambda: state_of(HELD)),
        Scene("too-close", lambda: state_of(CLOSE)),
        Scene("recording", lambda: _trial(state_of(OVER), "quiet standing")),
        Scene("hands-free", lambda: replace(state_of(), course="sitting")),
        Scene("shift", shift),
        Scene("front", live, ("front",)),
        Scene("link-lost", lambda: replace(state_of(), link="lost", state="waiting", messages=("COM9 has been silent for 0.5 s: check plug and power, the board is looked for",))),
        Scene("cell-fault", lambda: replace(state_of(), troubles=(FAULT,), troubled=frozenset({"left"}), protocol="quiet standing", state="running", seconds=8.0, planned_s=20.0)),
        Scene("places-unconfirmed", lambda: replace(state_of(), places_confirmed=False)),
        Scene("weight-unknown", lambda: state_of((), False)),
        Scene("held-elsewhere", lambda: _held(state_of(CRUTCHES))),
        Scene("findings", live, then=_with_trials),
        Scene("trials", live, ("trials",)),
        Scene("overlaid", live, then=_overlaid),
        Scene("what-if", live, ("what-if",)),
        Scene("chart", live, ("chart",)),
        Scene("set-up", live, then=_set_up),
        Scene("area", live, ("area",)),
        Scene("keys", live, ("help",)),
        Scene("replay", lambda: replace(state_of(), playback=Played(12.4, 60.0, True, 2.0, (PlayedMark(12.0, "mark"), PlayedMark(33.0, "cue shift left 50"))))),
        Scene("long-names", lambda: replace(state_of(HELD), subject=LONG, troubles=(FAULT, FAULT))),
    ]  # fmt: skip
    more = [
        replace(scene, name=f"{scene.name}-{suffix}", **{**changes, "do": (*scene.do, *changes.get("do", ()))})
        for scene in one
        for suffix, changes in VARIANTS.items()
        if scene.name in ("live", "crutches-hold", "too-close", "link-lost", "shift", "cell-fault", "keys", "long-names", "overlaid", "what-if", "set-up", "area", "chart", "findings", "trials", "replay", "front")
    ]  # fmt: skip
    return one + more


VARIANTS: dict[str, dict[str, Any]] = {
    "dark": {"do": ("dark",)},
    "largest": {"do": ("larger", "larger")},
    "720": {"size": (1280, 720), "px_per_mm": 4.1},
    "2160": {"size": (1920, 1080), "px_per_mm": 3.1},
    "de": {"language": "de"},
    "de-720": {"language": "de", "size": (1280, 720), "px_per_mm": 4.1},
}


def made(scene: Scene, braced: set[str] | None = None) -> Any:
    """The window of a scene, shown."""
    from PySide6.QtWidgets import QApplication

    from balance.window.app import application
    from balance.window.look import Look
    from balance.window.stand_view import StandView

    application()
    speak(scene.language)
    view = StandView(scene.stance, braced or {"left"}, Look(*scene.size, scene.px_per_mm))
    view.resize(*scene.size)
    view.show()
    QApplication.processEvents()
    view.show_state(scene.state())
    for what in scene.do:
        view.do(what)
    while view._next_step.isActive():  # another look is made in steps
        QApplication.processEvents()
    if scene.then is not None:
        scene.then(view)
    QApplication.processEvents()
    view._again()
    QApplication.processEvents()
    return view


def main() -> None:
    """Writes them, and says what does not fit."""
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    wanted = sys.argv[2:]
    for scene in sorted(scenes(), key=lambda one: one.language != "en"):
        if wanted and not any(scene.name.startswith(one) for one in wanted):
            continue
        view = made(scene)
        view.grab().save(str(folder / f"{scene.name}.png"))
        for fault in faults(view):
            print(scene.name, fault)
        view.close()
        view.deleteLater()
    speak("en")


def faults(view: Any) -> Iterator[str]:
    """Words that are cut off, leave their picture, or lie over other words."""
    from balance.window.drawing import Words, cut, inked
    from balance.window.painted import Painted

    for part in view.findChildren(Painted):
        if not part.isVisible():
            continue
        words = [one for one in part.picture if isinstance(one, Words) and one.text]
        boxes = [inked(one) for one in words]
        for one, box in zip(words, boxes, strict=True):
            if cut(one):
                yield f"cut off: {one.text!r}"
            if box.x < -1 or box.y < -1 or box.right > part.width() + 1 or box.bottom > part.height() + 1:
                yield f"leaves its picture: {one.text!r}"
        for k, box in enumerate(boxes):
            for j in range(k):
                other = boxes[j]
                over_x = min(box.right, other.right) - max(box.x, other.x)
                over_y = min(box.bottom, other.bottom) - max(box.y, other.y)
                if over_x > 1 and over_y > 0.25 * min(box.h, other.h):
                    yield f"{words[k].text!r} over {words[j].text!r}"


if __name__ == "__main__":
    main()
