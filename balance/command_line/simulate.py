"""bandstand simulate: recordings of a described person with their truth beside them, or a board to connect to."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Annotated

import typer

from balance import demo
from balance.command_line.output import on_stop, result, wrong
from balance.words import say


def run(
    scenario: Annotated[Path | None, typer.Option(help=say("help.simulate.scenario"))] = None,
    rig: Annotated[Path | None, typer.Option(help=say("help.rig"))] = None,
    stance: Annotated[Path | None, typer.Option(help=say("help.stance"))] = None,
    calibration: Annotated[Path | None, typer.Option(help=say("help.calibration"))] = None,
    seed: Annotated[int, typer.Option(min=0, max=2**31, help=say("help.seed"))] = 1,
    rate: Annotated[float, typer.Option(min=1, max=2000, help=say("help.simulate.rate"))] = 80.0,
    seconds: Annotated[
        float | None, typer.Option(min=0.1, max=86400, help=say("help.simulate.seconds"))
    ] = None,
    out: Annotated[Path | None, typer.Option(help=say("help.record.out"))] = None,
    serve: Annotated[bool, typer.Option("--serve", help=say("help.simulate.serve"))] = False,
    tcp: Annotated[bool, typer.Option("--tcp", help=say("help.simulate.tcp"))] = False,
) -> None:
    from balance.command_line.setting_up import read_floor
    from balance.command_line.simulated_trial import board_of, with_tips
    from balance.simulated_person import SimulatedPerson, read_scenario
    from balance.simulated_person.loads import PersonLoads

    if out is None and not serve:
        raise wrong("command.out-or-serve")
    floor = read_floor(
        rig or demo.path("rig.toml"),
        stance or demo.path("stance.toml"),
        calibration or demo.path("calibration.json"),
    )
    described = read_scenario(scenario or demo.path("quiet.toml"))
    if serve:
        described = described.model_copy(
            update={"seconds": max(described.seconds, min(seconds or 7200.0, 7200.0))}
        )
    floor = with_tips(floor, described)
    person = SimulatedPerson(floor.rig, floor.stance, described, seed)
    board = board_of(PersonLoads(person, floor.calibration), described, rate, seed)
    if serve:
        _serve(board, seconds, tcp)
        return
    from balance.command_line.simulated_trial import record_simulated

    assert out is not None
    result(str(record_simulated(floor, described, person, board, out, seconds or described.seconds)))


def _serve(board: object, seconds: float | None, tcp: bool) -> None:
    from drivers.simulated_board.board import SimulatedBoard
    from drivers.simulated_board.lines import serve_pty, serve_tcp

    assert isinstance(board, SimulatedBoard)
    stopped = threading.Event()
    on_stop(stopped.set)
    with (serve_tcp if tcp else serve_pty)(board, seconds) as server:
        result(server.address)
        while not stopped.wait(0.05) and not server.finished.is_set():
            pass
