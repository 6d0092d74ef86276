"""bandstand demo: the whole job with a simulated person over the real wire format."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from balance.command_line.output import message, result
from balance.command_line.window_options import Language, ScreenMm, speaking
from balance.words import say

SHIFT_SECONDS = 40.0


def run(
    seconds: Annotated[float, typer.Option(min=1, max=3600, help=say("help.demo.seconds"))] = 60.0,
    out: Annotated[Path | None, typer.Option(help=say("help.demo.out"))] = None,
    seed: Annotated[int, typer.Option(min=0, max=2**31, help=say("help.seed"))] = 1,
    no_window: Annotated[bool, typer.Option("--no-window", help=say("help.demo.no-window"))] = False,
    terminal: Annotated[bool, typer.Option("--terminal", help=say("help.terminal"))] = False,
    language: Language = None,
    screen_mm: ScreenMm = None,
) -> None:
    speaking(language)
    folder = out or _fresh(Path("bandstand-demo"))
    message(say("caution.short"))
    session = (
        _unpaced(folder, seconds, seed) if no_window else _paced(folder, seconds, seed, terminal, screen_mm)
    )
    _report(session)
    result(str(session))


def _report(session: Path) -> None:
    """The session's page, in its folder."""
    from balance.command_line.report import write_page
    from balance.recording import find_recordings

    if find_recordings(session):
        message(say("command.written", file=write_page(session)))


def _fresh(wanted: Path) -> Path:
    """The wanted name, with a number where it exists."""
    number, path = 1, wanted
    while path.exists():
        number += 1
        path = wanted.with_name(f"{wanted.name}-{number}")
    return path


def _unpaced(folder: Path, seconds: float, seed: int) -> Path:
    from balance import demo
    from balance.command_line.setting_up import demo_floor
    from balance.command_line.showing import findings_told
    from balance.command_line.simulated_trial import record_simulated
    from balance.simulated_person import SimulatedPerson, read_scenario
    from balance.simulated_person.loads import PersonLoads
    from drivers.simulated_board.board import SimulatedBoard

    floor = demo_floor()
    recording = folder
    for name, length in (("quiet.toml", seconds), ("shift.toml", SHIFT_SECONDS)):
        scenario = read_scenario(demo.path(name)).model_copy(update={"seconds": length})
        person = SimulatedPerson(floor.rig, floor.stance, scenario, seed)
        board = SimulatedBoard(PersonLoads(person, floor.calibration), seed=seed)
        recording = record_simulated(floor, scenario, person, board, folder, length)
        result("\n".join(findings_told(recording).lines) + "\n")
    return recording.parent


def _paced(folder: Path, seconds: float, seed: int, terminal: bool, screen_mm: float | None) -> Path:
    import sys

    from balance import demo
    from balance.command_line.setting_up import demo_floor
    from balance.command_line.showing import show
    from balance.command_line.simulated_trial import person_of
    from balance.live_state import Described
    from balance.protocols import ALL
    from balance.session import Session
    from balance.simulated_person import SimulatedPerson, read_scenario
    from balance.simulated_person.loads import PersonLoads
    from drivers.serial_board import SerialBoard
    from drivers.simulated_board.board import SimulatedBoard
    from drivers.simulated_board.lines import serve_pty, serve_tcp

    floor = demo_floor()
    lead_s = 3.0  # a moment to look before the first trial begins
    scenario = read_scenario(demo.path("demo.toml"))
    moved = [s.model_copy(update={"start_s": s.start_s + seconds + 2 * lead_s}) for s in scenario.shifts]
    length = seconds + SHIFT_SECONDS + 4 * lead_s
    scenario = scenario.model_copy(update={"seconds": min(length, 7200.0), "shifts": moved})
    person = SimulatedPerson(floor.rig, floor.stance, scenario, seed)
    board = SimulatedBoard(PersonLoads(person, floor.calibration), seed=seed)
    described = person_of(scenario, person.body_weight_n)
    assert isinstance(described, Described)
    with (serve_tcp if sys.platform == "win32" else serve_pty)(board) as server:
        show(
            lambda on_news: Session(
                SerialBoard(server.address), floor.rig, floor.stance, floor.calibration,
                described=described, out=folder, on_news=on_news,
            ),
            terminal=terminal, screen_mm=screen_mm,
            trials=[(ALL["quiet standing"], seconds), (ALL["weight shift"], SHIFT_SECONDS)],
        )  # fmt: skip
    days = sorted(path for path in folder.glob("*/*") if path.is_dir())
    return days[-1] if days else folder
